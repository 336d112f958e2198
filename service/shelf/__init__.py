"""The shelf check: every part on sale for an axle, alone on it as it left the factory."""
