"""Files used by files: each call unfolded at its place, between two joints that hold its contract."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from runner.procedure import linked, source
from runner.procedure.finding import Mark
from runner.procedure.link_contract import (
    begin_needs,
    check_conditions,
    check_contract,
    contract_of,
    end_needs,
    shared_family,
    shared_names,
)
from runner.procedure.link_frame import Draft, Frame, Unit, keyed
from runner.procedure.link_header import Header
from runner.procedure.link_items import family
from runner.procedure.link_names import check_declared
from runner.procedure.link_outline import Outline, outline
from runner.procedure.link_report import Report
from runner.procedure.link_ways import Weaver, Woven
from runner.procedure.linked import END

Resolve = Callable[[str, Mark], source.Source | None]
"""Gives the file that a path means where it stands; None where it cannot be used, already reported."""

DEEPEST_CALLS = 8


@dataclass
class Unfolding:
    """One procedure while its files are unfolded."""

    report: Report
    resolve: Resolve
    header: Header
    outlines: dict[int, Outline] = field(default_factory=dict)
    units: list[Unit] = field(default_factory=list)
    called: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.weaver = Weaver(self.report, self.call)

    def main(self, written: source.Source) -> tuple[Unit, Woven]:
        """Unfold the main file. One with a contract starts and ends as the contract says."""
        unit = self._unit(written)
        taken = {name.text: state for name, state in contract_of(unit).takes_over}
        for item in written.items:
            made = family(item, unit, "", self.report, taken.get(item.name.text))
            unit.families[item.name.text] = made
            unit.items += (item for _, item in made.members.entries)
        frame = Frame(unit)
        self._prepare(unit)
        if written.contract is None:
            return unit, self.weaver.entries(written.entries, frame, END)
        end = self._joint(frame, ":end", written.mark, END)
        end.joint = f"end of {written.procedure.text}: left as agreed"
        end.needs = end_needs(unit, frame, self.report)
        end.index = len(unit.outline.order)
        head, drafts = self.weaver.entries(written.entries, frame, end.id)
        return unit, (head, [*drafts, end])

    def call(self, call: source.Call, frame: Frame, follow: str) -> Woven:
        """Unfold a used file here."""
        self.called.add(id(call))
        found = frame.unit.calls.get(id(call))
        if found is None:
            return follow, []
        return self.unfold(found, frame, follow, call)

    def unfold(self, used: tuple[source.Source, str], frame: Frame, follow: str, call: source.Call) -> Woven:
        """Unfold a file under a name of its own, from its first joint to its last."""
        written, name = used
        index = frame.unit.outline.order.get(id(call), -1)
        unit = self._unit(written, frame, index)
        inside = Frame(unit, frame.prefix + name + "/", frame.bounds, frame.guard, (), frame.detour)
        check_conditions(unit, frame.unit, self.report)
        self._own_location(unit, frame, call)
        self._families(unit, inside, frame)
        self._prepare(unit)
        begin = self._joint(replace(frame, prefix=inside.prefix), ":begin", call.mark, follow)
        end = self._joint(replace(frame, prefix=inside.prefix), ":end", call.mark, follow)
        head, drafts = self.weaver.entries(written.entries, inside, end.id)
        begin.index = end.index = index
        unit.begin = begin.id
        begin.next, begin.only_if = head, call.only_if
        begin.joint = (
            f"{written.procedure.text}: {written.title}, revision {written.revision}, {written.fits}"
        )
        begin.needs = begin_needs(unit, inside, self.report)
        end.joint = f"end of {written.procedure.text}: left as agreed"
        end.needs = end_needs(unit, inside, self.report)
        return begin.id, [begin, *drafts, end]

    def open(self, path: source.Name, unit: Unit) -> source.Source | None:
        """The file that a path in `unit` means; None where it may not be used, which is reported."""
        written = self.resolve(path.text, path.mark)
        if written is None:
            return None
        chain = [above.written.procedure.mark.file for above in _chain(unit)][::-1]
        if written.procedure.mark.file in chain:
            first = chain.index(written.procedure.mark.file)
            circle = " → ".join([*chain[first:], written.procedure.mark.file])
            self.report.at(path, "use-circle", f"files use each other in a circle: {circle}")
            return None
        if len(chain) > DEEPEST_CALLS:
            message = f"files use each other more than {DEEPEST_CALLS} deep: {' → '.join(chain)}"
            self.report.at(path, "use-depth", message)
            return None
        return written

    def gather(self, drafts: list[Draft]) -> list[linked.Item]:
        """Put the heads of all files together, in the order of the text; give the items in that order."""
        places = {draft.id: place for place, draft in enumerate(drafts)}
        self.units.sort(key=lambda unit: places.get(unit.begin, -1))
        for unit in self.units:
            self.header.add(unit)
        return [item for unit in self.units for item in unit.items]

    def _unit(self, written: source.Source, caller: Frame | None = None, index: int = 0) -> Unit:
        made = self.outlines.get(id(written))
        if made is None:
            made = self.outlines[id(written)] = outline(written, self.report)
        unit = (
            Unit(written, made)
            if caller is None
            else Unit(written, made, caller.bounds, (caller.unit, index))
        )
        self.units.append(unit)
        return unit

    def _prepare(self, unit: Unit) -> None:
        """Check the head of a file, and open the files it uses, each under a name of its own."""
        head = unit.written
        declared = (
            head.items,
            head.conditions,
            head.tools,
            head.parts,
            head.standing,
            head.make_safe,
            head.close_out,
        )
        self.report.touch(sum(len(things) for things in declared), head.mark)
        check_declared(unit, self.report)
        check_contract(unit, self.report)
        names: set[str] = set()
        for call in unit.outline.calls:
            written = self.open(call.path, unit)
            if written is not None:
                unit.calls[id(call)] = (written, own_name(written.procedure.text, names))

    def _families(self, unit: Unit, inside: Frame, caller: Frame) -> None:
        shared = {name.text: name for name in shared_names(unit)}
        for item in unit.written.items:
            made = family(item, unit, inside.prefix, self.report)
            name = shared.get(item.name.text)
            if name is None:
                unit.items += (member for _, member in made.members.entries)
            else:
                made = shared_family(name, made, caller, self.report) or made
            unit.families[item.name.text] = made

    def _own_location(self, unit: Unit, frame: Frame, call: source.Call) -> None:
        for bound in frame.bounds:
            if bound.location in unit.locations:
                message = (
                    f'this is inside a repeat over "{bound.location}", and {unit.written.procedure.text} '
                    f'declares "{bound.location}" itself'
                )
                self.report.at(call.path, "repeat-in-repeat", message)

    def _joint(self, frame: Frame, name: str, mark: Mark, follow: str) -> Draft:
        self.report.add_node(mark)
        id_ = frame.prefix + keyed(name, frame.bounds)
        return Draft(id_, frame, 0, mark, follow, follow, guard=frame.guard)


def own_name(name: str, names: set[str]) -> str:
    """A name not yet in `names`, to which it is added: `lower`, then `lower-2`."""
    number, made = 1, name
    while made in names:
        number += 1
        made = f"{name}-{number}"
    names.add(made)
    return made


def _chain(unit: Unit | None) -> Iterator[Unit]:
    while unit is not None:
        yield unit
        unit = unit.parent[0] if unit.parent else None
