"""Arrangement, generator and outages of a scenario."""
