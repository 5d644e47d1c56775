"""Breaches in words: one plain sentence, where, the shortest way that shows it, and what would mend it."""

from collections.abc import Mapping, Sequence

from runner.job.items import Fault, table
from runner.job.way import operations, stages_meant
from runner.procedure.finding import Finding, Mark, Station
from runner.procedure.linked import Item, Node, Procedure
from runner.proof.deeds import Breach
from runner.proof.rules import RULES

_CLOSES: Mapping[str, tuple[str, str]] = {
    "connection": ("connects", "connects it again"),
    "aid": ("takes out", "takes it out"),
    "cover": ("puts back", "puts it back"),
    "fitted part": ("fits", "fits it"),
    "fluid": ("fills", "fills it"),
    "valve": ("shuts", "shuts it"),
    "lock": ("takes off", "takes it off"),
}
"""The verb that closes an item of a kind, and the same in a sentence."""


class Words:
    """Says what is broken in the words of one procedure."""

    def __init__(self, procedure: Procedure) -> None:
        self._procedure = procedure
        self.first = procedure.first if procedure.first in procedure.by_id else ""

    def finding(self, breach: Breach, path: Sequence[Station], *, state: str = "", more: str = "") -> Finding:
        """The finding for a breach. `state` is how the item stands where it shows; `more` completes the sentence."""
        rule = RULES[breach.rule]
        node = self._procedure.by_id.get(breach.node)
        mark = self._mark(breach, node, path)
        return Finding(
            file=mark.file,
            line=mark.line,
            column=mark.column,
            grade=rule.grade,
            rule=rule.name,
            message=self._message(breach, node, state, more, path),
            path=self._ended(breach, node, path),
            mend=self._mend(breach, node, state, path) or rule.mend,
            node=breach.node,
            subject=breach.subject,
        )

    def short(self, breach: Breach, state: str) -> str:
        """A breach in one sentence, without its path."""
        return self._message(breach, self._procedure.by_id.get(breach.node), state, "", ())

    def _mark(self, breach: Breach, node: Node | None, path: Sequence[Station]) -> Mark:
        if node is not None:
            return node.mark
        if breach.rule == "too-few-parts" and path:
            return path[-1].mark
        about = [stop for stop in path if breach.subject and self._acts_on(stop, breach.subject)]
        if about:
            return about[-1].mark
        nodes = self._procedure.nodes
        opened = [n for n in nodes if any(act.item == breach.subject for act in n.acts)]
        return opened[-1].mark if opened else nodes[0].mark

    def _acts_on(self, stop: Station, item: str) -> bool:
        node = self._procedure.by_id.get(stop.node)
        return node is not None and any(act.item == item for act in node.acts)

    def _ended(self, breach: Breach, node: Node | None, path: Sequence[Station]) -> tuple[Station, ...]:
        """The path with its end said: a path to the end of the job ends with that."""
        if not path and node is None:
            return ()
        if breach.rule == "left-open" and path:
            last = self._procedure.by_id[path[-1].node]
            return (*path, Station(last.mark, "end", "", "end", "the last step is done", "end"))
        return tuple(path)

    def _message(
        self, breach: Breach, node: Node | None, state: str, more: str, path: Sequence[Station]
    ) -> str:
        subject = breach.subject
        item = self._procedure.item_by_key.get(subject)
        where = step_words(node) if node else ""
        match breach.rule:
            case "never-reached" if node is not None and node.put_off is not None:
                return f"{where} can never be done: it is put off every time, and what it waits for never comes in time"
            case "never-reached":
                return (
                    f"{where} can never be reached: the answers and conditions before it always lead past it"
                )
            case "no-way-out":
                return f"the end can never be reached{more}"
            case "wrong-condition":
                return f"{where} needs {self._wanted(node, subject)}, but that can be otherwise when it comes"
            case "not-as-needed":
                return f"{where} needs {_label(item, subject)} {self._wanted_states(node, subject)}{_but(item, state)}"
            case "forbidden-change":
                value = dict(node.sets).get(subject, "") if node else ""
                return (
                    f"{where} sets {subject} to {value}, which `changes` does not allow from where it can be"
                )
            case "wrong-state":
                return f"{where} {self._wrong_act(node, item, subject, state)}"
            case "wrong-moment":
                only = self._only_when(node, subject)
                stage = f"{where} gives {_label(item, subject)} a stage that is only done when {only}"
                return f"{stage}, but that can be otherwise then"
            case "left-open":
                if item is None:
                    return f"{subject} is still open at the end"
                waited = self._never_taken_up(subject, path)
                why = (
                    f"{step_words(waited)} is put off, and what it waits for does not come" if waited else ""
                )
                return left_open(item, state, why)
            case "missed-window" | "change-too-soon":
                until, due = self._window(node)
                return (
                    f"{where} waits until {until} and is due before {due}, but {more or 'that can be missed'}"
                )
            case "agreement-broken":
                return self._agreement(node, item, subject, state)
            case "not-yet-entered":
                source = self._procedure.by_id.get(subject)
                read = step_words(source) if source else subject
                return f"{where} works with what {read} reads, but that may not be read by then"
            case "hazard-unannounced":
                return f"{where} is done in a hazardous condition before any injury notice was acknowledged"
            case "too-few-parts":
                listed = next((p.quantity for p in self._procedure.parts if p.name == subject), 0)
                return f"up to {more} of {subject} are used up, but the parts list has {listed}"
            case _:
                return f"{RULES[breach.rule].says}{more}"

    def _mend(self, breach: Breach, node: Node | None, state: str, path: Sequence[Station]) -> str:
        """What would mend it, where more can be said than the rule says."""
        item = self._procedure.item_by_key.get(breach.subject)
        match breach.rule:
            case "left-open" if item is not None:
                waited = self._never_taken_up(breach.subject, path)
                if waited is not None:
                    return f"let what {step_words(waited)} waits for come on the way shown, before it is due"
                parted = any("answer" in stop.move for stop in path)
                where = "on the way shown, or before the ways part" if parted else "before the end"
                return f"add {_closing(item, state)} {where}"
            case "never-reached" if node is not None and node.put_off is not None:
                return "let what it waits for come after it on some way, before it is due"
            case "agreement-broken" if _is_end(node):
                return "bring it there in the used file, or say in its `leaves open` or `ends with` how it is left"
            case "agreement-broken":
                return "bring it there before the file is used, or change what the file takes over or starts from"
            case _:
                return ""

    def _never_taken_up(self, item: str, path: Sequence[Station]) -> Node | None:
        """The put-off step on an item that the path lists and never takes up."""
        waiting = [stop.node for stop in path if stop.move == "listed" and self._acts_on(stop, item)]
        taken = {stop.move.removeprefix("take up ") for stop in path}
        return next((self._procedure.by_id[name] for name in waiting if name not in taken), None)

    def _agreement(self, node: Node | None, item: Item | None, name: str, state: str) -> str:
        file, end = file_of(node) if node else "", _is_end(node)
        when = "it ends" if end else "it begins"
        if item is None:
            says = "ends with" if end else "starts from"
            return f"{file} {says} {self._wanted(node, name)}, but that can be otherwise when {when}"
        agreed = f"{_label(item, name)} {self._wanted_states(node, name)}"
        says = "is to leave" if end else "takes over"
        return f"{file} {says} {agreed}, but {_they(item)} can be {state or 'otherwise'} when {when}"

    def _wrong_act(self, node: Node | None, item: Item | None, name: str, state: str) -> str:
        """The act that meets the item in the wrong state: what stands before it on the same item is done first."""
        acts = [act for act in node.acts if act.item == name] if node else []
        stages = len(item.stages) if item else 0
        now = state
        for act in acts if item and state else ():
            for operation in operations(act, stages, now):
                move = table(item.kind, stages).move(now, operation) if item else now
                if isinstance(move, Fault):
                    return f"{act.verb} {_label(item, name)}{_but(item, now)}"
                now = move
        verbs = " and ".join(dict.fromkeys(act.verb for act in acts))
        return f"{verbs} {_label(item, name)}, but {_they(item)} can be in the wrong state for it then"

    def _wanted(self, node: Node | None, name: str) -> str:
        tests = [test for test in node.needs if test.name == name] if node else []
        return f"{name}: {' or '.join(tests[0].values)}" if tests else name

    def _wanted_states(self, node: Node | None, name: str) -> str:
        tests = [test for test in node.needs if test.name == name] if node else []
        return " or ".join(tests[0].values) if tests else ""

    def _only_when(self, node: Node | None, name: str) -> str:
        """What the stages that a step does are only done in; of re-tightening, what any stage is."""
        stages = self._procedure.item_by_key[name].stages
        meant = {
            number
            for act in (node.acts if node else ())
            if act.item == name and act.verb == "tightens"
            for number in stages_meant(act, len(stages))
        } or set(range(1, len(stages) + 1))
        tests = [test for number in sorted(meant) for test in stages[number - 1].only_when]
        return " and ".join(dict.fromkeys(f"{test.name} is {' or '.join(test.values)}" for test in tests))

    def _window(self, node: Node | None) -> tuple[str, str]:
        put_off = node.put_off if node else None
        if put_off is None:
            return "", ""
        until = put_off.until
        return f"the work stands {until.text}" if until.kind == "at" else until.text, put_off.before.text


def step_words(node: Node) -> str:
    """A step as it is called in a sentence: its name, its place."""
    if node.joint is not None:
        return node.joint
    return f'"{node.step}"' + (f" ({node.place})" if node.place else "")


def file_of(joint: Node) -> str:
    """The name of the used file of which a joint is the beginning or the end."""
    return (joint.joint or "").removeprefix("end of ").partition(":")[0]


def left_open(item: Item, state: str, why: str = "") -> str:
    """That an item is open at the end, and `why`, or what nobody does."""
    them, verb = ("them", "are") if item.count > 1 else ("it", "is")
    how = state or "open"
    if item.kind != "fastener":
        does = _CLOSES[item.kind][1]
    elif state.startswith("stage "):
        how, does = f"at {state} of {len(item.stages)}", f"gives {them} the rest"
    else:
        does = f"tightens {them}"
    return f"{item.label} {verb} still {how} at the end: {why or f'nobody {does}'}"


def _closing(item: Item, state: str) -> str:
    """The step that closes an item from a state, in the words of a procedure."""
    them = "them" if item.count > 1 else "it"
    if item.kind != "fastener":
        return f"a step with `{_CLOSES[item.kind][0]}` for {them}"
    if state in ("loosened", "out"):
        return f"steps with `starts` and `tightens` for {them}"
    return f"a step with `tightens` for {them}"


def _is_end(joint: Node | None) -> bool:
    return joint is not None and (joint.joint or "").startswith("end of ")


def _label(item: Item | None, name: str) -> str:
    return item.label if item else name


def _they(item: Item | None) -> str:
    return "they" if item is not None and item.count > 1 else "it"


def _but(item: Item | None, state: str) -> str:
    return f", but {_they(item)} can be {state} then" if state else ""
