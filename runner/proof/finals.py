"""What must be closed at the end: the bits in which an item is open, and the items that an agreement leaves open."""

from runner.procedure.kinds import final_states
from runner.procedure.linked import Procedure
from runner.proof.units import Unit


def agreed_open(procedure: Procedure) -> set[str]:
    """The items that a procedure with an agreement of its own leaves open: its end asks for them to be so."""
    end = procedure.by_id.get(":end")
    items = procedure.item_by_key
    return {
        test.name
        for test in (end.needs if end is not None else ())
        if test.kind == "item"
        and not set(test.values) & set(final_states(items[test.name].kind, len(items[test.name].stages)))
    }


def open_bits(unit: Unit) -> tuple[int, list[tuple[str, int]]]:
    """The bits in which an item of a unit is open: all together, and by item."""
    each = []
    together = 0
    for place, item in enumerate(unit.items):
        table = unit.tables[place]
        opened = [number for number, word in enumerate(table.states) if word not in table.finals]
        bits = unit.where(place, opened) << unit.offset
        each.append((item, bits))
        together |= bits
    return together, each
