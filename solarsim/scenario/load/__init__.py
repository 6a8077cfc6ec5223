"""The table load of a scenario."""
