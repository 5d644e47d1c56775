"""Quantities as people write them: strict parsing, display, bands, and conversion between units of a kind.

What stands here is total: any text gives a value or a QuantityError. pint (the only registry of the program)
is loaded by `convert` alone, and only when two different units meet. The text of users and authors never
reaches pint's parser: units.py is the allow-list, and maps each unit to a pint expression written there.

The rounding rule, in one place: what is typed is kept exactly (a fraction that does not end is rounded to 15
significant digits); a conversion is rounded to 12 significant digits, half to even; limits of a band are
computed from these without further rounding, and a value is compared with them exactly.
"""

from runner.quantities.band import Band, Tolerance, band_from, parse_band, parse_tolerance
from runner.quantities.conversion import convert, convert_difference
from runner.quantities.errors import QuantityError
from runner.quantities.number import parse_number
from runner.quantities.quantity import Entry, Quantity, parse_duration, parse_entry, parse_quantity, show
from runner.quantities.slips import mark_slip, slip, unit_slip
from runner.quantities.units import KINDS, Kind, kind_of, unit_named, units_of

__all__ = [
    "KINDS",
    "Band",
    "Entry",
    "Kind",
    "Quantity",
    "QuantityError",
    "Tolerance",
    "band_from",
    "convert",
    "convert_difference",
    "kind_of",
    "mark_slip",
    "parse_band",
    "parse_duration",
    "parse_entry",
    "parse_number",
    "parse_quantity",
    "parse_tolerance",
    "show",
    "slip",
    "unit_named",
    "unit_slip",
    "units_of",
]
