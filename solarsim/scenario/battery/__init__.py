"""The table battery of a scenario."""
