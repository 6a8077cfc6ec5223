"""Aging: a year's state of charge and temperature in, what is left of a battery after years out."""
