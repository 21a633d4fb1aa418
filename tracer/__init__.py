"""Trace an off-note in a coffee lot back to its probable source."""

__version__ = "0.1.0"
