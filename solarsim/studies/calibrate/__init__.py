"""Measured against expected production."""
