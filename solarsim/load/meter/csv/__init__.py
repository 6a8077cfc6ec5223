"""Meter CSVs as utilities export them: a file in, readings with what was found out."""
