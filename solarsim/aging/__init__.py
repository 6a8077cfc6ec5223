"""Aging: a year's state of charge and temperature in, capacity and resistance after years out."""
