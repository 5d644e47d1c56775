"""Tightening arithmetic: threads, preload, wrench settings, patterns, angle. Knows nothing of procedures."""
