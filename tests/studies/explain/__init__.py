"""What decided a step."""
