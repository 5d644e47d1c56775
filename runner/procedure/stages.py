"""The stages of a tightening as they are counted: one in rounds is as many stages as it has rounds and passes.

Steps name stages by these numbers, states are called after them, and the linked form holds them one by one.
"""

from decimal import Context, Decimal

from runner.frozen import Frozen
from runner.joint.rounds import share_of
from runner.procedure.source import Item, OrderName, Stage
from runner.quantities import Band, Quantity, convert_difference
from runner.quantities.number import tidy

_DRAG = Context(prec=4)
"""No drag of a nut is known to more digits than a wrench is set to; only one in another unit is rounded."""


class Counted(Frozen):
    """One stage as it is counted: the written one, its share of the torque in per cent, whether it is the last pass.

    `drag` is the prevailing torque to be added, None where there is none or the torque has it already; a share is
    one of the torque without it, for the nut drags as much in every round.
    """

    written: Stage
    share: Decimal | None = None
    last_pass: bool = False
    drag: Quantity | None = None

    @property
    def order(self) -> OrderName:
        """The order of the round; a last pass goes around."""
        return "around" if self.last_pass else self.written.order

    @property
    def target(self) -> Quantity | None:
        """What is asked: the written target, or the share of it; with the drag."""
        target = self.written.target
        if target is None:
            return None
        return Quantity(self._asked(target.value, target.unit), target.unit, target.kind)

    def band(self, whole: Band) -> Band:
        """The band of this round, where `whole` is that of the whole torque. Raises QuantityError out of proportion."""
        low, high, target = (
            None if limit is None else self._asked(limit, whole.unit)
            for limit in (whole.low, whole.high, whole.target)
        )
        return Band(low, high, target, whole.unit, whole.kind, whole.low_open, whole.high_open)

    def _asked(self, whole: Decimal, unit: str) -> Decimal:
        torque = whole if self.share is None else share_of(whole, self.share)
        if self.drag is None:
            return torque
        from runner.joint.prevailing import with_drag  # noqa: PLC0415 - few procedures have such a nut

        return with_drag(torque, drag_in(self.drag.value, self.drag.unit, unit))


def drag_in(drag: Decimal, unit: str, to: str) -> Decimal:
    """The drag of a nut as it is added to a torque in `to`: as written in its own unit, else in four digits."""
    return drag if unit == to else tidy(_DRAG.plus(convert_difference(drag, unit, to)))


def counted(item: Item) -> tuple[Counted, ...]:
    """Every stage of an item as it is counted, in order."""
    found: list[Counted] = []
    for stage in item.tighten:
        drag = item.prevailing if item.drag_added and stage.kind == "torque" else None
        found += [Counted(stage, share, drag=drag) for share in stage.shares] or [Counted(stage, drag=drag)]
        if stage.last_pass:
            found.append(Counted(stage, last_pass=True, drag=drag))
    return tuple(found)
