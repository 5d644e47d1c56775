"""Inputs made by chance and by coverage: nothing but a finding, a verdict or a reading may come of any."""
