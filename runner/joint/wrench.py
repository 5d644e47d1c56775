"""A measuring tool of the shop, as the toolbox lists it and as the log keeps it with a reading.

Numbers are decimal text, as in the linked form of a procedure, so that the record travels through JSON unchanged;
dates are ISO 8601 text (`2026-11-26`). The arithmetic on it stands in `setting` and `conformity`.
"""

from decimal import Decimal, InvalidOperation
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict

WrenchKind = Literal["click", "dial", "beam", "electronic", "fixed", "screwdriver", "angle gauge", "gauge"]
"""How a tool tells its torque: `click` is set and releases; `fixed` has one value; dial, beam, electronic are read.

A `gauge` is any other measuring tool (a dial or bore gauge); it and an angle gauge are read too."""


def _number(text: str) -> str:
    """The text, where it is a finite decimal number; the arithmetic takes any of these for granted."""
    try:
        finite = Decimal(text).is_finite()
    except InvalidOperation:
        finite = False
    if not finite:
        raise ValueError(f"{text[:40]!r} is no number")
    return text


Number = Annotated[str, AfterValidator(_number)]
"""A finite number as decimal text."""


class Kept(BaseModel):
    """The base of what is kept with a reading."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Certificate(Kept):
    """What a calibration certificate states: the expanded uncertainty, per cent of the reading or in a unit.

    `unit` is `%` or a unit of the tool's kind; `coverage` is k, by which it was expanded.
    """

    uncertainty: Number
    unit: str = "%"
    coverage: Number = "2"
    number: str = ""


class Wrench(Kept):
    """One tool. `low` to `high` is its marked range in `unit`; `graduation` None where it can be set to any value.

    `length` is mm from the force mark on the handle to the middle of the square drive, None where nobody has
    measured it (then no extension can be corrected for). `type_class` is ISO 6789's type and class, as in "II A".
    """

    name: str
    kind: WrenchKind
    low: Number
    high: Number
    unit: str
    graduation: Number | None = None
    length: Number | None = None
    type_class: str = ""
    serial: str = ""
    calibrated_on: str = ""
    due_on: str = ""
    certificate: Certificate | None = None

    @property
    def label(self) -> str:
        """What it is called at the bench: name and serial number."""
        return f"{self.name} {self.serial}".strip()

    @property
    def sets(self) -> bool:
        """Whether it is set before it is pulled (and so clicks), rather than read."""
        return self.kind in ("click", "fixed", "screwdriver")

    def overdue(self, day: str) -> bool:
        """Whether its calibration is overdue on a day (ISO text); never, where no due date is known."""
        return bool(self.due_on) and day > self.due_on


class Extension(Kept):
    """An extension or crowfoot: mm from the square drive to the fastener, degrees from straight on (0) to back (180).

    An adapter whose fastener is in line with the drive (a socket extension) is none: it needs no correction.
    """

    length: Number
    angle: Number = "0"

    @property
    def mm(self) -> Decimal:
        """Its length in mm."""
        return Decimal(self.length)

    @property
    def degrees(self) -> Decimal:
        """Its angle in degrees."""
        return Decimal(self.angle)
