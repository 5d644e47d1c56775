"""The head of the linked procedure: what the main file and the files it uses ask for, put together once.

The caller's word stands: a tool or part that the caller declares is not added again by a file it uses.
"""

from dataclasses import dataclass, field

from runner.procedure import linked, source
from runner.procedure.link_bands import interval
from runner.procedure.link_frame import Unit
from runner.procedure.link_names import choices
from runner.procedure.link_nodes import notice
from runner.procedure.link_report import Report


@dataclass
class Header:
    """Everything but items and nodes, by name, in the order met."""

    report: Report
    sources: dict[str, None] = field(default_factory=dict)
    people: dict[str, int] = field(default_factory=dict)
    choices: dict[str, linked.Choice] = field(default_factory=dict)
    counters: dict[str, linked.Counter] = field(default_factory=dict)
    tools: dict[str, linked.Tool] = field(default_factory=dict)
    parts: dict[str, linked.Part] = field(default_factory=dict)
    supplies: dict[str, None] = field(default_factory=dict)
    documents: dict[str, None] = field(default_factory=dict)
    standing: dict[linked.Notice, int] = field(default_factory=dict)
    follow_up: dict[linked.FollowUp, None] = field(default_factory=dict)
    close_out: dict[str, None] = field(default_factory=dict)
    make_safe: dict[str, dict[str, None]] = field(default_factory=dict)

    def add(self, unit: Unit) -> None:
        """Add what one file, at one call, asks for."""
        written = unit.written
        self.sources |= dict.fromkeys(written.sources)
        for role, number in written.people:
            self.people[role.text] = max(number, self.people.get(role.text, 0))
        for name, choice in choices(unit):
            self._choice(name, choice)
        for counter in written.counters:
            self._counter(counter)
        for tool in written.tools:
            self._tool(tool)
        for part in written.parts:
            self._part(part, unit)
        self.supplies |= dict.fromkeys(written.supplies)
        self.documents |= dict.fromkeys(written.documents)
        for standing in written.standing:
            self._standing(standing, unit)
        for due in written.follow_up:
            self.follow_up[linked.FollowUp(what=due.what, text=due.text)] = None
        self.close_out |= dict.fromkeys(written.close_out)
        for value, lines in written.make_safe:
            self.make_safe.setdefault(value.text, {}).update(dict.fromkeys(lines))

    def _choice(self, name: source.Name, choice: linked.Choice) -> None:
        known = self.choices.setdefault(choice.name, choice)
        if known != choice:
            message = f'"{choice.name}" is declared with other values in a file that this one is used with'
            self.report.at(name, "unlike-caller", message, expected=", ".join(known.values))

    def _counter(self, counter: source.Counter) -> None:
        known = self.counters.setdefault(counter.name, linked.Counter(name=counter.name, unit=counter.unit))
        if known.unit != counter.unit:
            message = f'"{counter.name}" is counted in {known.unit} elsewhere, here in {counter.unit}'
            self.report.error(counter.mark, "unlike-caller", message)

    def _tool(self, tool: source.Tool) -> None:
        covers = interval(tool.covers) if tool.covers else None
        known = self.tools.get(tool.name)
        if known is None or known.covers is None:
            self.tools[tool.name] = linked.Tool(name=tool.name, covers=covers)
        elif covers is not None and known.covers != covers:
            message = f'"{tool.name}" covers {known.covers.text} elsewhere, here {covers.text}'
            self.report.error(tool.mark, "unlike-caller", message)

    def _part(self, part: source.Part, unit: Unit) -> None:
        location = unit.locations.get(part.each.text) if part.each else None
        places = len(location.values) if location and not location.choose else 1
        known = self.parts.get(part.name)
        if known and part.number and known.number and known.number != part.number:
            message = f'"{part.name}" has the number {known.number} elsewhere, here {part.number}'
            self.report.error(part.mark, "unlike-caller", message)
        elif known and _declared_above(part.name, unit):
            number = known.number or part.number
            self.parts[part.name] = known.model_copy(update={"number": number})
        else:
            quantity = part.quantity * places + (known.quantity if known else 0)
            self.parts[part.name] = linked.Part(name=part.name, number=part.number, quantity=quantity)

    def _standing(self, standing: source.StandingNotice, unit: Unit) -> None:
        number = self.standing.setdefault(notice(standing.notice), len(self.standing))
        steps = unit.outline.steps
        ends = [steps.get(name.text) for name in (standing.first, standing.last)]
        for name, found in zip((standing.first, standing.last), ends, strict=True):
            if found is None:
                self.report.unknown(name, "unknown-step", "step", steps)
        first, last = ends
        if first is not None and last is not None:
            if first.index > last.index:
                message = f'"{standing.last.text}" comes before "{standing.first.text}"'
                self.report.at(standing.last, "standing", message)
            unit.standing.append((number, first.index, last.index))


def _declared_above(part: str, unit: Unit) -> bool:
    """Whether a caller of this file declares the part, and so counts it."""
    while unit.parent is not None:
        unit = unit.parent[0]
        if any(known.name == part for known in unit.written.parts):
            return True
    return False
