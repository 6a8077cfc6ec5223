"""Bounds of a load, whatever it is read from."""

MOST_KW = 200.0  #: more in an hour is no home: watts taken for kilowatts
