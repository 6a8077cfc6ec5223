"""The table rate_plan of a scenario, or a rate plan's own file."""
