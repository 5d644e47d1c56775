"""decide(job, action): what is recorded, or why it is refused. Total, pure, deterministic.

Every action in every state gives an entry, a refusal, or (when only time passed and nothing came of it) neither.
A refusal comes with an entry too: refused entries are part of the record. `evolve` makes the next job.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

from runner.frozen import Frozen
from runner.job import actions as a
from runner.job import at_gate, beginning_and_end, deviating, mending, putting_off, reopening, tool_acts
from runner.job import events as e
from runner.job.asking import demand
from runner.job.draft import Draft
from runner.job.events import Entry
from runner.job.gates import Outlook
from runner.job.refusal import Refusal
from runner.job.reproving import answered
from runner.job.settle import settle
from runner.job.state import Job
from runner.job.values import not_text, too_long
from runner.safe_text import safe


class Decision(Frozen):
    """`entry` is what to record (None: nothing happened); `refusal` is set when the action was not accepted."""

    entry: Entry | None
    refusal: Refusal | None = None


Handler = Callable[[Draft, Any], Refusal | None]

HANDLERS: Mapping[type[a.Action], Handler] = {
    a.Start: beginning_and_end.start,
    a.MeetPrerequisite: beginning_and_end.meet_prerequisite,
    a.CountIn: tool_acts.count_in,
    a.CountOut: tool_acts.count_out,
    a.ChooseLocation: beginning_and_end.choose_location,
    a.Acknowledge: at_gate.acknowledge,
    a.ConfirmPart: at_gate.confirm_part,
    a.Do: at_gate.do,
    a.Tighten: at_gate.tighten,
    a.Read: at_gate.read,
    a.Look: at_gate.look,
    a.Answer: at_gate.answer,
    a.Release: at_gate.release,
    a.PutOff: putting_off.put_off,
    a.TakeUp: putting_off.take_up,
    a.PassBy: putting_off.pass_by,
    a.LetTimePass: putting_off.let_time_pass,
    a.Deviate: deviating.deviate,
    a.NotApplicable: mending.not_applicable,
    a.Correct: mending.correct,
    a.TakeBack: mending.take_back,
    a.Reopen: reopening.reopen,
    a.ExtraWork: mending.extra_work,
    a.ExtraWorkDone: mending.extra_work_done,
    a.FoundCondition: mending.found_condition,
    a.Note: mending.note,
    a.ChangeTool: tool_acts.change_tool,
    a.FitExtension: tool_acts.fit_extension,
    a.Pause: beginning_and_end.pause,
    a.Resume: beginning_and_end.resume,
    a.Reconfirm: beginning_and_end.reconfirm,
    a.HandOver: beginning_and_end.hand_over,
    a.AcceptHandover: beginning_and_end.accept_handover,
    a.TakeOverAlone: beginning_and_end.take_over_alone,
    a.CloseOut: beginning_and_end.close_out,
    a.MakeSafe: beginning_and_end.make_safe,
    a.Seal: beginning_and_end.seal,
}
"""The one place where an action finds its rule."""

_ALWAYS = (a.Note, a.Seal, a.LetTimePass)
_WHILE_PAUSED = (*_ALWAYS, a.Resume, a.TakeOverAlone)
_WHILE_CONFIRMING = (
    *_WHILE_PAUSED, a.Reconfirm, a.FoundCondition, a.Reopen, a.ChangeTool, a.ExtraWork, a.Pause
)  # fmt: skip
_WHILE_HANDING_OVER = (*_WHILE_PAUSED, a.AcceptHandover)
_OUTSIDE_PROOF = (*_ALWAYS, a.MakeSafe, a.Pause, a.Resume)


ASKS_THE_PROOF = (a.Deviate, a.NotApplicable, a.Correct, a.Reopen, a.PutOff)
"""Acts that leave the plan: before one is accepted, the proof is asked from where it would lead."""

Ask = Callable[[Job], Outlook]
"""What the proof answers from a job; the engine does not know how."""


def decide(job: Job, action: a.Action, ask: Ask | None = None) -> Decision:
    """What `action` does to `job`. `ask` is the proof, where the procedure was proved."""
    # What the clock alone decides is an entry too, and every entry names who.
    draft = Draft(job, _name(action, "clock"), action.stamp)
    putting_off.time_events(draft)
    moved_on = draft.entry()
    if isinstance(action, a.LetTimePass):
        refusal = _possible(draft.job, action) or HANDLERS[type(action)](draft, action)
        if refusal is None and draft.events:
            settle(draft)
        return Decision(draft.entry()) if refusal is None else _refuse(job, action, refusal)
    if moved_on is not None:
        settle(draft)
        return Decision(
            draft.entry(),
            Refusal("time has moved on while the key was pressed", "look again, then press once more"),
        )
    asks = ask is not None and isinstance(action, ASKS_THE_PROOF)
    if asks:
        # The states allowed so far are those of the plan that this act leaves: the answer brings new ones.
        draft.job = job.but(gates=job.gates.model_copy(update={"allowed": {}}))
    refusal = _possible(job, action) or HANDLERS[type(action)](draft, action)
    if refusal is not None:
        return _refuse(job, action, refusal)
    if not isinstance(action, a.TakeBack):
        settle(draft)
    if ask is not None and asks:
        refusal = _asked(draft, action, job, ask)
        if refusal is not None:
            return _refuse(job, action, refusal)
    return Decision(draft.entry())


def _asked(draft: Draft, action: a.Action, job: Job, ask: Ask) -> Refusal | None:
    """Add the proof's answer to the entry. Putting off is refused where no way is left to do what it puts off; what has
    happened to the work is recorded whatever the answer is.
    """
    if draft.job.phase not in ("working", "stopped"):
        return None
    outlook = ask(draft.job.but(gates=job.gates))
    if isinstance(action, a.PutOff):
        lost = _more_lost(job, ask(job), outlook)
        if lost:
            return Refusal(
                f"no way left: {'; '.join(lost[:3])}", "do it now, or deviate with a reason (not done)"
            )
    draft.add(answered(outlook))
    return None


def _more_lost(job: Job, before: Outlook, after: Outlook) -> list[str]:
    """What putting the step in hand off loses: itself, or what was not lost before, an item or a line about a step."""
    known = set(before.lost)
    items = {key for key, _ in known if key in job.ledger}
    own = job.node.id if job.node else ""
    return [
        words for key, words in after.lost if key == own or ((key, words) not in known and key not in items)
    ]


def _possible(job: Job, action: a.Action) -> Refusal | None:
    """What holds for every action: a name, a screen that is not old, text of sane length, the run's own state."""
    if not action.who.strip():
        return Refusal("every entry names who made it", "type a name")
    if action.seen is not None and action.seen != job.seq:
        return Refusal("the screen has changed since", "look again, then press once more")
    for text in _texts(action):
        refused = too_long(text) or not_text(text)
        if refused is not None:
            return refused
    return barred(job, type(action))


def barred(job: Job, kind: type[a.Action]) -> Refusal | None:
    """Why no act of this kind is possible as the run stands, whatever it says; None where its own rule decides."""
    if job.phase == "sealed":
        return Refusal("this run is sealed", "nothing follows a seal; begin a new run")
    if job.phase == "new" and not issubclass(kind, a.Start | a.LetTimePass):
        return Refusal("the run has not begun", "say who works, and on what")
    waits = (
        (job.paused, _WHILE_PAUSED, "the run is paused", "resume it"),
        (
            bool(job.handover_to),
            _WHILE_HANDING_OVER,
            f"{job.handover_to} has yet to take over",
            f"fetch {job.handover_to}",
        ),
        (bool(job.to_confirm), _WHILE_CONFIRMING, "compare with the work first", "confirm line by line"),
        (
            job.phase == "outside proof",
            _OUTSIDE_PROOF,
            "the run stopped as a program error",
            "make safe and abandon",
        ),
    )
    for is_so, allowed, text, lift in waits:
        if is_so and not issubclass(kind, allowed):
            return Refusal(text, lift)
    return None


def _texts(action: a.Action) -> list[str]:
    texts: list[str] = []
    for field in fields(action):
        value = getattr(action, field.name)
        if isinstance(value, str):
            texts.append(value)
        elif isinstance(value, tuple):
            texts += [text for each in value for text in ([each] if isinstance(each, str) else each)]
    return texts


def _refuse(job: Job, action: a.Action, refusal: Refusal) -> Decision:
    """A refused action is recorded too, with what was typed; before the start and after the seal there is no record."""
    if job.phase in ("new", "sealed"):
        return Decision(None, refusal)
    node = job.node
    raw = getattr(action, "raw", "") or getattr(action, "label", "") or getattr(action, "value", "")
    subject = next(
        (
            str(getattr(action, name))
            for name in ("key", "item", "name", "subject", "tool", "kind")
            if hasattr(action, name)
        ),
        "",
    )
    event = e.Refused(
        action=type(action).__name__,
        node=node.id if node else "",
        subject=_recordable(subject)[:200],
        raw=_recordable(str(raw))[:500],
        why=refusal.text[:500],
    )
    return Decision(Entry(_name(action, "nobody"), action.stamp, (event,)), refusal)


def _name(action: a.Action, nobody: str) -> str:
    return _recordable(action.who.strip())[:200] or nobody


def _recordable(text: str) -> str:
    """Text as typed; with every character written out where one of them may stand in no log."""
    return text if not_text(text) is None else safe(text)


__all__ = ["HANDLERS", "Decision", "Refusal", "decide", "demand"]
