"""Ways and the entries they nest: steps, repeats, parts, calls, and the ways back."""

from runner.procedure.desk import Desk
from runner.procedure.read_steps import STEP_KEYS, read_step
from runner.procedure.read_values import read_path, read_tests
from runner.procedure.source import Again, Answer, Call, Entry, GoOn, Nested, Portion, Repeat, Step, Stop, Way
from runner.procedure.tree import Blank, Node, Refused, Row, Table, Text

MOST_STEPS = 20_000
"""Most steps in one file, as written."""

MOST_ROUNDS = 100
"""Most times that a way back may be taken."""

_CONDITIONAL = ("only for", "only if")
_ENTRY_WORDS = ("step", "each", "steps", "use", "again", "stop")


class WayReader:
    """Reads entries and ways, which hold each other; counts the steps of the file."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._steps = 0

    def entries(self, node: Node, what: str, *, in_way: bool = False) -> tuple[Entry, ...]:
        """Give a list of entries; `stop` and `again` may end it only where it is a way's own list."""
        if not isinstance(node, Row):
            self._desk.row(node, what)
            if isinstance(node, Text | Table):
                self._desk.error(node, "shape", f"{what} must be a list of steps", expected="- step: …")
            return ()
        items = self._desk.row(node, what)
        entries: list[Entry] = []
        for number, item in enumerate(items, start=1):
            entry = self._entry(item)
            if isinstance(entry, Again | Stop) and not (in_way and number == len(items)):
                word = "stop" if isinstance(entry, Stop) else "again"
                message = f'"{word}" can only be the last entry of a list that an answer leads to'
                self._desk.error(item, "not-here", message)
            elif entry is not None:
                entries.append(entry)
        return tuple(entries)

    def _entry(self, node: Node) -> Entry | None:
        if isinstance(node, Text) and node.folded == "stop":
            return Stop(mark=node.mark)
        if not isinstance(node, Table):
            self._no_entry(node)
            return None
        keys = {key.folded for key, _ in node.entries}
        if "step" in keys:
            return self._step(node)
        if "use" in keys:
            return self._call(node)
        if "again" in keys:
            return self._again(node)
        if keys & {"each", "steps"}:
            return self._part(node)
        if keys & set(STEP_KEYS):
            return self._step(node)
        self._no_entry(node)
        return None

    def _no_entry(self, node: Node) -> None:
        if isinstance(node, Refused):
            return
        if isinstance(node, Blank):
            self._desk.error(node, "blank", "an entry of the list is empty", expected="- step: …")
            return
        word = node.entries[0][0] if isinstance(node, Table) and node.entries else node
        self._desk.unknown(word, "this is no step, repeat, part or call", _ENTRY_WORDS, "entry")

    def _step(self, node: Table) -> Step:
        self._steps += 1
        if self._steps == MOST_STEPS + 1:
            self._desk.error(node, "step-count", f"this file has more than {MOST_STEPS:,} steps")
        return read_step(self._desk, node, self)

    def _part(self, node: Table) -> Repeat | Portion:
        fields = self._desk.fields(node, "a repeat or part", ("each", "steps", *_CONDITIONAL), ("steps",))
        entries = fields.must("steps", self.entries)
        only_if = fields.may("only if", lambda n, w: read_tests(self._desk, n, w), ())
        only_for = fields.may("only for", lambda n, w: read_tests(self._desk, n, w), ())
        if "each" not in fields:
            return Portion(mark=fields.mark, entries=entries, only_if=only_if, only_for=only_for)
        each = fields.must("each", self._desk.name)
        return Repeat(mark=fields.mark, each=each, entries=entries, only_if=only_if, only_for=only_for)

    def _call(self, node: Table) -> Call:
        fields = self._desk.fields(node, "a call", ("use", *_CONDITIONAL), ("use",))
        return Call(
            mark=fields.mark,
            path=fields.must("use", lambda n, w: read_path(self._desk, n, w)),
            only_if=fields.may("only if", lambda n, w: read_tests(self._desk, n, w), ()),
            only_for=fields.may("only for", lambda n, w: read_tests(self._desk, n, w), ()),
        )

    def way(self, node: Node, what: str) -> Way:
        """Give where something leads: `go on`, `stop`, a list of entries, or `again` with its limit."""
        match node:
            case Row():
                return Nested(mark=node.mark, entries=self.entries(node, what, in_way=True))
            case Table() if node.get("again") is not None:
                return self._again(node)
            case Text() if node.folded == "go on":
                return GoOn(mark=node.mark)
            case Text() if node.folded == "stop":
                return Stop(mark=node.mark)
            case Text():
                expected = "go on, stop, a list of steps, or {again: STEP, at most: 3, then: stop}"
                message = f'{what} leads nowhere: "{node.folded}" is no way'
                self._desk.error(node, "way", message, expected=expected)
            case Table():
                message = f"{what} leads nowhere: a way of several steps is a list"
                self._desk.error(node, "way", message, expected="- step: …")
            case Blank():
                expected = "go on, stop, a list of steps, or again"
                self._desk.error(node, "blank", f"{what} leads nowhere", expected=expected)
        return Stop(mark=node.mark)

    def _again(self, node: Table) -> Again:
        needed = ("again", "at most", "then")
        fields = self._desk.fields(node, '"again"', needed, needed)
        return Again(
            mark=fields.mark,
            step=fields.must("again", self._desk.name),
            at_most=fields.must("at most", lambda n, w: self._desk.whole(n, w, 1, MOST_ROUNDS)),
            then=fields.must("then", self.way),
        )

    def answers(self, node: Node, what: str) -> tuple[Answer, ...]:
        """Give the answers of a question or look-for and where each leads."""
        entries = self._desk.table(node, what).entries
        return tuple(
            Answer(mark=key.mark, label=key.folded, way=self.way(value, f'"{key.folded}"'))
            for key, value in entries
        )
