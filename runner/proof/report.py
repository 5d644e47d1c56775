"""Breaches in words: one plain sentence, where, the shortest way that shows it, and what would mend it."""

from collections.abc import Mapping, Sequence

from runner.procedure.finding import Finding, Mark, Station
from runner.procedure.linked import Item, Node, Procedure
from runner.proof.deeds import Breach
from runner.proof.rules import RULES

_CLOSES: Mapping[str, str] = {
    "connection": "nobody connects it again",
    "aid": "nobody takes it out",
    "cover": "nobody puts it back",
    "fitted part": "nobody fits it",
    "fluid": "nobody fills it",
    "valve": "nobody shuts it",
    "lock": "nobody takes it off",
}


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
            message=self._message(breach, node, state, more),
            path=self._ended(breach, node, path),
            mend=rule.mend,
            node=breach.node,
            subject=breach.subject,
        )

    def short(self, breach: Breach, state: str) -> str:
        """A breach in one sentence, without its path."""
        return self._message(breach, self._procedure.by_id.get(breach.node), state, "")

    def _mark(self, breach: Breach, node: Node | None, path: Sequence[Station]) -> Mark:
        if node is not None:
            return node.mark
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
        if node is None and path:
            last = self._procedure.by_id[path[-1].node]
            return (*path, Station(last.mark, "end", "", "end", "the last step is done", "end"))
        return tuple(path)

    def _message(self, breach: Breach, node: Node | None, state: str, more: str) -> str:
        subject = breach.subject
        item = self._procedure.item_by_key.get(subject)
        where = step_words(node) if node else ""
        match breach.rule:
            case "never-reached":
                return (
                    f"{where} can never be reached: the answers and conditions before it always lead past it"
                )
            case "no-way-out":
                return f"the end can never be reached{more}"
            case "wrong-condition":
                return f"{where} needs {self._wanted(node, subject)}, and that can be otherwise when it comes"
            case "not-as-needed":
                return (
                    f"{where} needs {_label(item, subject)} {self._wanted_states(node, subject)}{_but(state)}"
                )
            case "forbidden-change":
                value = dict(node.sets).get(subject, "") if node else ""
                return (
                    f"{where} sets {subject} to {value}, which `changes` does not allow from where it can be"
                )
            case "wrong-state":
                return f"{where} {self._verbs(node, subject)} {_label(item, subject)}{_but(state)}"
            case "wrong-moment":
                only = self._only_when(subject)
                return f"{where} gives {_label(item, subject)} a stage that is only done when {only}"
            case "left-open":
                return left_open(item, state) if item else f"{subject} is still open at the end"
            case "missed-window" | "change-too-soon":
                until, due = self._window(node)
                return f"{where} is put off until {until}, before {due}, and {more or 'can be missed'}"
            case "agreement-broken":
                agreed = self._wanted_states(node, subject)
                return f"{where} is agreed with {_label(item, subject)} {agreed}{_but(state)}"
            case "not-yet-entered":
                source = self._procedure.by_id.get(subject)
                read = step_words(source) if source else subject
                return f"{where} works with a reading of {read} that may not be there yet"
            case "hazard-unannounced":
                return f"{where} is done in a hazardous condition before any injury notice was acknowledged"
            case "too-few-parts":
                return f"{more} of {subject} can be used up, and the parts list has fewer"
            case _:
                return f"{RULES[breach.rule].says}{more}"

    def _wanted(self, node: Node | None, name: str) -> str:
        tests = [test for test in node.needs if test.name == name] if node else []
        return f"{name}: {' or '.join(tests[0].values)}" if tests else name

    def _wanted_states(self, node: Node | None, name: str) -> str:
        tests = [test for test in node.needs if test.name == name] if node else []
        return " or ".join(tests[0].values) if tests else ""

    def _verbs(self, node: Node | None, name: str) -> str:
        return " and ".join(dict.fromkeys(act.verb for act in node.acts if act.item == name)) if node else ""

    def _only_when(self, name: str) -> str:
        stages = self._procedure.item_by_key[name].stages
        tests = [test for stage in stages for test in stage.only_when]
        return " and ".join(dict.fromkeys(f"{test.name} is {' or '.join(test.values)}" for test in tests))

    def _window(self, node: Node | None) -> tuple[str, str]:
        put_off = node.put_off if node else None
        return (put_off.until.text, put_off.before.text) if put_off else ("", "")


def step_words(node: Node) -> str:
    """A step as it is called in a sentence: its name, its place."""
    if node.joint is not None:
        return node.joint
    return f'"{node.step}"' + (f" ({node.place})" if node.place else "")


def left_open(item: Item, state: str) -> str:
    """That an item is open at the end, and what nobody does."""
    if item.kind != "fastener":
        return f"{item.label} is still {state or 'open'} at the end: {_CLOSES[item.kind]}"
    many = item.count > 1
    them, verb = ("them", "are") if many else ("it", "is")
    if state.startswith("stage "):
        how = f"at {state} of {len(item.stages)}"
        return f"{item.label} {verb} still {how} at the end: nobody gives {them} the rest"
    return f"{item.label} {verb} still {state or 'open'} at the end: nobody tightens {them}"


def _label(item: Item | None, name: str) -> str:
    return item.label if item else name


def _but(state: str) -> str:
    return f", and it can be {state} then" if state else ""
