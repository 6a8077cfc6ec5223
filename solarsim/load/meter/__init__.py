"""A year of meter data as a utility gives it: a file in, hourly load on the timeline out."""
