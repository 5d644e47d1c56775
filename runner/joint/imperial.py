"""Inch and pound rows of published tables, brought to the units of `joint` (mm, N, MPa, N·m).

All are exact by definition: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, g_n = 9.80665 m/s². What people type is
converted by `runner.quantities` instead.
"""

INCH = 25.4
"""mm."""

POUND_FORCE = 0.45359237 * 9.80665
"""N."""

KSI = 1000 * POUND_FORCE / INCH**2
"""MPa."""

POUND_FORCE_INCH = POUND_FORCE * INCH / 1000
"""N·m."""
