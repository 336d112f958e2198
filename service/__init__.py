"""Coilgap: is this combination of suspension parts mechanically safe on this axle, and why."""

__version__ = "0.1.0"
