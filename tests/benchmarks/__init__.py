"""Timings, as ratios to a floor measured in the same run; `python -m` runs each, which exits 1 past its bound."""
