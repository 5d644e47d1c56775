"""The commands of line mode, one row each: its words, how it is written, what it does.

Help is printed from this table, and nothing can be typed that is not in it.
"""

import difflib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, cast

from runner.job import actions as a
from runner.job.decide import ASKS_THE_PROOF
from runner.job.demand import Option
from runner.plain import wrenches
from runner.plain.deviating import deviate, owed_options
from runner.plain.grammar import folded, halves, picked
from runner.plain.replies import BeNamed, Complaint, Leave, May, Moment, Reply, Show, WaitHere
from runner.view import View


@dataclass(frozen=True, slots=True)
class Row:
    """One command. `make` gets the words after the command and the moment."""

    words: str
    usage: str
    about: str
    make: Callable[[str, Moment], Reply]


def command(text: str, moment: Moment) -> Reply:
    """Return what a line after its colon means."""
    wanted = text.split()
    for row in _BY_LENGTH:
        words = row.words.split()
        if [word.casefold() for word in wanted[: len(words)]] == words:
            rest = text.split(maxsplit=len(words))
            return row.make(rest[len(words)] if len(rest) > len(words) else "", moment)
    alike = difflib.get_close_matches(text[:40].casefold(), [row.words for row in ROWS], n=1, cutoff=0.5)
    near = f" Nearest: :{alike[0]}." if alike else ""
    return Complaint(f"There is no command :{text[:40]}.{near} :help lists them.")


def _usage(words: str) -> Complaint:
    row = next(row for row in ROWS if row.words == words)
    return Complaint(f"Write it so: {row.usage}")


def _show(topic: str) -> Callable[[str, Moment], Reply]:
    return lambda rest, moment: Show(topic)


def _note(rest: str, moment: Moment) -> Reply:
    return a.Note(text=rest, **moment.base()) if rest else _usage("note")


def _put_off(rest: str, moment: Moment) -> Reply:
    return a.PutOff(reason=rest, **moment.base()) if rest else _usage("put off")


ASKED = "asked before it was done"
"""Stands for the reason where the proof is only asked; it is never recorded."""


def _may(rest: str, moment: Moment) -> Reply:
    """Ask the proof about a command instead of giving it; a put-off is asked about without its reason, too."""
    words = folded(rest.removeprefix(":"))
    meant = (
        a.PutOff(reason=ASKED, **moment.base())
        if words == "put off"
        else command(rest.removeprefix(":"), moment)
    )
    if isinstance(meant, ASKS_THE_PROOF):
        return May(meant)
    if isinstance(meant, Complaint) and words:
        return meant
    names = "put off, deviate, not applicable, correct or reopen"
    return Complaint(f"{_usage('may').text}\nCOMMAND is one of: {names}, with its words.")


def item_options(view: View) -> list[Option]:
    """Return the items as things to pick from, in the order that `:items` numbers them."""
    return [Option(item.key, item.label) for item in view.items]


def _take_up(rest: str, moment: Moment) -> Reply:
    option = picked(rest, owed_options(moment.view)) if rest else _first(moment)
    if option is None:
        return Complaint("Nothing owed has that name or number. :owed lists what is owed.")
    return a.TakeUp(key=option.key, **moment.base())


def _first(moment: Moment) -> Option | None:
    demand = moment.view.demand
    if demand.kind in ("cue", "due") and demand.options:
        return demand.options[0]
    return next((Option(owed.key, owed.what) for owed in moment.view.owed if owed.ready), None)


def _pass_by(rest: str, moment: Moment) -> Reply:
    which, reason = halves(rest, ":")
    option = picked(which, owed_options(moment.view)) if which else None
    if option is None:
        # `:pass by REASON` passes by the cue in hand.
        option, reason = _first(moment), rest
    if option is None:
        return Complaint("No cue stands here. :owed lists what is owed.")
    return a.PassBy(key=option.key, reason=reason, **moment.base())


def _deviate(rest: str, moment: Moment) -> Reply:
    return deviate(rest, moment, _usage("deviate"))


def _not_applicable(rest: str, moment: Moment) -> Reply:
    which, reason = halves(rest, ":")
    item = picked(which, item_options(moment.view)) if reason else None
    if item is not None:
        return a.NotApplicable(subject=item.key, reason=reason, **moment.base())
    return a.NotApplicable(subject="", reason=rest, **moment.base()) if rest else _usage("not applicable")


def _correct(rest: str, moment: Moment) -> Reply:
    which, words = halves(rest, "=")
    raw, reason = halves(words, ":")
    options = [Option(key, text) for key, text in moment.view.recorded]
    option = picked(which, options)
    if option is None:
        return Complaint("No entry has that key or number. :recorded lists what may be corrected.")
    if not raw or not reason:
        return _usage("correct")
    return a.Correct(key=option.key, raw=raw, reason=reason, **moment.base())


def _reopen(rest: str, moment: Moment) -> Reply:
    which, words = halves(rest, ":")
    state, reason = halves(words, ":")
    item = picked(which, item_options(moment.view))
    if item is None:
        return Complaint("No item has that name or number. :items lists them.")
    if not state or not reason:
        return _usage("reopen")
    return a.Reopen(item=item.key, state=folded(state), reason=reason, **moment.base())


def _extra(rest: str, moment: Moment) -> Reply:
    return a.ExtraWork(text=rest, **moment.base()) if rest else _usage("extra")


def _extra_done(rest: str, moment: Moment) -> Reply:
    which, said = halves(rest, ":")
    option = picked(which, owed_options(moment.view))
    if option is None:
        return Complaint("No extra work has that name or number. :owed lists what is owed.")
    return a.ExtraWorkDone(key=option.key, said=said, **moment.base())


def _found(rest: str, moment: Moment) -> Reply:
    name, value = halves(rest, "=")
    known = picked(name, [Option(line.name, line.name) for line in moment.view.conditions])
    if not value or known is None:
        names = ", ".join(line.name for line in moment.view.conditions)
        return Complaint(f"{_usage('found').text}\nConditions: {names or 'none'}.")
    return a.FoundCondition(name=known.key, value=value, **moment.base())


def _tool(rest: str, moment: Moment) -> Reply:
    reply = wrenches.change_tool(rest, moment)
    if reply is not None:
        return reply
    names = ", ".join(tool for tool, _ in moment.view.tools)
    return Complaint(f"{_usage('tool').text}\nTools: {names or 'none'}.")


def _fit_extension(rest: str, moment: Moment) -> Reply:
    return wrenches.fit_extension(rest, moment) or _usage("fit extension")


def _count_in(rest: str, moment: Moment) -> Reply:
    offer = wrenches.dotted(rest, moment.view)
    if offer is not None:
        return offer if isinstance(offer, Complaint) else wrenches.count_in_offer(offer, moment)
    name, identity = halves(rest, "=")
    key = _tool_key(name, moment)
    return wrenches.count_in(key, identity, moment) if key else _usage("count in")


def _count_out(rest: str, moment: Moment) -> Reply:
    key = _tool_key(rest, moment)
    return a.CountOut(tool=key, **moment.base()) if key else _usage("count out")


def _tool_key(text: str, moment: Moment) -> str:
    """Return the tool meant: one of those asked for by number or words, else as typed."""
    options = [option for option in moment.view.demand.options if option.key.startswith("tool:")]
    option = picked(text, options)
    return option.key.removeprefix("tool:") if option is not None else text.strip()


def _ready(rest: str, moment: Moment) -> Reply:
    which, value = halves(rest, "=")
    options = [option for option in moment.view.demand.options if not option.key.startswith("tool:")]
    option = picked(which, options)
    if option is None:
        return _usage("ready")
    return a.MeetPrerequisite(key=option.key, value=value, **moment.base())


def _hand_over(rest: str, moment: Moment) -> Reply:
    to, note = halves(rest, ":")
    return a.HandOver(to=to, note=note, **moment.base()) if to else _usage("hand over")


def _accept(rest: str, moment: Moment) -> Reply:
    base = moment.base() if moment.by_name else {**moment.base(), "who": rest}
    return a.AcceptHandover(**base) if base["who"] else _usage("accept")


def _take_over(rest: str, moment: Moment) -> Reply:
    name, reason = ("", rest) if moment.by_name else halves(rest, ":")
    if not reason or not (name or moment.by_name):
        return _usage("take over")
    return a.TakeOverAlone(reason=reason, **{**moment.base(), "who": name or moment.who})


def _hold(released: bool) -> Callable[[str, Moment], Reply]:
    def make(rest: str, moment: Moment) -> Reply:
        return a.Release(released=released, said=rest, **moment.base())

    return make


def _look(rest: str, moment: Moment) -> Reply:
    return a.Look(label=rest, **moment.base()) if rest else _usage("look")


def _answer(rest: str, moment: Moment) -> Reply:
    return a.Answer(label=rest, **moment.base()) if rest else _usage("answer")


def _read(rest: str, moment: Moment) -> Reply:
    name, raw = halves(rest, "=")
    return a.Read(name=name, raw=raw, **moment.base()) if name and raw else _usage("read")


def _time(rest: str, moment: Moment) -> Reply:
    says = folded(rest)
    if says not in ("passed", "not yet"):
        return _usage("time")
    return a.LetTimePass(says=cast("Literal['passed', 'not yet']", says), **moment.base())


def _confirm(as_recorded: bool) -> Callable[[str, Moment], Reply]:
    def make(rest: str, moment: Moment) -> Reply:
        options = moment.view.demand.options
        option = picked(rest, options) if rest else next(iter(options), None)
        if moment.view.demand.kind != "reconfirm" or option is None:
            return Complaint("Nothing is to be compared with the record now.")
        return a.Reconfirm(key=option.key, as_recorded=as_recorded, **moment.base())

    return make


def _make_safe(rest: str, moment: Moment) -> Reply:
    option = picked(rest, moment.view.demand.options)
    if option is None or not option.key.startswith("line:"):
        return _usage("make safe")
    return a.MakeSafe(line=int(option.key.removeprefix("line:")), **moment.base())


def _seal(rest: str, moment: Moment) -> Reply:
    options = moment.view.demand.options
    option = picked(rest, options) if rest else (options[0] if len(options) == 1 else None)
    if moment.view.demand.kind != "seal" or option is None:
        return Complaint(
            "There is nothing to seal yet: the run ends with its close-out. :abandon REASON ends it now."
        )
    return a.Seal(outcome=cast("a.Outcome", option.key), **moment.base())


def _abandon(rest: str, moment: Moment) -> Reply:
    return a.Seal(outcome="abandoned", reason=rest, **moment.base()) if rest else _usage("abandon")


ROWS = (
    Row("help", ":help", "this list", _show("help")),
    Row("why", ":why, or ?", "why the gate is shut, what would open it, what else may be done", _show("why")),
    Row("again", ":again", "say the present step once more", _show("step")),
    Row("status", ":status", "everything: who, conditions, step, owed, open items", _show("status")),
    Row("back", ":back", "the steps behind, newest first; changes nothing", _show("back")),
    Row("ahead", ":ahead", "the steps ahead; changes nothing", _show("ahead")),
    Row("owed", ":owed", "put-off work, with numbers", _show("owed")),
    Row("items", ":items", "the items and their states, with numbers", _show("items")),
    Row("tools", ":tools", "the tools counted in, and what the shop has instead", _show("tools")),
    Row("points", ":points", "the open points so far", _show("points")),
    Row("recorded", ":recorded", "the entries that may be corrected, with numbers", _show("recorded")),
    Row("note", ":note TEXT", "a remark for the log", _note),
    Row("take up", ":take up [NUMBER]", "take up put-off work", _take_up),
    Row("pass by", ":pass by [NUMBER:] [REASON]", "pass a cue by for now", _pass_by),
    Row("put off", ":put off REASON", "put the present step off outside the plan", _put_off),
    Row(
        "may",
        ":may put off, or :may COMMAND WORDS",
        "ask what the proof answers to a command, and until where; nothing is recorded",
        _may,
    ),
    Row(
        "deviate",
        ":deviate KIND: REASON [; by NAME] [; = VALUE] [; about WHAT]",
        "depart from the procedure, on somebody's authority; unfit tool: about TOOL = NAME",
        _deviate,
    ),
    Row(
        "not applicable",
        ":not applicable [ITEM:] REASON",
        "this work piece does not have the item, or the present step",
        _not_applicable,
    ),
    Row("correct", ":correct NUMBER = VALUE: REASON", "a later value for an earlier one", _correct),
    Row(
        "take back",
        ":take back [REASON]",
        "the latest act was confirmed too soon",
        lambda rest, moment: a.TakeBack(reason=rest, **moment.base()),
    ),
    Row("reopen", ":reopen ITEM: STATE: REASON", "an item is open again", _reopen),
    Row("extra done", ":extra done NUMBER[: WHAT WAS DONE]", "extra work is closed again", _extra_done),
    Row("extra", ":extra TEXT", "something is open that the procedure does not name", _extra),
    Row("found", ":found CONDITION = VALUE", "a condition differs from the record", _found),
    Row(
        "tool",
        ":tool NAME = IDENTITY: REASON, or :tool 1.2: REASON",
        "from here on another tool; :tools numbers what the shop has",
        _tool,
    ),
    Row(
        "fit extension",
        ":fit extension LENGTH [at ANGLE] [on TOOL]",
        "an extension or crowfoot is on the wrench; 0° is straight on",
        _fit_extension,
    ),
    Row(
        "take off extension",
        ":take off extension [on TOOL]",
        "the extension is off again",
        wrenches.take_off_extension,
    ),
    Row(
        "count in",
        ":count in TOOL [= IDENTITY], or :count in 1.2",
        "a tool lies ready, or the second of the shop for line 1",
        _count_in,
    ),
    Row("count out", ":count out TOOL", "a tool is back", _count_out),
    Row("ready", ":ready NUMBER [= VALUE]", "a prerequisite is there", _ready),
    Row("look", ":look WHAT WAS SEEN", "look again at a stop", _look),
    Row("answer", ":answer LABEL", "answer again at a stop", _answer),
    Row("read", ":read NAME = VALUE", "take a reading again at a stop", _read),
    Row("release", "as NAME: :release [WORDS]", "release a hold point", _hold(released=True)),
    Row("refuse", "as NAME: :refuse [WORDS]", "refuse a hold point", _hold(released=False)),
    Row("time", ":time passed, or :time not yet", "your word where the clocks disagree", _time),
    Row("wait", ":wait", "stay here until the wait is over", lambda rest, moment: WaitHere()),
    Row(
        "as recorded",
        ":as recorded [NUMBER]",
        "after a resume: it is as recorded",
        _confirm(as_recorded=True),
    ),
    Row("differs", ":differs [NUMBER]", "after a resume: it is not as recorded", _confirm(as_recorded=False)),
    Row(
        "resume",
        ":resume",
        "come back after a pause",
        lambda rest, moment: a.Resume(**moment.base()),
    ),
    Row("make safe", ":make safe NUMBER", "a make-safe line is done", _make_safe),
    Row("hand over", ":hand over NAME[: NOTE]", "somebody else goes on", _hand_over),
    Row("accept", ":accept NAME", "NAME has read the record and takes over", _accept),
    Row("take over", ":take over NAME: REASON", "NAME takes over alone; the other is gone", _take_over),
    Row(
        "i am",
        ":i am NAME",
        "from here on NAME types; who the performer is does not change by it",
        lambda rest, moment: BeNamed(rest) if rest else _usage("i am"),
    ),
    Row(
        "pause",
        ":pause [WHAT COMES NEXT]",
        "leave the bench; the note helps to come back",
        lambda rest, moment: a.Pause(note=rest, **moment.base()),
    ),
    Row("seal", ":seal [OUTCOME]", "end the run after its close-out", _seal),
    Row("abandon", ":abandon REASON", "end the run unfinished, made safe first", _abandon),
    Row(
        "quit", ":quit", "leave; the run stays as recorded and is resumed later", lambda rest, moment: Leave()
    ),
)
"""Every command, in the order of the help."""

_BY_LENGTH = sorted(ROWS, key=lambda row: -len(row.words.split()))


def help_lines() -> tuple[str, ...]:
    """Return the help of line mode."""
    width = 34
    lines = [
        "Enter does what the prompt says. A number or words pick from a list; anything else is the value.",
        "as NAME: before a line says that NAME types it. = before a line says that the rest is a value.",
        "Commands begin with a colon:",
    ]
    for row in ROWS:
        lead = f"  {row.usage:<{width}}"
        lines.append(
            f"{lead} {row.about}" if len(row.usage) <= width else f"{lead}\n{'':<{width + 3}}{row.about}"
        )
    return tuple(part for line in lines for part in line.split("\n"))
