"""What decided one step of a strategy's year."""
