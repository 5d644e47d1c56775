"""Timings, as ratios to a floor measured in the same run; each module is run with `python -m` and exits 1 past its bound."""
