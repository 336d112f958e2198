"""Vehicles, axles and parts in immutable revisions, and the way from their rows to the engine's values."""
