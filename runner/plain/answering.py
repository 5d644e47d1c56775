"""A line without a colon, as the answer to what is asked now."""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Literal, cast

from runner.job import actions as a
from runner.job.asking import ABNORMAL
from runner.job.demand import Demand, Option
from runner.plain.grammar import Typed, folded, picked
from runner.plain.replies import Complaint, Moment, Reply
from runner.plain.wrenches import best_for_line, count_in, count_in_offer, dotted
from runner.toolwords import is_value
from runner.view import ShopTool

_TEXTS = ("part number", "batch number", "lock number", "text", "photo")
"""What stands for the unit of a reading that is no number."""
_LARGEST_PHOTO = 256 * 1024 * 1024


def enter_does(demand: Demand, best: ShopTool | None = None) -> str:
    """Return what Enter alone does now; empty where it does nothing. `best` is the shop's for the first line."""
    if demand.kind == "prepare" and best is not None:
        return f"{best.wrench.label} is ready"
    if demand.kind == "tighten":
        return {"click": "clicked at the setting", "by mark": "turned to the mark", "snug": "snug"}.get(
            _enter_method(demand), ""
        )
    if demand.kind in ("prepare", "close out", "make safe", "reconfirm", "cue", "due"):
        first = next(iter(demand.options), None)
        if first is None or first.key.startswith("person:") or first.label == ABNORMAL:
            return ""
    return _ENTER.get(demand.kind, "")


_ENTER = {
    "prepare": "the first is ready",
    "acknowledge": "I have read it",
    "new part": "a new one is at hand",
    "act": "done",
    "confirm": "done",
    "wait": "look at the clock",
    "cue": "take it up",
    "due": "take it up",
    "resume": "resume",
    "reconfirm": "the first is as recorded",
    "close out": "the first is so",
    "make safe": "the first is done",
}


def answer(typed: Typed, moment: Moment) -> Reply:
    """Return the action that a line means as an answer to the demand on the screen."""
    demand = moment.view.demand
    if not typed.literal and not _measures(demand) and is_value(typed.text):
        return Complaint(
            f"{typed.text} is a value that was measured, and none is asked now: it is not used. "
            "= before it says that it is meant."
        )
    make = _at_stop(demand) if demand.kind == "stop" else _ANSWERS.get(demand.kind)
    if make is None:
        return Complaint(
            "Nothing is to be typed here but a command. :why says what would help, :help lists all."
        )
    return make(typed, moment)


def _measures(demand: Demand) -> bool:
    """Whether a number that was read is what is asked now."""
    if demand.kind in ("reading", "second reading"):
        return demand.unit not in _TEXTS
    return demand.kind == "tighten" or (demand.kind == "stop" and bool(demand.subject))


def _prepare(typed: Typed, moment: Moment) -> Reply:
    view = moment.view
    offer = None if typed.literal else dotted(typed.text, view)
    if isinstance(offer, Complaint):
        return offer
    if offer is not None:
        return count_in_offer(offer, moment)
    option, value = _line_and_value(typed, view.demand)
    if option is None:
        return Complaint("Nothing is left to lay out.")
    kind, _, name = option.key.partition(":")
    if kind != "tool":
        return a.MeetPrerequisite(key=option.key, value=value, **moment.base())
    best = best_for_line(view, option.key)
    if value or best is None:
        return count_in(name, value, moment)
    return count_in_offer(best, moment)


def _line_and_value(typed: Typed, demand: Demand) -> tuple[Option | None, str]:
    """Return the line meant and what was typed for it: Enter, a number, `2 = TEXT`, or text for the first."""
    first = next(iter(demand.options), None)
    if typed.literal or not typed.text:
        return first, typed.text
    which, mark, value = typed.text.partition("=")
    option = picked(which, demand.options)
    if option is not None:
        return option, value.strip() if mark else ""
    return first, typed.text


def _acknowledge(typed: Typed, moment: Moment) -> Reply:
    if typed.text:
        return Complaint("Read the notice, then press Enter.")
    return a.Acknowledge(notice=moment.view.demand.index, **moment.base())


def _new_part(typed: Typed, moment: Moment) -> Reply:
    return a.ConfirmPart(item=moment.view.demand.subject, number=typed.text, **moment.base())


def _act(typed: Typed, moment: Moment) -> Reply:
    if folded(typed.text) not in ("", "done"):
        return Complaint("Enter says that it is done. A remark is :note TEXT.")
    demand = moment.view.demand
    return a.Do(act=demand.index if demand.kind == "act" else None, **moment.base())


Method = Literal["snug", "measured", "click", "by mark"]


def _enter_method(demand: Demand) -> str:
    """Return the method that needs no number typed, if there is one."""
    return next((method for method in ("snug", "click", "by mark") if method in demand.methods), "")


def _tighten(typed: Typed, moment: Moment) -> Reply:
    demand = moment.view.demand
    word = folded(typed.text)
    method: str
    if not typed.literal and word in ("", "click", "by mark", "snug"):
        method = word or _enter_method(demand)
        raw = ""
        if not method:
            return Complaint(f"Type the value that was read, such as {demand.big}.")
    else:
        method, raw = "measured", typed.text
    return a.Tighten(
        item=demand.subject,
        stage=demand.stage,
        member=demand.member,
        method=cast("Method", method),
        raw=raw,
        **moment.base(),
    )


def _wait(typed: Typed, moment: Moment) -> Reply:
    if typed.text:
        return Complaint("The wait is not over. Enter looks at the clock; :wait stays here until it is over.")
    return a.LetTimePass(**moment.base())


def _reading(typed: Typed, moment: Moment) -> Reply:
    demand = moment.view.demand
    if not typed.text:
        return Complaint(f"Type the {'value' if demand.band else demand.unit or 'value'}.")
    raw = typed.text
    if demand.unit == "photo":
        try:
            raw = f"{typed.text} {_digest(Path(typed.text).expanduser())}"
        except (OSError, ValueError, RuntimeError) as error:
            return Complaint(f"The photo cannot be read: {getattr(error, 'strerror', None) or error}")
    return a.Read(name=demand.subject, raw=raw, **moment.base())


def _digest(path: Path) -> str:
    """Return the SHA-256 of a regular file. Raises OSError and ValueError."""
    if not path.is_file():
        raise ValueError("there is no such file")
    if path.stat().st_size > _LARGEST_PHOTO:
        raise ValueError(f"it is larger than {_LARGEST_PHOTO // 1024 // 1024} MiB")
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _option(typed: Typed, moment: Moment) -> Option | Complaint:
    options = moment.view.demand.options
    option = picked(typed.text, options)
    if option is None:
        return Complaint(f"Type a number from 1 to {len(options)}, or the words.")
    return option


def _choose(typed: Typed, moment: Moment) -> Reply:
    option = _option(typed, moment)
    if isinstance(option, Complaint):
        return option
    return a.ChooseLocation(name=moment.view.demand.subject, value=option.key, **moment.base())


def _question(typed: Typed, moment: Moment) -> Reply:
    option = _option(typed, moment)
    if isinstance(option, Complaint):
        return option
    demand = moment.view.demand
    looked = demand.kind == "look" or (demand.kind == "stop" and demand.subject == "look")
    kind = a.Look if looked else a.Answer
    return kind(label=option.key, **moment.base())


def _hold(typed: Typed, moment: Moment) -> Reply:
    word, _, said = typed.text.partition(" ")
    if word.casefold().rstrip(":") not in ("release", "refuse"):
        return Complaint("Type release or refuse, and after it what was seen.")
    released = word.casefold().startswith("release")
    return a.Release(released=released, said=said.strip(), **moment.base())


def _owed(typed: Typed, moment: Moment) -> Reply:
    demand = moment.view.demand
    if not demand.options:
        return Complaint(f"It cannot be taken up yet: {demand.lift}.")
    option = picked(typed.text, demand.options) if typed.text else demand.options[0]
    if option is None:
        return Complaint("Enter takes it up; a number picks another; :pass by REASON passes a cue by.")
    return a.TakeUp(key=option.key, **moment.base())


def _doubt(typed: Typed, moment: Moment) -> Reply:
    option = _option(typed, moment)
    if isinstance(option, Complaint):
        return option
    return a.LetTimePass(says=cast("Literal['passed', 'not yet']", option.key), **moment.base())


def _resume(typed: Typed, moment: Moment) -> Reply:
    if typed.text:
        return Complaint("Enter resumes the run; another person resumes it with :i am NAME first.")
    return a.Resume(**moment.base())


def _reconfirm(typed: Typed, moment: Moment) -> Reply:
    option = picked(typed.text, moment.view.demand.options) if typed.text else moment.view.demand.options[0]
    if option is None:
        return Complaint("Enter or a number says: as recorded. :differs [NUMBER] says: not as recorded.")
    return a.Reconfirm(key=option.key, **moment.base())


def _handover(typed: Typed, moment: Moment) -> Reply:
    if not typed.text and not moment.by_name:
        return Complaint(f"{moment.view.demand.role} types the own name here to take over.")
    return a.AcceptHandover(**{**moment.base(), "who": typed.text or moment.who})


def _close_out(typed: Typed, moment: Moment) -> Reply:
    option, text = _line_and_value(typed, moment.view.demand)
    if option is None:
        return Complaint("Nothing is left of the close-out.")
    kind, _, name = option.key.partition(":")
    if kind == "tool":
        if text:
            return Complaint("Enter says that the tool is back. A remark is :note TEXT.")
        return a.CountOut(tool=name, **moment.base())
    return a.CloseOut(line=int(name), text=text, **moment.base())


def _make_safe(typed: Typed, moment: Moment) -> Reply:
    option = picked(typed.text, moment.view.demand.options) if typed.text else moment.view.demand.options[0]
    if option is None:
        return Complaint("Enter or a number says that the line is done.")
    return a.MakeSafe(line=int(option.key.removeprefix("line:")), **moment.base())


def _seal(typed: Typed, moment: Moment) -> Reply:
    option = picked(typed.text, moment.view.demand.options) if typed.text else None
    if folded(typed.text) == "seal" and len(moment.view.demand.options) == 1:
        option = moment.view.demand.options[0]
    if option is None:
        return Complaint("Type seal to end the run and seal its log. Nothing can follow a seal.")
    return a.Seal(outcome=cast("a.Outcome", option.key), **moment.base())


def _at_stop(demand: Demand) -> Callable[[Typed, Moment], Reply] | None:
    """What may be given once more at a stop: the word of a role, an answer, a reading, or nothing."""
    if demand.role:
        return _hold
    if demand.options:
        return _question
    return _reading if demand.subject else None


_ANSWERS: dict[str, Callable[[Typed, Moment], Reply]] = {
    "choose": _choose,
    "prepare": _prepare,
    "acknowledge": _acknowledge,
    "new part": _new_part,
    "act": _act,
    "confirm": _act,
    "tighten": _tighten,
    "wait": _wait,
    "reading": _reading,
    "second reading": _reading,
    "question": _question,
    "look": _question,
    "hold": _hold,
    "cue": _owed,
    "due": _owed,
    "doubt": _doubt,
    "resume": _resume,
    "reconfirm": _reconfirm,
    "handover": _handover,
    "close out": _close_out,
    "make safe": _make_safe,
    "seal": _seal,
}
