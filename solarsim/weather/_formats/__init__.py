"""The formats of weather files: text in, ``Weather`` out."""
