"""Strategies side by side."""
