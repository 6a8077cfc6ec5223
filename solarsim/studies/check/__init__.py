"""The command check."""
