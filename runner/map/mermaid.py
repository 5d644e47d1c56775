"""The state graph as Mermaid flowchart text, for wikis and code hosts that draw it.

Syntax: https://mermaid.js.org/syntax/flowchart.html. Ids are our own (`n1`, `n2` …), so that no name from a
procedure is read as a word of Mermaid; every label is quoted, and what could end a label or mean something in it is
written as an entity code with a number.
"""

from collections.abc import Iterator

from runner.map.lines import Line, Map, PutOffArc
from runner.map.words import guard_words, put_off_words
from runner.procedure.linked import BACK, END, STOP, Exit, Node
from runner.safe_text import safe

_KEPT = frozenset(" .,()+-=/%°·→…'?!")
"""Signs that stay as they are beside letters and digits. `:` is not one: Mermaid takes the last `;` of an entity code
off a line in which `style`, `:` and `#` follow each other.
"""
_CLASSES = (
    "classDef putoff stroke-dasharray: 5 4",
    "classDef hold stroke-width:4px",
    "classDef joint fill:#eeeeee,stroke:#888888",
    "classDef stop fill:#000000,color:#ffffff",
    "classDef path stroke:#c00000,stroke-width:4px",
)


def mermaid(drawn: Map) -> str:
    """The whole graph: one node for each state, joints among them, an arrow for each way."""
    return "\n".join(_Text(drawn).all()) + "\n"


def escaped(text: str) -> str:
    """A text as it stands between the quotes of a label."""
    return "".join(
        c if c.isalnum() or c in _KEPT or ord(c) > 0xFF else f"#{ord(c)};" for c in safe(text).strip()
    )


class _Text:
    """One graph as text; arrows are counted, for a style names an arrow by its number."""

    def __init__(self, drawn: Map) -> None:
        self._map = drawn
        self._ids = {node.id: f"n{number}" for number, node in enumerate(drawn.procedure.nodes, 1)}
        self._ids |= {END: "finish", STOP: "halt", BACK: "mainline"}
        self._lines: dict[str, Line] = {}
        for line in (*drawn.lines, *(line for detour in drawn.detours for line in detour.lines)):
            self._lines |= dict.fromkeys(line.nodes, line)
        self._letters = {node: arc.letter for arc in drawn.arcs for node in drawn.lines[arc.line].nodes}
        self._ordinals: dict[str, list[int]] = {}
        for ordinal, station in enumerate(drawn.finding.path if drawn.finding else (), 1):
            self._ordinals.setdefault(station.node, []).append(ordinal)
        self._targets: set[str] = set()

    def all(self) -> Iterator[str]:
        """Every line of the text."""
        procedure = self._map.procedure
        yield "---"
        yield f'title: "{_title(f"{procedure.title}, revision {procedure.revision}")}"'
        yield "---"
        yield "flowchart TD"
        if self._map.which:
            yield f'  finding["{escaped(self._map.which)}"]:::path'
        for node in procedure.nodes:
            yield f"  {self._node(node)}"
        yield '  finish(["End: close out and seal"])'
        yield f'  begin(["Start"]) --> {self._ids[procedure.first]}'
        arrows = [arrow for node in procedure.nodes for arrow in self._arrows(node)]
        if STOP in self._targets:
            yield '  halt{{"Stop"}}:::stop'
        if BACK in self._targets:
            yield '  mainline(["Back to the main line"])'
        yield from (f"  {arrow}" for arrow in arrows)
        yield from (f"  {arrow}" for arc in self._map.arcs for arrow in self._waits(arc))
        for condition in procedure.conditions:
            for value, head in condition.getting_there:
                says = escaped(f"detour: {condition.name} back to {value}")
                yield f'  {self._ids[head]}_way["{says}"]:::joint --> {self._ids[head]}'
        yield from (f"  {each}" for each in _CLASSES)

    def _node(self, node: Node) -> str:
        line = self._lines.get(node.id)
        name = f"{node.step}, {node.place}" if node.place else node.step
        parts = [f"{line.number} {name}" if line is not None and line.number else name, node.title]
        if node.joint is not None:
            parts = [f"{node.joint} ({node.place})" if node.place else node.joint]
        if node.id in self._letters and node.put_off is not None:
            parts.append(f"{self._letters[node.id]}: put off {put_off_words(node.put_off)}")
        if node.id in self._ordinals:
            parts.insert(0, f"({', '.join(str(o) for o in self._ordinals[node.id])})")
        if node.guard and node.joint is None:
            parts.append(f"only if {guard_words(node.guard)}")
        parts += [f"{condition} → {value}" for condition, value in node.sets]
        label = "<br/>".join(escaped(part) for part in parts)
        kind = (
            "joint" if node.joint is not None else "putoff" if node.put_off else "hold" if node.hold else ""
        )
        if node.id in self._ordinals:
            kind = "path"
        shape = ('{{"', '"}}') if node.answers or node.hold else ('["', '"]')
        return f"{self._ids[node.id]}{shape[0]}{label}{shape[1]}{f':::{kind}' if kind else ''}"

    def _arrows(self, node: Node) -> Iterator[str]:
        # A step passed over to where it leads anyway says so itself; an arrow of its own would say it twice.
        if node.guard and (node.skip != node.next or node.joint is not None):
            yield self._arrow(node, node.skip, f"unless {guard_words(node.guard)}")
        if not node.exits or node.put_off is not None or not (node.answers or _sorts(node)):
            yield self._arrow(node, node.next, "")
        for way in node.exits:
            yield from self._way(node, way, way.label)

    def _waits(self, arc: PutOffArc) -> Iterator[str]:
        """Dotted arrows from a put-off step to where its window can open and to where it is due."""
        lines = self._map.lines
        for says, places in ((f"{arc.letter} can be done", arc.opens), (f"{arc.letter} is due", arc.due)):
            for at in places:
                start, to = self._ids[lines[arc.line].nodes[0]], self._ids[lines[at].nodes[0]]
                yield f'{start} -. "{escaped(says)}" .-> {to}'

    def _way(self, node: Node, way: Exit, label: str) -> Iterator[str]:
        if way.limit is None:
            yield self._arrow(node, way.to, label)
            return
        yield self._arrow(node, way.to, f"{label}, at most {way.limit.at_most} times")
        yield from self._way(node, way.limit.then, f"{label}, after that")

    def _arrow(self, node: Node, to: str, label: str) -> str:
        self._targets.add(to)
        says = f' -- "{escaped(label)}" --> ' if label.strip() else " --> "
        return f"{self._ids[node.id]}{says}{self._ids.get(to, 'finish')}"


def _sorts(node: Node) -> bool:
    return any(reading.sorting for reading in node.readings)


def _title(text: str) -> str:
    """The title stands in YAML, in double quotes."""
    return safe(text).replace("\\", "\\\\").replace('"', '\\"')
