"""The rules as arrays: a strategy and a timeline in, one entry for each step out."""
