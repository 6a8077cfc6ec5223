"""Green Button files (NAESB ESPI): a feed in, readings of one home out."""
