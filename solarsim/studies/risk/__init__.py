"""Many lives."""
