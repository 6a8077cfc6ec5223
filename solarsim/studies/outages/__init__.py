"""A home without the grid."""
