"""What a person (or the clock) may try to do: imperative, frozen, never yet true.

Every action names `who` and carries the `stamp` of the moment it was made. `seen` is the number of entries the
screen showed (`Job.seq`); an action made from an older screen is refused, so that no key confirms what was not
yet there. Raw text is what was typed, unparsed.
"""

from dataclasses import field
from typing import Literal

from runner.frozen import Frozen
from runner.joint.wrench import Extension, Wrench
from runner.stamp import Stamp

DeviationKind = Literal[
    "out of band", "by feel", "other value", "substitute", "different order", "not done", "not available",
    "hold point", "late", "go on", "unfit tool",
]  # fmt: skip
Outcome = Literal["finished", "finished with open points", "abandoned"]


class Action(Frozen):
    """The base of all actions."""

    who: str
    stamp: Stamp
    seen: int | None = field(default=None, kw_only=True)


class Start(Action):
    """Begin a run: `who` is the performer; `work_piece` its identity; `counters` as (name, typed text).

    `earlier` is what the latest run on this work piece left behind, each line to be confirmed before step 1.
    """

    work_piece: str
    counters: tuple[tuple[str, str], ...] = ()
    earlier: tuple[str, ...] = ()


class MeetPrerequisite(Action):
    """A part, supply, document, person or condition is ready; `value` names the person or the found value."""

    key: str
    value: str = ""


class CountIn(Action):
    """A tool lies ready: `wrench` where it is one of the shop's toolbox, else `identity`, what is written on it."""

    tool: str
    identity: str = ""
    wrench: Wrench | None = None


class CountOut(Action):
    """A tool counted in is back."""

    tool: str


class ChooseLocation(Action):
    """Pick the location (or the variant) of this work piece, before step 1."""

    name: str
    value: str


class Acknowledge(Action):
    """The injury notice number `notice` of the step has been read."""

    notice: int


class ConfirmPart(Action):
    """A new part for `item`; `number` is what its bag or head says (may be empty)."""

    item: str
    number: str = ""


class Do(Action):
    """The act number `act` of the step is done; None confirms a step that has no acts on items."""

    act: int | None = None


class Tighten(Action):
    """One fastener at one stage. `raw` is the value typed; a click or mark records the setting and needs none."""

    item: str
    stage: int
    member: int
    method: Literal["snug", "measured", "click", "by mark"]
    raw: str = ""


class Read(Action):
    """A reading entered; for a photo `raw` is `path sha256-hex`."""

    name: str
    raw: str


class Look(Action):
    """What was seen, as one of the labels of the look-for."""

    label: str


class Answer(Action):
    """The answer to a question, as one of its labels."""

    label: str


class PutOff(Action):
    """Put the present step off outside the plan, with a reason."""

    reason: str


class TakeUp(Action):
    """Take up something owed, by its key."""

    key: str


class PassBy(Action):
    """Pass a cue by for now."""

    key: str
    reason: str = ""


class Release(Action):
    """`who`, in the role asked for, releases the hold point or refuses it."""

    released: bool
    said: str = ""


class Deviate(Action):
    """Depart from the procedure, with reason and authority (a person's name; may be the performer).

    `raw` is the value for out of band and other value; `subject` names what else is meant: a prerequisite key,
    the number of the fastener taken out of order, the key of something owed, `tool:NAME` for an unfit tool, which
    `wrench` says which one it is.
    """

    kind: DeviationKind
    reason: str
    authority: str = ""
    raw: str = ""
    subject: str = ""
    wrench: Wrench | None = None


class NotApplicable(Action):
    """This work piece does not have `subject`: an item (ledger key), or "" for the present step."""

    subject: str
    reason: str


class Correct(Action):
    """A later entry for an earlier one: `key` is the recorded key of a reading, a tightening or an answer."""

    key: str
    raw: str
    reason: str


class TakeBack(Action):
    """The latest act was confirmed too soon."""

    reason: str = ""


class Reopen(Action):
    """`item` is open again outside the plan, now at `state`."""

    item: str
    state: str
    reason: str


class ExtraWork(Action):
    """Something opened or broken that the procedure does not name."""

    text: str


class ExtraWorkDone(Action):
    """The extra work is closed again; `key` from the owed list."""

    key: str
    said: str = ""


class FoundCondition(Action):
    """A condition is seen to differ from the record."""

    name: str
    value: str


class Note(Action):
    """A remark for the log."""

    text: str


class LetTimePass(Action):
    """The clock ticks; where the clocks disagree, `says` is the person's word on whether the time has passed."""

    says: Literal["passed", "not yet"] | None = None


class ChangeTool(Action):
    """From here on `tool` is another one: `wrench` of the toolbox, else `identity`, what is written on it."""

    tool: str
    identity: str
    reason: str
    wrench: Wrench | None = None


class FitExtension(Action):
    """From here on an extension or crowfoot stands between `tool` and the fastener; None takes it off again."""

    tool: str
    extension: Extension | None = None


class Pause(Action):
    """Leave the bench, with a line on what was about to happen."""

    note: str


class Resume(Action):
    """Come back to a paused or interrupted run."""


class Reconfirm(Action):
    """On resume: `key` is as recorded, or is not."""

    key: str
    as_recorded: bool = True


class HandOver(Action):
    """The outgoing person hands over to `to`."""

    to: str
    note: str = ""


class AcceptHandover(Action):
    """The incoming person, `who`, has understood the state and takes over."""


class TakeOverAlone(Action):
    """The outgoing person is gone; `who` takes over alone, with a reason."""

    reason: str


class CloseOut(Action):
    """Line number `line` of the close-out holds; `text` answers the last line, anything abnormal."""

    line: int
    text: str = ""


class MakeSafe(Action):
    """Line number `line` of the make-safe steps is done."""

    line: int


class Seal(Action):
    """End the run. Abandoning needs a reason and passes through the make-safe steps first."""

    outcome: Outcome
    reason: str = ""
