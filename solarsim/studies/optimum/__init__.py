"""The optimum of a home: the lowest cost that any control could reach, and a schedule that comes close to it."""
