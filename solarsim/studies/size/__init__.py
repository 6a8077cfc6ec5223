"""What to purchase."""
