"""The contract of a sub-procedure: what it takes over, leaves open and ends with.

Items that the contract names belong to the caller; they must be declared alike in both files, so that the
file checked alone and the file checked where it is used are the same job.
"""

from runner.procedure import linked, source
from runner.procedure.kinds import final_states
from runner.procedure.link_frame import Bounds, Family, Frame, Unit
from runner.procedure.link_refs import item_tests
from runner.procedure.link_report import Report
from runner.procedure.link_tests import condition_value, known_values

_ALIKE = (
    ("kind", "kind"),
    ("count", "count"),
    ("stages", "tighten"),
    ("critical", "critical"),
    ("new_every_time", "new"),
    ("part", "part"),
    ("thread", "thread"),
    ("strength", "class"),
    ("number_one", "number one"),
)


def contract_of(unit: Unit) -> source.Contract:
    """The contract of a file, empty where it has none."""
    return unit.written.contract or source.Contract(mark=unit.written.mark)


def check_contract(unit: Unit, report: Report) -> None:
    """Check that the contract names items and conditions of its own file."""
    contract = contract_of(unit)
    items = [item.name.text for item in unit.written.items]
    for name, _ in (*contract.takes_over, *contract.leaves_open):
        if name.text not in items:
            report.unknown(name, "unknown-item", "item", items)
    taken = {name.text: state for name, state in contract.takes_over}
    for item in unit.written.items:
        state = taken.get(item.name.text)
        if state and item.at_start and item.at_start.text != state.text:
            message = f'"{item.name.text}" is taken over "{state.text}", but `at start` says otherwise'
            report.at(item.at_start, "contract", message, expected=state.text)
    for name, value in contract.ends_with:
        condition = unit.conditions.get(name.text)
        if condition is None:
            report.unknown(name, "unknown-condition", "condition", unit.conditions)
        else:
            condition_value(value, condition, report)


def shared_names(unit: Unit) -> tuple[source.Name, ...]:
    """The items that belong to the caller, each once."""
    contract = contract_of(unit)
    named = {name.text: name for name, _ in (*contract.leaves_open, *contract.takes_over)}
    return tuple(named.values())


def shared_family(name: source.Name, own: Family, caller: Frame, report: Report) -> Family | None:
    """The caller's item of that name; None where it has none or declares it otherwise, which is reported."""
    family = caller.unit.families.get(name.text)
    if family is None:
        message = f'the caller, {caller.unit.written.procedure.text}, has no item "{name.text}"'
        report.at(name, "unlike-caller", message, expected="the item declared in the caller")
        return None
    held = {bound.location for bound in caller.bounds}
    theirs = [(_free(place, held), item) for place, item in family.members.entries]
    mine = [(_free(place, held), item) for place, item in own.members.entries]
    unlike = [key for field, key in _ALIKE if getattr(theirs[0][1], field) != getattr(mine[0][1], field)]
    places = list(dict.fromkeys(place for place, _ in theirs))
    if places != [place for place, _ in mine]:
        unlike.append("each")
    if unlike:
        message = f'"{name.text}" is declared otherwise in the caller, {caller.unit.written.procedure.text}'
        report.at(name, "unlike-caller", message, expected=f"the same {', '.join(unlike)} in both files")
        return None
    return family


def _free(place: Bounds, held: set[str]) -> Bounds:
    return tuple(bound for bound in place if bound.location not in held)


def check_conditions(unit: Unit, caller: Unit, report: Report) -> None:
    """Check that every condition of a used file is declared alike in its caller."""
    for condition in unit.written.conditions:
        name = condition.name
        theirs = caller.conditions.get(name.text)
        if theirs is None:
            message = f'the caller, {caller.written.procedure.text}, has no condition "{name.text}"'
            report.at(name, "unlike-caller", message, expected="the condition declared in the caller")
            continue
        unlike = [
            key
            for key, one, other in (
                ("values", set(known_values(condition)), set(known_values(theirs))),
                ("changes", _changes(condition), _changes(theirs)),
                ("hazardous", _words(condition.hazardous), _words(theirs.hazardous)),
            )
            if one != other
        ]
        missing = _detours(condition) - _detours(theirs)
        if missing:
            unlike.append(f"getting there ({', '.join(sorted(missing))})")
        if unlike:
            message = f'"{name.text}" is declared otherwise in the caller, {caller.written.procedure.text}'
            report.at(name, "unlike-caller", message, expected=f"the same {', '.join(unlike)} in both files")


def _changes(condition: source.Condition) -> set[tuple[str, str]]:
    return {(value.text, to.text) for value, tos in condition.changes for to in tos}


def _words(names: tuple[source.Name, ...]) -> set[str]:
    return {name.text for name in names}


def _detours(condition: source.Condition) -> set[str]:
    return {value.text for value, _ in condition.getting_there}


def begin_needs(unit: Unit, frame: Frame, report: Report) -> tuple[linked.Test, ...]:
    """What must hold where a call begins: items as taken over, conditions as at the start of the file."""
    contract = contract_of(unit)
    made = [test for name, state in contract.takes_over for test in _items(unit, frame, name, state, report)]
    taken = {name.text for name, _ in contract.takes_over}
    for name, _ in contract.leaves_open:
        item = next((item for item in unit.written.items if item.name.text == name.text), None)
        if name.text not in taken and item is not None:
            start = item.at_start or source.Name(mark=name.mark, text=_whole(item))
            made += _items(unit, frame, name, start, report)
    for condition in unit.written.conditions:
        values = tuple(value.text for value in condition.at_start)
        made.append(linked.Test(kind="condition", name=condition.name.text, values=values))
    return tuple(made)


def end_needs(unit: Unit, frame: Frame, report: Report) -> tuple[linked.Test, ...]:
    """What must hold where a file with a contract ends: items left open as said, the others closed."""
    contract = contract_of(unit)
    made = [test for name, state in contract.leaves_open for test in _items(unit, frame, name, state, report)]
    left = {name.text for name, _ in contract.leaves_open}
    for name, _ in contract.takes_over:
        if name.text not in left:
            final = source.Name(mark=name.mark, text="final")
            made += _items(unit, frame, name, final, report)
    for name, value in contract.ends_with:
        made.append(linked.Test(kind="condition", name=name.text, values=(value.text,)))
    return tuple(made)


def _items(
    unit: Unit, frame: Frame, name: source.Name, state: source.Name, report: Report
) -> list[linked.Test]:
    family = unit.families.get(name.text)
    if family is None:
        return []
    test = source.Test(mark=name.mark, name=name, values=(state,))
    return item_tests(family, test, frame, report)


def _whole(item: source.Item) -> str:
    return final_states(item.kind, 0)[0]
