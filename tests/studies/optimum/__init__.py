"""The optimum from below and from above."""
