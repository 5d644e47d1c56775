"""Scripts that remake what documents show; each is run with `python -m`."""
