"""The judge at work: one line after the other, each event held against its rule."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.judge import end_rules, gate_rules, later_rules, seal_rules, way_rules, wrench_rules
from tests.judge.book import Book, Data
from tests.judge.chain import Line, lines
from tests.judge.scene import Debt, Scene

NO_ACT = ("refused", "noted", "time_told", "window_opened", "window_closed", "overdue", "wait_over")
"""What is no act: an act before it can still be taken back."""

STANDS = (
    "started", "hold_released", "hold_refused", "handover_offered", "handed_over", "taken_over", "sealed", "too_late",
    "paused", "resumed", "reconfirmed", "taken_back", "left_proof",
)  # fmt: skip
"""What cannot be taken back, and lets nothing before it be taken back."""

WHILE_AWAY = ("resumed", "taken_over", "noted", "abandoning", "refused", "made_safe", "sealed", "time_told")
LEAVES_THE_PLAN = (
    "deviated", "not_applicable", "corrected", "asked_again", "reopened", "put_off_unplanned"
)  # fmt: skip
"""Acts before which the proof is asked, where there is one."""

LOOKED_AGAIN = "looked again at the stop"

CLOCK = ("window_opened", "window_closed", "overdue", "wait_over", "too_late", "time_told")
"""What the clock decides, whoever is there."""
WHILE_COMPARING = (
    *WHILE_AWAY, *CLOCK, "reconfirmed", "condition_found", "reopened", "tool_changed", "extra_work_added", "paused",
    "taken_back",
)  # fmt: skip


@dataclass(frozen=True)
class Verdict:
    """What the judge found: faults (none is right), how the run ended, and how often each event was seen."""

    faults: tuple[str, ...]
    outcome: str
    seen: Counter[str]


class Bench:
    """The judge's place: the scene so far and the faults found."""

    def __init__(self, header: Data) -> None:
        self.book = Book(header)
        self.scene = Scene(self.book)
        self.faults: list[str] = []
        self.outcome = ""
        self.seen: Counter[str] = Counter()
        self.before: Scene | None = None
        self.entries_of: dict[str, int] = {}
        self.differs: set[str] = set()
        self.n = 0
        self.who = ""
        self.now: Any = None
        self._begin_entry()

    def _begin_entry(self) -> None:
        self.deviated: list[str] = []
        self.expect: list[tuple[str, Any]] = []
        self.sets_here: list[tuple[str, str]] = []
        self.must_owe: list[tuple[str, str]] = []
        self.must_owe_item = ""
        self.must_lapse: list[str] = []
        self.reopened = ""
        self.withdrew = ""
        self.judge_cues = False
        self.leaves_if_moved = False

    def demand(self, held: bool, rule: str, words: str) -> None:
        """Keep a fault where something does not hold."""
        if not held:
            self.faults.append(f"entry {self.n}: {rule}: {words}")

    def no_later(self, node: str) -> bool:
        """Whether every clock says that the step's no later than has passed."""
        limit = self.book.nodes[node]["put_off"].get("no_later")
        told = f"no later {node}" in self.scene.told
        return bool(limit) and not told and self.scene.surely_passed(
            self.scene.latest(limit[1]), self.now, limit[0]
        )  # fmt: skip

    def overdue(self, debt: Debt) -> bool:
        """Whether something put off is too late."""
        return debt.kind == "put off" and self.no_later(debt.node)

    def entry(self, line: Line) -> None:
        """One line of the run."""
        self.n, self.now, self.who = line.n, line.moment, line.data.get("who", "")
        events = line.data.get("events", ())
        if line.kind == "opened":
            if self.scene.phase not in ("new", "sealed"):
                self.scene.paused = True
                self.before = None
            return
        if line.kind in ("clock", "scar"):
            return
        self._begin_entry()
        self.demand(self.scene.phase != "sealed", "SEALED", "something follows the seal")
        self.demand(bool(self.who.strip()), "WHO", "nobody is named")
        kind = events[0]["kind"]
        self.demand(line.kind in (kind, "seal"), "KIND", f"a line {line.kind} that is {kind}")
        if kind == "taken_back":
            self._take_back()
            self.seen[kind] += 1
            return
        if kind == "refused":
            self.demand(len(events) == 1, "REFUSED", "a refusal that changes something")
        self._away(kind)
        kept = self.scene.clone() if kind not in NO_ACT and kind not in STANDS else None
        for event in events:
            self.seen[event["kind"]] += 1
            RULES[event["kind"]](self, event)
        # Who answers anew at a stop gives an answer that the plan has; nobody takes one back.
        anew = kind == "asked_again" and events[0]["reason"] == LOOKED_AGAIN
        leaves = kind in LEAVES_THE_PLAN and not anew
        if leaves and self.book.proved and self.scene.phase in ("working", "stopped"):
            self.demand(events[-1]["kind"] == "reproved", "PROOF", f"{kind} without the proof's answer")
        self._end_entry()
        if kind not in NO_ACT:
            self.before = kept

    def _away(self, kind: str) -> None:
        s = self.scene
        self.demand(not s.paused or kind in WHILE_AWAY, "PAUSED", f"{kind} while paused")
        if s.to_confirm and not s.paused:
            self.demand(
                kind in WHILE_COMPARING, "RECONFIRM", f"{kind} before {sorted(s.to_confirm)} was compared"
            )
        if s.handover:
            self.demand(
                kind in (*WHILE_AWAY, *CLOCK, "handed_over"),
                "HANDOVER",
                f"{kind} before {s.handover} took over",
            )

    def _take_back(self) -> None:
        """Exactly the latest act is undone; who did it, did it."""
        if self.before is None:
            self.demand(False, "TAKE BACK", "there was nothing that could be taken back")
            return
        performers = self.scene.performers
        self.scene, self.before = self.before, None
        self.scene.performers = performers

    def _end_entry(self) -> None:
        s = self.scene
        away = s.to_confirm or s.handover or s.paused or (s.found and not s.detour)
        self.demand(not self.expect or bool(away), "WAY", f"{self.expect} should have followed")
        owed = [(debt.node, debt.what) for debt in s.owed.values()]
        for node, what in self.must_owe:
            self.demand((node, what) in owed or s.node == node, "OWED", f"{what} of {node} is not owed")
        if self.must_owe_item:
            items = [debt.item for debt in s.owed.values()]
            self.demand(
                self.must_owe_item in items, "OWED", f"{self.must_owe_item} was reopened and is not owed"
            )
        still = [node for node in self.must_lapse if node in s.released]
        self.demand(not still, "LAPSED", f"the hold points of {still} still count")
        if self.judge_cues:
            way_rules.cues_are_right(self)


def _acknowledged(b: Bench, event: Data) -> None:
    s, node = b.scene, b.book.nodes[event["node"]]
    b.demand(event["node"] == s.node, "ORDER", f"{event['node']} is not in hand")
    first = next(
        (i for i, n in enumerate(node["notices"]) if n["level"] != "notice" and i not in s.visit.acked), None
    )
    b.demand(event["notice"] == first, "NOTICE", f"notice {event['notice']} instead of {first}")
    s.visit.acked.add(event["notice"])
    s.acked_ever.add((event["node"], event["notice"]))
    s.visit.begun = True
    s.performers.setdefault(event["node"], set()).add(gate_rules.person(b.who))


def _chosen(b: Bench, event: Data) -> None:
    choice = next(c for c in b.book.procedure["choices"] if c["name"] == event["name"])
    b.demand(event["value"] in choice["values"], "PREPARED", f"{event} is no choice")
    b.scene.choices[event["name"]] = event["value"]


def _moved(b: Bench, event: Data) -> None:
    s = b.scene
    if (
        not b.expect
        and s.visit.late
        and s.node
        and event["kind"] in ("came_to", "stopped_at", "listed", "loop_taken")
    ):
        way_rules.leave_by(
            b, b.book.nodes[s.node]["in_time"]["late"]
        )  # it was too late while nobody was there
    if b.leaves_if_moved and not b.expect:
        b.leaves_if_moved = False
        b.expect = way_rules.path(b, b.scene.at, {"to": b.scene.at})
    way_rules.moved(b, event)


def _refused_hold(b: Bench, event: Data) -> None:
    gate_rules.hold(b, event)
    way_rules.hold_refused(b, event)


def _set(name: str, value: Any) -> Callable[[Bench, Data], None]:
    return lambda b, event: setattr(b.scene, name, value)


def _nothing(b: Bench, event: Data) -> None:
    """No rule of its own."""


def _program_error(b: Bench, event: Data) -> None:
    b.demand(False, "PROOF", f"{event}")
    b.scene.phase = "outside proof"


RULES: dict[str, Callable[[Bench, Data], None]] = {
    "started": end_rules.started,
    "prerequisite_met": end_rules.met,
    "counted_in": end_rules.counted_in,
    "counted_out": end_rules.counted_out,
    "chosen": _chosen,
    "acknowledged": _acknowledged,
    "part_confirmed": gate_rules.part,
    "acted": gate_rules.acted,
    "confirmed": gate_rules.confirmed,
    "tightened": gate_rules.tightened,
    "reading_taken": gate_rules.reading_taken,
    "worked_out": gate_rules.worked,
    "answered": gate_rules.answered,
    "hold_released": gate_rules.hold,
    "hold_refused": _refused_hold,
    "waived": later_rules.waived,
    "deviated": later_rules.deviated,
    "not_applicable": later_rules.not_applicable,
    "order_changed": later_rules.order_changed,
    "condition_set": way_rules.condition_set,
    "step_done": way_rules.step_done,
    "loop_taken": _moved,
    "came_to": _moved,
    "stopped_at": _moved,
    "closing_began": end_rules.closing,
    "listed": _moved,
    "put_off_unplanned": way_rules.put_off,
    "window_opened": way_rules.window,
    "window_closed": way_rules.window,
    "overdue": _nothing,
    "taken_up": way_rules.taken_up,
    "owed_done": _moved,
    "owed_dropped": later_rules.dropped,
    "passed_by": way_rules.passed_by,
    "owed_again": later_rules.owed_again,
    "wait_over": way_rules.wait_over,
    "too_late": way_rules.too_late,
    "time_told": lambda b, event: b.scene.told.add(event["subject"]),
    "corrected": later_rules.corrected,
    "asked_again": later_rules.asked_again,
    "hold_lapsed": later_rules.lapsed,
    "reopened": later_rules.reopened,
    "extra_work_added": later_rules.extra,
    "extra_work_done": later_rules.extra_done,
    "condition_found": way_rules.found,
    "detour_began": way_rules.detour_began,
    "detour_ended": _moved,
    "noted": _nothing,
    "reproved": later_rules.reproved,
    "tool_changed": end_rules.tool_changed,
    "extension_fitted": wrench_rules.extension_fitted,
    "paused": _set("paused", True),
    "resumed": end_rules.resumed,
    "reconfirmed": end_rules.reconfirmed,
    "handover_offered": end_rules.offered,
    "handed_over": end_rules.handed_over,
    "taken_over": end_rules.taken_over,
    "close_out_confirmed": end_rules.closed_out,
    "abandoning": end_rules.abandoning,
    "made_safe": lambda b, event: b.scene.safe.add(event["line"]),
    "sealed": end_rules.sealed,
    "left_proof": _program_error,
    "refused": _nothing,
}


def judge(data: bytes) -> Verdict:
    """Judge a log by its bytes. Raises NoLogError where they are no log at all."""
    first, *rest = lines(data)
    bench = Bench(first.data)
    for line in rest:
        try:
            bench.entry(line)
        except (KeyError, IndexError, StopIteration, TypeError, ValueError, ArithmeticError) as error:
            # The judge trusts nothing: an entry that cannot even be followed is a fault of the log like any other.
            bench.demand(False, "SENSE", f"{line.kind} cannot be: {type(error).__name__} {error}")
            break
    else:
        seal_rules.seal_alone(bench, [first, *rest])
    return Verdict(tuple(bench.faults), bench.outcome, bench.seen)
