"""The engine with one rule of its gate switched off: what the judge and the suite must notice.

A mutant is a function replaced, or a line of it rewritten; wherever the engine holds the function (as an imported
name or in a table of handlers) the changed one takes its place. A line that is not found fails the test, so that
the table here follows the engine.
"""

import inspect
import sys
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from runner.job import (
    aiming,
    asking,
    at_gate,
    beginning_and_end,
    decide,
    deviating,
    evolve,
    gate,
    mending,
    owing,
    preparing,
    putting_off,
    settle,
    tightening,
    tool_acts,
    values,
    windows,
)
from runner.job.folds import parts
from runner.joint import conformity, setting
from runner.toolbox import choosing

Change = Callable[[pytest.MonkeyPatch], None]


@dataclass(frozen=True)
class Mutant:
    """One rule switched off."""

    rule: str
    change: Change
    motif: str = ""
    """The motif of `writing` in which the rule is met most; empty for any."""
    first: int = 0
    """The run to begin with: one that noticed it. Where the engine has moved on, all the others follow."""


def _in_place_of(patch: pytest.MonkeyPatch, old: Any, new: Any) -> None:
    """Put `new` wherever the engine holds `old`."""
    for name, module in list(sys.modules.items()):
        if not name.startswith(("runner.job", "runner.joint")) and name not in (
            "runner.run",
            "runner.replaying",
        ):
            continue
        for key, held in list(vars(module).items()):
            if held is old:
                patch.setattr(module, key, new)
            elif isinstance(held, dict) and not key.startswith("__"):
                for entry, value in held.items():
                    if value is old:
                        patch.setitem(held, entry, new)


def off(module: Any, name: str, answer: Any = None) -> Change:
    """The function always gives the same answer."""
    return lambda patch: _in_place_of(patch, getattr(module, name), lambda *args, **more: answer)


def here(module: Any, name: str, answer: Any = None) -> Change:
    """As `off`, but only as this module sees the function."""
    return lambda patch: patch.setattr(module, name, lambda *args, **more: answer)


def edit(module: Any, name: str, *pairs: tuple[str, str]) -> Change:
    """The function with a piece of its text rewritten."""

    def change(patch: pytest.MonkeyPatch) -> None:
        function = getattr(module, name)
        text = textwrap.dedent(inspect.getsource(function))
        for old, new in pairs:
            assert text.count(old) == 1, f"{name} no longer holds {old!r} once: update the table of mutants"
            text = text.replace(old, new)
        made: dict[str, Any] = {}
        exec(compile(text, f"<{name} changed>", "exec"), vars(module), made)
        _in_place_of(patch, function, made[name])

    return change


def without(module: Any, name: str, *kinds: str) -> Change:
    """A set of names without some."""
    return lambda patch: patch.setattr(module, name, getattr(module, name) - set(kinds))


def _no_limits(word: str) -> Change:
    def change(patch: pytest.MonkeyPatch) -> None:
        function = asking.limits
        _in_place_of(
            patch, function, lambda job: [limit for limit in function(job) if not limit[0].startswith(word)]
        )

    return change


ANY_MEMBER = (
    "if (action.item, action.stage, action.member) != (wanted.subject, wanted.stage, wanted.member):",
    "from dataclasses import replace\n"
    "    wanted = replace(wanted, member=action.member)\n"
    "    if action.item != wanted.subject or action.stage != wanted.stage:",
)

CORE = (
    Mutant("notices are acknowledged first", off(gate, "_notice")),
    Mutant("needs hold", edit(gate, "_need", ("unmet(job, _still_needed(job, node))", "None")), "fastener"),
    Mutant("a condition changes along allowed changes", off(gate, "_sets_allowed"), "gamble", first=3),
    Mutant("a single-use part is asked anew", edit(gate, "_act", ("item.new_every_time", "False")), "fitted"),
    Mutant("a round keeps its order", edit(at_gate, "tighten", ANY_MEMBER), "fastener"),
    Mutant("only when", here(tightening, "unmet"), "lifted", first=16),
    Mutant("a band is kept", off(values, "outside")),
    Mutant(
        "the method shows what is asked",
        edit(at_gate, "tighten", ("action.method not in wanted.methods", "False")),
        "fastener",
    ),
    Mutant(
        "a second reading is another person's",
        edit(at_gate, "read", ('if wanted.kind == "second reading" and', "if False and")),
        first=19,
    ),
    Mutant("a hold point is asked", off(gate, "_hold"), "plain"),
    Mutant(
        "the performer releases no hold point",
        edit(
            at_gate,
            "release",
            ("performed(job, node, action.who) or same_person(action.who, job.performer)", "False"),
        ),
        "plain",
    ),
    Mutant("a wait is waited", off(gate, "_wait"), "plain"),
    Mutant("what is due comes first", off(asking, "_due"), "put_off", first=4),
    Mutant(
        "a last chance insists",
        edit(windows, "_due_at", ("and ready(job, owed))", "and False)")),
        "put_off",
        first=12,
    ),
    Mutant(
        "the answer of the proof is recorded",
        edit(decide, "_asked", ("    draft.add(answered(outlook))\n", "")),
    ),
    Mutant("a put-off waits for its window", off(settle, "_open_now", answer=True), "put_off"),
    Mutant("owed work is taken up in its window", off(windows, "ready", answer=True), "put_off"),
    Mutant(
        "nothing owed at the end", edit(settle, "_settle_once", ("if job.hand or job.owed:", "if job.hand:"))
    ),
    Mutant("every close-out line", edit(asking, "close_out_lines", ("(*tools, *lines)", "tuple(tools)"))),
    Mutant("tools are counted out", edit(asking, "close_out_lines", ("(*tools, *lines)", "tuple(lines)"))),
    Mutant(
        "a critical point needs another's word",
        edit(deviating, "deviate", ("if alone and", "if False and")),
        "readings",
        first=23,
    ),
    Mutant("a time limit", _no_limits("in time"), "plain"),
)
"""The rules of the gate itself."""

MORE = (
    Mutant("readings are taken", off(gate, "_readings")),
    Mutant("a worked-out value is in its band", off(gate, "_worked_out")),
    Mutant("a question is answered", off(gate, "_question")),
    Mutant("acts in the order written", edit(gate, "acts_in_scope", ("tuple(range(len(node.acts)))", "()"))),
    Mutant("a cue stands before the next step", off(asking, "_cue")),
    Mutant("no later than", _no_limits("no later"), "put_off"),
    Mutant(
        "the outcome follows from open points",
        off(asking, "outcomes", answer=("finished", "finished with open points")),
    ),
    Mutant(
        "a deviation has a reason",
        edit(deviating, "deviate", ("if not action.reason.strip():", "if False:")),
        "readings",
    ),
    Mutant("nothing is done while paused", edit(decide, "barred", ("(job.paused, _WHILE", "(False, _WHILE"))),
    Mutant("what differs is compared on resume", off(beginning_and_end, "to_compare", answer=())),
    Mutant(
        "who was named takes over",
        edit(beginning_and_end, "accept_handover", ("not same_person(action.who, job.handover_to)", "False")),
    ),
    Mutant("a way back has a limit", edit(settle, "take", ("draft.job.loops.get(name, 0)", "0")), "question"),
    Mutant("a stop stops", off(settle, "_stops", answer=False), "question"),
    Mutant("prerequisites are met", off(preparing, "still_to_meet", answer=())),
    Mutant(
        "the second person is another one",
        edit(beginning_and_end, "meet_prerequisite", ("if same_person(value, job.performer):", "if False:")),
    ),
    Mutant("every entry names who", edit(decide, "_possible", ("if not action.who.strip():", "if False:"))),
    Mutant(
        "no key from an old screen",
        edit(decide, "_possible", ("if action.seen is not None and", "if False and")),
    ),
    Mutant("nothing follows a seal", edit(decide, "barred", ('if job.phase == "sealed":', "if False:"))),
    Mutant(
        "what was worked on is not inapplicable",
        edit(mending, "_item_not_applicable", ("if touched or any(", "if False and any(")),
    ),
    Mutant(
        "a correction meets the same gate",
        edit(mending, "_correct_reading", ("    if stands:", "    if True:")),
    ),
    Mutant("releases lapse", off(owing, "lapse"), "fastener"),
    Mutant("a release stands", without(evolve, "_ENDS_BEFORE", "hold_released", "hold_refused"), "plain"),
    Mutant(
        "a found condition waits", edit(asking, "_working", ("if job.found and not job.detour:", "if False:"))
    ),
    Mutant("an unplanned put-off has its shape", off(putting_off, "may_put_off"), "question"),
    Mutant(
        "what is due is not passed by",
        edit(
            putting_off,
            "pass_by",
            ('if wanted.kind == "due" and action.key in', "if False and action.key in"),
        ),
        "put_off",
    ),
    Mutant("abandoning makes safe", off(beginning_and_end, "make_safe_lines", answer=())),
    Mutant("a reopened item is owed", off(mending, "owe")),
)
"""What surrounds the gate."""

WRENCHES = (
    Mutant(
        "a setting is on the wrench",
        edit(aiming, "aim_on", ("if not forced:\n", "if False:\n")),
        "fastener",
        first=5,
    ),
    Mutant(
        "an overdue wrench is refused",
        edit(aiming, "against", ("if wrench.overdue(day):", "if False:")),
        "fastener",
    ),
    Mutant(
        "an extension counts in what is recorded",
        edit(aiming, "as_read", ("aimed.wrench, aimed.extension, unit", "aimed.wrench, None, unit")),
        "fastener",
        first=16,
    ),
    Mutant(
        "the nearest mark is set",
        edit(setting, "_nearest_mark", ("below if exact - below <= above - exact else above", "above")),
        "fastener",
    ),
    Mutant("uncertainty counts", off(aiming, "_verdict", answer="in"), "fastener"),
    Mutant(
        "a number is in the unit of the wrench",
        edit(aiming, "as_read", ("parse(raw, aimed.wrench.unit)", "parse(raw, unit)")),
        "fastener",
        first=14,
    ),
)
"""The rules of the wrench in hand."""

MORE_WRENCHES = (
    Mutant(
        "the k of a certificate counts",
        edit(conformity, "expanded_at", ("amount * COVERAGE / coverage", "amount")),
        "fastener",
    ),
    Mutant(
        "an extension carries the uncertainty",
        edit(conformity, "expanded_at", ("extension is not None and stated > 0", "False")),
        "fastener",
    ),
    Mutant(
        "a reading is judged by its own tool",
        edit(at_gate, "_measured_with", ("job.wrenches.get(node.tools[0]) if node.tools else None", "None")),
        "readings",
    ),
    Mutant(
        "a wrench reaches what it is for",
        edit(aiming, "against", ("if asked and not any(", "if False and not any(")),
        "fastener",
    ),
    Mutant(
        "an extension counts in the setting",
        edit(aiming, "aim_on", ("stage.unit, scale, extension)", "stage.unit, scale, None)")),
        "fastener",
    ),
    Mutant(
        "a mark keeps the band",
        edit(choosing, "given_otherwise", ("not stage.band.holds(made.applied)", "False")),
        "fastener",
    ),
    Mutant(
        "a wrench that clicks is not read",
        edit(
            aiming,
            "aim_on",
            ('tuple(m for m in stage.methods if (m == "click") == wrench.sets) or ', ""),
        ),
        "fastener",
    ),
    Mutant(
        "a wrench swapped in has no extension",
        edit(parts, "in_hand", ('.without("extensions", tool)', "")),
        "fastener",
    ),
    Mutant(
        "an extension leaves an arm",
        edit(
            tool_acts,
            "fit_extension",
            ("applied_torque(Decimal(wrench.high), wrench, action.extension)", "pass"),
        ),
        "fastener",
    ),
    Mutant(
        "nothing fit is called unfit",
        edit(deviating, "_unfit_tool", ("if not against(job, tool, wrench, draft.stamp):", "if False:")),
        "fastener",
    ),
    Mutant(
        "an angle is not judged by a torque wrench",
        edit(aiming, "said_of_band", (" or kind_of(wrench.unit) != kind_of(value.unit)", "")),
        "fastener",
    ),
    Mutant(
        "a corrected value is judged anew",
        edit(
            aiming,
            "said_again",
            ("_verdict(value, held.low, held.high, Decimal(held.expanded))", "held.conformity"),
        ),
        "fastener",
    ),
    Mutant(
        "a setting is one in the wrench's unit",
        edit(aiming, "as_set", ('f"{given.set_to:f}", given.unit', 'f"{given.set_to:f}", stage.unit or ""')),
        "fastener",
    ),
)
"""More of them, held by the deep run alone."""
