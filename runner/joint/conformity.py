"""Whether a reading is in its band, out of it, or too close to a limit to tell with this wrench.

The expanded uncertainty is the certificate's. Nothing stands in for it: a tool's permissible deviation says what a
calibration laboratory accepts, not how well a reading is known. Without a certificate the bare band decides.

    in         low + w ≤ value ≤ high − w
    out        value < low − w  or  value > high + w
    too close  between

The guard band w is U, the expanded uncertainty at k = 2 (JCGM 106 with r = 1; ISO 14253-1 up to 2013). ISO 14253-1 of
2017 asks 95 % conformance probability on one side instead: w = 1.65 u, with u = U / 2.
"""

from decimal import Decimal, localcontext
from typing import Literal

from runner.frozen import Frozen
from runner.joint.setting import applied_torque
from runner.joint.sourced import Source, Working
from runner.joint.wrench import Extension, Wrench
from runner.quantities import QuantityError, convert_difference, show
from runner.quantities.number import EXACT, tidy

Verdict = Literal["in", "out", "too close"]
Rule = Literal["U", "1.65 u"]
"""The guard band: U (k = 2), or 1.65 u as ISO 14253-1 of 2017 has it."""

COVERAGE = Decimal(2)
"""The k at which U is given here, whatever k a certificate used."""

_ONE_SIDED = Decimal("1.65")
_GUIDE = Source("JCGM 106", "memory", edition="2012", note="guard band w = r · U with r = 1")
RULES: dict[Rule, tuple[Source, ...]] = {
    "U": (Source("ISO 14253-1", "memory", edition="2013", note="w = U, k = 2"), _GUIDE),
    "1.65 u": (Source("ISO 14253-1", "memory", edition="2017", note="95 % on one side: w = 1.65 u"),),
}
"""The sources of each rule."""

NO_CERTIFICATE = "no certificate of this tool is known, so the bare band decided"
"""Said where a reading was judged without an uncertainty."""


class Acceptance(Frozen):
    """The values that are surely in, from `low` to `high` (None: no limit there); none where low is above high."""

    low: Decimal | None
    high: Decimal | None

    @property
    def empty(self) -> bool:
        """Whether no value can be told to be in: the band is narrower than two guard bands."""
        return self.low is not None and self.high is not None and self.low > self.high


def guard(expanded: Decimal | None, rule: Rule = "U") -> Decimal:
    """The guard band w for an expanded uncertainty at k = 2; 0 without one. Raises ValueError below 0."""
    if expanded is None:
        return Decimal(0)
    if not expanded.is_finite() or expanded < 0:
        raise ValueError(f"the expanded uncertainty is {expanded}; expected a number from 0 on")
    with localcontext(EXACT):
        return tidy(expanded if rule == "U" else expanded / COVERAGE * _ONE_SIDED)


def acceptance(
    low: Decimal | None, high: Decimal | None, expanded: Decimal | None, rule: Rule = "U"
) -> Acceptance:
    """The band less its guard bands; all in one unit."""
    w = guard(expanded, rule)
    with localcontext(EXACT):
        return Acceptance(None if low is None else tidy(low + w), None if high is None else tidy(high - w))


def decide(
    value: Decimal, low: Decimal | None, high: Decimal | None, expanded: Decimal | None, rule: Rule = "U"
) -> Verdict:
    """Whether `value` is in the band from `low` to `high` (None: no limit there); all in one unit.

    `expanded` is U at k = 2, None without a certificate: then the bare band decides and nothing is too close. The
    limits belong to the band. Raises ValueError for an uncertainty below 0.
    """
    w = guard(expanded, rule)
    with localcontext(EXACT):
        if (low is not None and value < low - w) or (high is not None and value > high + w):
            return "out"
        if (low is None or value >= low + w) and (high is None or value <= high - w):
            return "in"
    return "too close"


def expanded_at(
    wrench: Wrench, value: Decimal, unit: str, extension: Extension | None = None
) -> Decimal | None:
    """The expanded uncertainty (k = 2) of a reading of `value` with this tool, in `unit`; None without a certificate.

    The certificate states it in per cent of the reading or in a unit, at its own k; an extension leaves the per cent
    as they are, and carries an amount to the fastener as it carries the torque. Raises QuantityError for units of
    different kinds and SettingError as `applied_torque` does.
    """
    certificate = wrench.certificate
    if certificate is None:
        return None
    stated, coverage = Decimal(certificate.uncertainty), Decimal(certificate.coverage)
    if not (stated.is_finite() and coverage.is_finite()) or stated < 0 or coverage <= 0:
        raise QuantityError(
            certificate.uncertainty, "is no uncertainty", "an amount from 0 on, at a k above 0"
        )
    if certificate.unit == "%":
        amount = EXACT.multiply(stated, abs(value)) / 100
    elif extension is not None and stated > 0:
        own = convert_difference(stated, certificate.unit, wrench.unit)
        amount = applied_torque(own, wrench, extension, unit)
    else:
        amount = convert_difference(stated, certificate.unit, unit)
    return tidy(amount * COVERAGE / coverage)


def working(
    value: Decimal,
    low: Decimal | None,
    high: Decimal | None,
    unit: str,
    expanded: Decimal | None,
    rule: Rule = "U",
) -> Working:
    """How a reading was judged, for `?` and the review. Raises as `decide` does."""
    verdict = decide(value, low, high, expanded, rule)
    words = {
        "in": "in the band",
        "out": "out of the band",
        "too close": "too close to a limit to tell with this wrench",
    }
    inputs = [("value", show(value, unit))]
    inputs += [
        (name, show(limit, unit)) for name, limit in (("low", low), ("high", high)) if limit is not None
    ]
    if expanded is None:
        result = f"{words[verdict]}; {NO_CERTIFICATE}"
        return Working("Reading and band", "low ≤ value ≤ high", tuple(inputs), result, ())
    inputs += [("U, from the certificate, k = 2", show(expanded, unit, 4))]
    inputs += [("w, guard band", show(guard(expanded, rule), unit, 4))]
    formula = f"in: low + w ≤ value ≤ high − w; out: beyond low − w or high + w; w = {rule}"
    return Working("Reading and band", formula, tuple(inputs), words[verdict], RULES[rule])
