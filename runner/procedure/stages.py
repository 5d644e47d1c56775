"""The stages of a tightening as they are counted: one in rounds is as many stages as it has rounds and passes.

Steps name stages by these numbers, states are called after them, and the linked form holds them one by one.
"""

from collections.abc import Iterable
from decimal import Decimal

from runner.frozen import Frozen
from runner.joint.rounds import share_of
from runner.procedure.source import OrderName, Stage
from runner.quantities import Band, Quantity


class Counted(Frozen):
    """One stage as it is counted: the written one, its share of the torque in per cent, whether it is the last pass."""

    written: Stage
    share: Decimal | None = None
    last_pass: bool = False

    @property
    def order(self) -> OrderName:
        """The order of the round; a last pass goes around."""
        return "around" if self.last_pass else self.written.order

    @property
    def target(self) -> Quantity | None:
        """What is asked: the written target, or the share of it."""
        target = self.written.target
        if target is None or self.share is None:
            return target
        return Quantity(share_of(target.value, self.share), target.unit, target.kind)

    def band(self, whole: Band) -> Band:
        """The band of this round, where `whole` is that of the whole torque. Raises QuantityError out of proportion."""
        if self.share is None:
            return whole
        low, high, target = (
            None if limit is None else share_of(limit, self.share)
            for limit in (whole.low, whole.high, whole.target)
        )
        return Band(low, high, target, whole.unit, whole.kind, whole.low_open, whole.high_open)


def counted(written: Iterable[Stage]) -> tuple[Counted, ...]:
    """Every stage as it is counted, in order."""
    found: list[Counted] = []
    for stage in written:
        found += [Counted(stage, share) for share in stage.shares] or [Counted(stage)]
        if stage.last_pass:
            found.append(Counted(stage, last_pass=True))
    return tuple(found)
