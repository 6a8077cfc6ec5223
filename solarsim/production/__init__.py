"""From sky to DC power: weather and arrays in, kilowatts at the inverter's DC inputs out."""
