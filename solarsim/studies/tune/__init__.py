"""Settings that earn most."""
