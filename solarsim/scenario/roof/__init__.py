"""Arrays, modules, inputs and losses of a scenario."""
