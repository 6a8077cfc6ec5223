"""A system over its life."""
