"""Many homes: a table of homes in; every home and strategy, and their sum, out."""
