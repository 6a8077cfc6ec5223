"""The timeline of a year, its wall-clock windows and its holidays."""
