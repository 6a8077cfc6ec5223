"""Electrical design checks of a home as written."""
