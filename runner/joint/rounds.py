"""The torques of the rounds in which a group is brought to its torque.

The shares are the author's, never ours: published practice differs (ASME PCC-1 has 20 to 30, 50 to 70 and 100 per cent
with a last pass round the circle, others 30, 60 and 100; reference.md section 7), and some makers give torques that
follow no such rule.
"""

from collections.abc import Sequence
from decimal import Decimal

from runner.quantities.number import EXACT, tidy

WHOLE = Decimal(100)
"""The share of the last round, in per cent."""


class RoundsError(ValueError):
    """Shares that bring no group to its torque; `at` is the first one that is wrong, from 0."""

    def __init__(self, because: str, at: int) -> None:
        super().__init__(because)
        self.at = at


def share_of(value: Decimal, share: Decimal) -> Decimal:
    """`share` per cent of `value`, in its unit, exactly: value × share / 100."""
    return tidy(EXACT.scaleb(EXACT.multiply(value, share), -2))


def rounds(target: Decimal, shares: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """The torque of each round, in the unit of `target`; the last one is the whole torque.

    Raises RoundsError where a share is not above the one before it, or the last is not 100 per cent.
    """
    before = Decimal(0)
    for at, share in enumerate(shares):
        if share <= before:
            than = "the round before it" if at else "nothing"
            raise RoundsError(f"{tidy(share):f} % is no more than {than}", at)
        before = share
    if before != WHOLE:
        raise RoundsError("the last round is not at the whole torque", max(len(shares) - 1, 0))
    return tuple(share_of(target, share) for share in shares)
