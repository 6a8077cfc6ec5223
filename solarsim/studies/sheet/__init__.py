"""What to key into the inverter."""
