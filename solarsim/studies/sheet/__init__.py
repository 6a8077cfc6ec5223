"""What to program into the inverter."""
