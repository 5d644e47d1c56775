"""Witnessmark: guided procedures with a proof before, a gate during, and a log after the work."""

__version__ = "0.1.0"
