"""Electrical design checks: ratings and lengths in, voltages, currents and sizes out; they change no flow of energy."""
