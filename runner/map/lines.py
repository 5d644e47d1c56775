"""The map as lines: the outline made flat, with numbers, rails, put-off letters, marks and the path of a finding.

Terminal and picture draw these lines; neither decides anything about the procedure.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from runner.frozen import Frozen
from runner.map.entries import Ending, Entry, Lead, Outline, Section, Step, Way
from runner.map.flow import Span, Spans, values_along
from runner.map.outline import outline
from runner.map.words import Marks, choice_words, letter, marks_of
from runner.procedure.finding import Finding
from runner.procedure.linked import END, Node, Procedure, PutOff

LineKind = Literal["step", "way", "section", "foot", "ending", "end"]
Window = Literal["", "waits", "open"]

_OVER_THE_STATES = 200_000
"""So many (line, put-off) pairs are drawn with windows; beyond that a map says where, not along which lines."""


class Line(Frozen):
    """One line of the map. `title` is the sentence or label, `nodes` the nodes it stands for (END at the end).

    `changes` are the conditions it sets, `ordinals` the stops of the finding's path that fall on it.
    """

    kind: LineKind
    depth: int
    title: str
    number: str = ""
    name: str = ""
    place: str = ""
    only: str = ""
    leads: str = ""
    nodes: tuple[str, ...] = ()
    node: Node | None = None
    marks: Marks = Marks()
    changes: tuple[tuple[str, str], ...] = ()
    ordinals: tuple[int, ...] = ()
    faulty: bool = False

    @property
    def label(self) -> str:
        """Name and place as a person says them."""
        return f"{self.name}, {self.place}" if self.place else self.name

    @property
    def injury(self) -> bool:
        """Whether a notice must be acknowledged here."""
        return self.node is not None and any(notice.injury for notice in self.node.notices)


class PutOffArc(Frozen):
    """A put-off step: its letter, the line it is listed on, the lines where it waits or is open, where it is due."""

    letter: str
    line: int
    put_off: PutOff
    windows: Mapping[int, Window]
    opens: tuple[int, ...]
    due: tuple[int, ...]


class Rail(Frozen):
    """A condition along the lines: which values it can have on each, None where it is not on the main line."""

    name: str
    values: tuple[str, ...]
    hazardous: tuple[str, ...]
    along: tuple[tuple[str, ...] | None, ...]


class Detour(Frozen):
    """A detour and its lines; `same_as` are the numbers of the main line where all its steps stand already."""

    title: str
    lines: tuple[Line, ...]
    same_as: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        """The heading, with what it is the same as."""
        return f"{self.title}: as {', '.join(self.same_as)}" if self.same_as else self.title


class Map(Frozen):
    """Everything that is drawn. `finding` is the one whose path is marked, `which` says so in words."""

    procedure: Procedure
    lines: tuple[Line, ...]
    rails: tuple[Rail, ...]
    arcs: tuple[PutOffArc, ...]
    detours: tuple[Detour, ...]
    finding: Finding | None = None
    which: str = ""


def map_of(procedure: Procedure, finding: Finding | None = None, which: str = "") -> Map:
    """The map of a linked procedure, with the path of a finding marked where there is one."""
    made = outline(procedure)
    flat = _Flat(made, _touched(finding))
    flat.entries(made.main, "", 0)
    flat.lines.append(Line("end", 0, "End: close out and seal", nodes=(END,)))
    main = len(flat.lines)
    starts: list[tuple[str, int]] = []
    for section in made.detours:
        starts.append((section.title, len(flat.lines)))
        flat.entries(section.entries, "", 0)
    if made.unjoined:
        starts.append(("steps that no way leads to", len(flat.lines)))
        flat.entries(made.unjoined, "", 0)
    values = values_along(procedure)
    lines = _with_path(_with_lost(flat.finished()[:main], values) + flat.finished()[main:], finding)
    ends = [*(start for _, start in starts[1:]), len(lines)]
    detours = tuple(
        _detour(title, lines[start:end], lines[:main])
        for (title, start), end in zip(starts, ends, strict=False)
    )
    main_lines = lines[:main]
    rails = tuple(
        Rail(c.name, c.values, c.hazardous, _along(main_lines, c.values, values[c.name]))
        for c in procedure.conditions
    )
    return Map(procedure, main_lines, rails, _arcs(procedure, main_lines, values), detours, finding, which)


def _detour(title: str, lines: tuple[Line, ...], main: Sequence[Line]) -> Detour:
    steps = [line for line in lines if line.kind == "step"]
    known: dict[tuple[str, str], str] = {}
    for line in main:
        known.setdefault((line.name, line.title), line.number)
    same = [known.get((line.name, line.title), "") for line in steps]
    return Detour(title, lines, tuple(same) if all(same) and not any(line.ordinals for line in lines) else ())


class _Flat:
    """Makes lines of entries; targets are put in when every step has its number."""

    def __init__(self, made: Outline, touched: frozenset[str]) -> None:
        self._procedure = made.procedure
        self._touched = touched
        self._numbers: dict[str, str] = {}
        self._leads: list[tuple[int, Lead]] = []
        self._count = 0
        self.lines: list[Line] = []

    def finished(self) -> tuple[Line, ...]:
        """The lines with their targets in words."""
        for index, lead in self._leads:
            self.lines[index] = self.lines[index].but(leads=self._words(lead))
        return tuple(self.lines)

    def entries(self, entries: Iterable[Entry], under: str, depth: int) -> None:
        """Add the lines of a list of entries; `under` is the number of the step whose way it is."""
        counted = 0
        for entry in entries:
            counted = self._entry(entry, under, depth, counted)

    def _entry(self, entry: Entry, under: str, depth: int, counted: int) -> int:
        match entry:
            case Step():
                counted += 1
                self._step(entry, self._next(under, counted), depth)
            case Section():
                counted = self._section(entry, under, depth, counted)
            case Ending(lead=None):
                self.lines.append(Line("foot", depth, entry.says, nodes=entry.nodes))
            case Ending():
                assert entry.lead is not None
                self._leads.append((len(self.lines), entry.lead))
                self.lines.append(
                    Line("ending", depth, "", only=choice_words(entry.only_for), nodes=entry.nodes)
                )
                self._inside(entry.lead, under, depth + 1, counted)
        return counted

    def _next(self, under: str, counted: int) -> str:
        if under:
            return f"{under}.{counted}"
        self._count += 1
        return str(self._count)

    def _section(self, entry: Section, under: str, depth: int, counted: int) -> int:
        only = ", ".join(part for part in (_only_for(entry), entry.only and f"only if {entry.only}") if part)
        self.lines.append(
            Line("section", depth, entry.title, place=entry.place, only=only, nodes=entry.heads)
        )
        for inner in entry.entries:
            counted = self._entry(inner, under, depth + 1, counted)
        if self._touched & set(entry.ends):
            says = f"end of {entry.title.partition(':')[0]}"
            self.lines.append(Line("foot", depth, says, place=entry.place, nodes=entry.ends))
        return counted

    def _step(self, entry: Step, number: str, depth: int) -> None:
        node = entry.node
        self._numbers.update((each.id, number) for each in entry.nodes)
        only = ", ".join(part for part in (_only_for(entry), entry.only and f"only if {entry.only}") if part)
        self.lines.append(
            Line(
                "step",
                depth,
                node.title,
                number,
                node.step,
                entry.place,
                only,
                nodes=tuple(each.id for each in entry.nodes),
                node=node,
                marks=marks_of(node, self._procedure),
                changes=node.sets,
            )
        )
        several = sum(way.lead.kind == "steps" for way in entry.ways) > 1
        for index, way in enumerate(entry.ways):
            self._way(way, f"{number}{letter(index).lower()}" if several else number, depth + 1)

    def _way(self, way: Way, under: str, depth: int) -> None:
        self._leads.append((len(self.lines), way.lead))
        self.lines.append(Line("way", depth, way_words(way), under))
        self._inside(way.lead, under, depth + 1, 0)

    def _inside(self, lead: Lead, under: str, depth: int, counted: int) -> None:
        at: Lead | None = lead
        while at is not None:
            for entry in at.entries:
                counted = self._entry(entry, under, depth, counted)
            at = at.then

    def _words(self, lead: Lead) -> str:
        """Where a way leads, in words; steps below speak for themselves."""
        if lead.kind == "again":
            target = self._numbers.get(lead.to, lead.to)
            then = self._words(lead.then) if lead.then else ""
            times = "once" if lead.at_most == 1 else f"{lead.at_most} times"
            return f"again from {target}, at most {times}, then {then or 'the steps below'}"
        if lead.kind == "joins":
            return f"on at {self._numbers.get(lead.to, lead.to)}"
        return "" if lead.kind == "steps" else lead.kind


def way_words(way: Way) -> str:
    """What takes a way, in words."""
    return {"refused": "hold point refused", "too late": "too late"}.get(way.kind, way.label)


def _only_for(entry: Step | Section) -> str:
    return f"only for {choice_words(entry.only_for)}" if entry.only_for else ""


def _touched(finding: Finding | None) -> frozenset[str]:
    return frozenset(station.node for station in finding.path) if finding else frozenset()


def _with_path(lines: tuple[Line, ...], finding: Finding | None) -> tuple[Line, ...]:
    """The lines with the stops of a path on them, numbered from 1; a stop that stands nowhere is left out."""
    if finding is None:
        return lines
    where = {node: index for index, line in enumerate(lines) for node in line.nodes}
    ordinals: dict[int, list[int]] = {}
    for ordinal, station in enumerate(finding.path, 1):
        if station.node in where:
            ordinals.setdefault(where[station.node], []).append(ordinal)
    return tuple(
        line.but(ordinals=tuple(ordinals.get(index, ())), faulty=finding.node in line.nodes)
        if index in ordinals or finding.node in line.nodes
        else line
        for index, line in enumerate(lines)
    )


def _with_lost(
    lines: tuple[Line, ...], values: Mapping[str, Mapping[str, frozenset[str]]]
) -> tuple[Line, ...]:
    """The lines with a word on the first of those that no job comes to, whatever it starts from."""
    made: list[Line] = []
    before = False
    for line in lines:
        lost = bool(line.nodes) and any(
            all(node not in along for node in line.nodes) for along in values.values()
        )
        says = ", ".join(part for part in (line.only, "no job comes here") if part)
        made.append(line.but(only=says) if lost and not before else line)
        before = lost if line.nodes else before
    return tuple(made)


def _along(
    lines: Sequence[Line], order: tuple[str, ...], values: Mapping[str, frozenset[str]]
) -> tuple[tuple[str, ...] | None, ...]:
    made: list[tuple[str, ...] | None] = []
    for line in lines:
        if line.nodes:
            here = frozenset[str]().union(*(values.get(node, frozenset()) for node in line.nodes))
            made.append(tuple(value for value in order if value in here))
        else:
            made.append(made[-1] if made else None)
    return tuple(made)


def _arcs(
    procedure: Procedure, lines: Sequence[Line], values: Mapping[str, Mapping[str, frozenset[str]]]
) -> tuple[PutOffArc, ...]:
    made: list[PutOffArc] = []
    follow = Spans(procedure, values)
    listed = [(index, line) for index, line in enumerate(lines) if line.node and line.node.put_off]
    along = len(listed) * len(procedure.nodes) <= _OVER_THE_STATES
    for index, line in listed:
        assert line.node is not None
        assert line.node.put_off is not None
        spans = [follow.of(procedure.by_id[node]) for node in line.nodes] if along else []
        windows = _windows(index, lines, spans)
        opens = tuple(
            at
            for at, state in windows.items()
            if state == "open" and windows.get(at - 1, "") != "open" and lines[at].nodes
        )
        due = tuple(at for at in windows if any(_any(lines[at], s.due) for s in spans))
        made.append(PutOffArc(letter(len(made)), index, line.node.put_off, windows, opens, due))
    return tuple(made)


def _any(line: Line, nodes: frozenset[str]) -> bool:
    return any(node in nodes for node in line.nodes)


def _windows(index: int, lines: Sequence[Line], spans: Sequence[Span]) -> dict[int, Window]:
    """The state of a window on each line after the one it is listed on, up to where it is last due."""
    last = max(
        (at for at in range(index + 1, len(lines)) if any(_any(lines[at], s.carried) for s in spans)),
        default=index,
    )
    made: dict[int, Window] = {}
    for at in range(index + 1, last + 1):
        if not lines[at].nodes:
            made[at] = made.get(at - 1, "waits")
        elif any(_any(lines[at], s.open) for s in spans):
            made[at] = "open"
        else:
            made[at] = "waits" if any(_any(lines[at], s.carried) for s in spans) else ""
    return made


def lanes(arcs: Sequence[PutOffArc], most: int) -> list[list[PutOffArc]]:
    """The arcs in as few lanes as they need; those for which there are too few lanes are left out."""
    made: list[list[PutOffArc]] = []
    for arc in arcs:
        end = {id(lane): max(lane[-1].windows, default=lane[-1].line) for lane in made}
        free = next((lane for lane in made if end[id(lane)] < arc.line), None)
        if free is not None:
            free.append(arc)
        elif len(made) < most:
            made.append([arc])
    return made
