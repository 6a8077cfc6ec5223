"""Datasheets as the engine's numbers: limits, loss curves, what the cells' temperature allows."""
