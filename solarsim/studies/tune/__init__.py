"""Settings with the lowest cost."""
