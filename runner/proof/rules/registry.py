"""The rules in the order of their numbers; the numbers are for ever, for logs of code hosts quote them.

A run can break those with `at_run` set; they are what the brute force of the tests compares, one by one.
"""

from collections.abc import Mapping
from types import MappingProxyType

from runner.frozen import Frozen
from runner.procedure.finding import Grade


class Rule(Frozen):
    """One rule: `says` is what it demands in one sentence, `mend` what usually mends a breach of it.

    `grade` is that of a breach; where it hangs on how grave the breach is, the gravest, and `lesser` are the others.
    """

    name: str
    number: str
    grade: Grade
    says: str
    mend: str
    at_run: bool = False
    lesser: tuple[Grade, ...] = ()

    @property
    def grades(self) -> str:
        """Every grade that a finding of it may have, the gravest first: `error, warning or advice`."""
        *first, last = (self.grade, *self.lesser)
        return f"{', '.join(first)} or {last}" if first else last

    @property
    def at_worst(self) -> str:
        """The same in two words at most: `error`, or `up to error` where it may be less."""
        return f"up to {self.grade}" if self.lesser else self.grade


_ALL = (
    Rule(
        "never-reached",
        "P1",
        "error",
        "Every step can be reached.",
        "take the step out, or change the `only if` or the answer that keeps everybody away from it",
        at_run=True,
    ),
    Rule(
        "no-way-out",
        "P2",
        "error",
        "The end can be reached from the start, whatever it starts from, and every way leads to the end "
        "or to a stop.",
        "let at least one answer of the steps named lead on",
        at_run=True,
    ),
    Rule(
        "wrong-condition",
        "P3",
        "error",
        "The conditions that a step needs hold on every way to it.",
        "set the condition before the step, or move the step",
        at_run=True,
    ),
    Rule(
        "not-as-needed",
        "P4",
        "error",
        "The items that a step needs are as it needs them on every way to it.",
        "bring the item there before the step, on every way",
        at_run=True,
    ),
    Rule(
        "forbidden-change",
        "P5",
        "error",
        "Conditions change only as `changes` allows.",
        "add the change, or the step that lies between",
        at_run=True,
    ),
    Rule(
        "wrong-state",
        "P6",
        "error",
        "Nothing is opened, started, tightened or closed that is not in the state for it.",
        "put the missing act before it, or take the second one out",
        at_run=True,
    ),
    Rule(
        "wrong-moment",
        "P7",
        "error",
        "A stage with `only when` is done only where that holds.",
        "put the step off until the condition holds, or move it",
        at_run=True,
    ),
    Rule(
        "left-open",
        "P8",
        "error",
        "Every item that was opened is closed on every way to the end.",
        "add the act that closes it on the way shown",
        at_run=True,
    ),
    Rule(
        "missed-window",
        "P9",
        "error",
        "What is put off can be done before it is due, on every way on which it was put off.",
        "let the condition or step it waits for come first on the way shown, or make it due later",
        at_run=True,
    ),
    Rule(
        "change-too-soon",
        "P10",
        "error",
        "No step changes a condition while something that comes before that change cannot be done yet.",
        "do what the put-off step waits for before the change",
        at_run=True,
    ),
    Rule(
        "agreement-broken",
        "P11",
        "error",
        "A used file is entered and left as it says it is.",
        "let the caller bring it about before, or change `takes over`, `leaves open` or `ends with`",
        at_run=True,
    ),
    Rule(
        "not-yet-entered",
        "P12",
        "error",
        "A worked-out value uses only what has surely been entered by then.",
        "read the value on every way, or work it out where it was read",
        at_run=True,
    ),
    Rule(
        "hazard-unannounced",
        "P13",
        "error",
        "An injury notice is acknowledged at or before the first step in a hazardous condition.",
        "put a danger, warning or caution on the step that brings the condition about",
        at_run=True,
    ),
    Rule(
        "too-few-parts",
        "P14",
        "error",
        "The parts list has as many single-use parts as any way uses up.",
        "raise `quantity`, or close what is reopened without a new part",
        at_run=True,
    ),
    Rule(
        "waits-for-put-off",
        "P15",
        "error",
        "Nothing counts from, or is due before, a step that may itself be put off, where that cannot be "
        "decided.",
        "name a step that is done on the way",
    ),
    Rule(
        "latest-too-early",
        "P16",
        "error",
        "The latest time of a put-off step lies after its window opens.",
        "make `no later than` longer, or wait for less",
    ),
    Rule(
        "band-never",
        "P17",
        "error",
        "Every band of a sorted reading can be met, and together they take every value.",
        "put the narrower band first",
    ),
    Rule(
        "tool-range",
        "P18",
        "error",
        "The tool of a step covers every torque and angle it is to be set to.",
        "name a tool that covers it, or correct the range",
    ),
    Rule(
        "one-answer",
        "P19",
        "warning",
        "A question has at least two answers.",
        "add the other answer, and where it leads",
    ),
    Rule(
        "no-tool",
        "P20",
        "warning",
        "A step that tightens to a value names a tool for it.",
        "add the tool under `tools`, with what it covers",
    ),
    Rule(
        "second-person",
        "P21",
        "warning",
        "Hold points and blind readings have somebody besides the performer.",
        "add the person under `people`",
    ),
    Rule(
        "unused",
        "P22",
        "warning",
        "What is declared is used.",
        "take it out, or use it",
    ),
    Rule(
        "way-back-broken",
        "P23",
        "warning",
        "The way back to a condition can be walked from every value that may be found.",
        "add the change or the step that lies between",
    ),
    Rule(
        "never-put-off",
        "P24",
        "advice",
        "A step with `put off` is really put off on some way.",
        "take `put off` out",
    ),
    Rule(
        "part-unlisted",
        "P25",
        "advice",
        "Single-use parts are in the parts list.",
        "add it under `parts` and name it with `part:`",
    ),
    Rule(
        "not-proved",
        "P26",
        "error",
        "Every question of the proof is decided within its budget.",
        "split the procedure, or ask fewer questions whose answers are used much later",
    ),
    Rule(
        "past-proof-load",
        "P27",
        "error",
        "No torque takes a fastener past its proof load.",
        "check the torque, its unit, the thread and the class against the maker's information",
        lesser=("warning", "advice"),
    ),
    Rule(
        "hardly-tight",
        "P28",
        "warning",
        "The last torque of a fastener gives it at least a fifth of its proof load.",
        "check the torque, its unit, the thread and the class against the maker's information",
    ),
    Rule(
        "dry-torque",
        "P29",
        "warning",
        "A torque is given for the surface that is tightened.",
        "take the maker's torque for that surface, or state the friction of the joint",
        lesser=("advice",),
    ),
    Rule(
        "angle-past-yield",
        "P30",
        "warning",
        "A fastener that an angle takes past its proof load is used once.",
        "write `new: every time`, or check torque, angle, grip and class against the maker's information",
        lesser=("advice",),
    ),
)

RULES: Mapping[str, Rule] = MappingProxyType({rule.name: rule for rule in _ALL})
"""Every rule of the proof by its name."""


def rule_named(word: str) -> Rule | None:
    """The rule with that name or number, in whatever case."""
    folded = word.strip().casefold()
    return next((rule for rule in _ALL if folded in (rule.name, rule.number.casefold())), None)
