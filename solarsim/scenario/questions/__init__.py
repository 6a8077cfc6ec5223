"""The questions of the command new: short answers in, the tables of a scenario out, and back."""
