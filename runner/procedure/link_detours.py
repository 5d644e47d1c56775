"""Detours: how to get a condition back to a recorded value, by a step of the procedure or by a file."""

from dataclasses import dataclass, field

from runner.procedure import source
from runner.procedure.link_calls import Unfolding, own_name
from runner.procedure.link_frame import Draft, Frame, Listed, Unit
from runner.procedure.link_tests import known_values
from runner.procedure.linked import BACK, DETOUR


@dataclass
class Detours:
    """The detours of a procedure: their nodes, and the first node by condition and value."""

    drafts: list[Draft] = field(default_factory=list)
    heads: dict[str, list[tuple[str, str]]] = field(default_factory=dict)


def detours(unit: Unit, unfolding: Unfolding) -> Detours:
    """Unfold every `getting there` of the main file; each ends by going back to the main line."""
    made = Detours()
    for condition in unit.written.conditions:
        for value, target in condition.getting_there:
            if value.text not in known_values(condition):
                continue  # reported where the condition is checked
            tag = f"{DETOUR}{condition.name.text}={value.text}/"
            frame = Frame(unit, prefix=tag, detour=tag)
            # A step's name has no point in it, a file's has.
            unfold = _by_file if "." in target.text else _by_step
            found = unfold(condition.name.text, value.text, target, frame, unfolding)
            if found is not None:
                head, drafts = found
                made.drafts += drafts
                made.heads.setdefault(condition.name.text, []).append((value.text, head))
    return made


def _by_file(
    condition: str, value: str, target: source.Name, frame: Frame, unfolding: Unfolding
) -> tuple[str, list[Draft]] | None:
    written = unfolding.open(target, frame.unit)
    if written is None:
        return None
    ends = {name.text: end.text for name, end in written.contract.ends_with} if written.contract else {}
    if ends.get(condition) != value:
        message = f"{target.text} does not say that it ends with {condition}: {value}"
        expected = f"ends with: {{{condition}: {value}}} in that file"
        unfolding.report.at(target, "detour", message, expected=expected)
        return None
    call = source.Call(mark=target.mark, path=target)
    return unfolding.unfold((written, own_name(written.procedure.text, set())), frame, BACK, call)


def _by_step(
    condition: str, value: str, target: source.Name, frame: Frame, unfolding: Unfolding
) -> tuple[str, list[Draft]] | None:
    report = unfolding.report
    declared = frame.unit.outline.steps.get(target.text)
    if declared is None:
        report.unknown(target, "unknown-step", "step", frame.unit.outline.steps)
        return None
    if declared.repeats:
        message = f'"{target.text}" is inside a repeat; a detour is a step that is done at no location'
        report.at(target, "detour", message)
        return None
    if (condition, value) not in [(name.text, to.text) for name, to in declared.step.sets]:
        message = f'"{target.text}" does not set {condition} to {value}'
        report.at(target, "detour", message, expected=f"a step with sets: {{{condition}: {value}}}")
        return None
    return unfolding.weaver.entry(declared.step, frame.at(Listed((declared.step,)), 0), BACK)
