"""Putting off outside the plan, taking up, passing a cue by, and letting time pass."""

from runner.job import actions as a
from runner.job import events as e
from runner.job.asking import cued, doubts, limits
from runner.job.at_gate import asked, not_now
from runner.job.draft import Draft
from runner.job.refusal import Refusal
from runner.job.settle import arrive
from runner.job.state import Job
from runner.job.windows import due_here, has_passed, lacking, ready, shut_by_time
from runner.job.words import owed_words, test_words, window_words
from runner.procedure.linked import STOP, Node


def may_put_off(job: Job, node: Node) -> Refusal | None:
    """Refuse to put off a step of another shape than a put-off may have (rule R3)."""
    shape = "only a step on one item, or on none, that sets nothing and chooses no way can be put off"
    items = {act.item for act in node.acts}
    others = [way for way in node.exits if way.to not in (node.next, STOP) or way.limit is not None]
    if len(items) > 1 or node.sets or others or node.in_time is not None or decides_later(job, node):
        return Refusal(
            f"{node.title.rstrip('.')}: this cannot be put off, {shape}",
            "do it now, or deviate with a reason (not done)",
        )
    return None


def decides_later(job: Job, node: Node) -> bool:
    """Whether a later step or part goes by the answer given here (`only if`)."""
    return any(
        test.kind == "answer" and test.name == node.id
        for other in job.procedure.nodes
        for test in other.guard
    )


def put_off(draft: Draft, action: a.PutOff) -> Refusal | None:
    """Put the step in hand off, with a reason; it is owed from now on."""
    job = draft.job
    node = job.node
    wanted = asked(draft)
    if (
        node is None
        or job.phase != "working"
        or job.hand
        or job.detour
        or wanted.kind in ("cue", "due", "restore", "doubt")
    ):
        return Refusal("there is no step in hand that could be put off", "take up what is asked first")
    if not action.reason.strip():
        return Refusal("a step is put off with a reason", "say why")
    if node.put_off is not None:
        return Refusal(f"{node.title} has its window now", "do it now, or deviate with a reason (not done)")
    progress = job.progress
    if progress.acts or progress.taken or progress.confirmed or progress.answer or progress.waived:
        return Refusal(f'"{node.title.rstrip(".")}" has been begun', "finish it, or take back")
    refused = may_put_off(job, node)
    if refused is not None:
        return refused
    draft.add(e.PutOffUnplanned(node=node.id, reason=action.reason.strip()))
    arrive(draft, node.next)
    return None


def take_up(draft: Draft, action: a.TakeUp) -> Refusal | None:
    """Take up something owed, behind its own full gate; what was in hand is kept as it stands."""
    job = draft.job
    owed = job.owed.get(action.key)
    if owed is None:
        return Refusal("nothing of that name is owed", "choose from the put-off list")
    if job.hand or job.detour or job.phase not in ("working", "stopped"):
        return Refusal("something else is in hand", "finish it first")
    if owed.kind == "put off" and job.progress.begun:
        return Refusal("the step in hand has been begun", "finish it first: the cue stays")
    if not ready(job, owed):
        test = lacking(job, owed) if owed.kind != "put off" else None
        node = job.procedure.by_id[owed.node]
        window = window_words(job, node.put_off.until) if node.put_off else ""
        return Refusal(
            f"not yet: {owed_words(job, owed)}", test_words(job, test) if test else f"it waits for: {window}"
        )
    if shut_by_time(owed):
        return Refusal(f"the time for {owed_words(job, owed)} is over", "deviate with a reason (late)")
    draft.add(e.TakenUp(key=owed.key))
    return None


def pass_by(draft: Draft, action: a.PassBy) -> Refusal | None:
    """Pass a cue by for now; it comes back at its last chance and when it is due."""
    job = draft.job
    wanted = asked(draft)
    if action.key == job.hand and job.hand and not job.detour:
        if wanted.kind != "blocked" or job.progress.acts or job.progress.taken:
            return Refusal("it is in hand", "finish it, or take back")
        draft.add(e.PassedBy(key=action.key, reason=action.reason.strip()))
        return None
    if wanted.kind == "due" and action.key in {owed.key for owed in due_here(job)}:
        return Refusal(f"it is due now: {owed_words(job, job.owed[action.key])}", "take it up")
    if action.key not in {owed.key for owed in cued(job)} or wanted.kind not in ("cue", "due"):
        return not_now(wanted)
    draft.add(e.PassedBy(key=action.key, reason=action.reason.strip()))
    return None


def time_events(draft: Draft) -> None:
    """Add what the clock has decided by now: waits over, windows open, overdue, too late."""
    job = draft.job
    if job.paused or job.phase not in ("working", "stopped"):
        return
    for key, start, limit in limits(job):
        verdict, basis = has_passed(job, key, start, draft.stamp, limit)
        if verdict != "passed":
            continue
        if key.startswith("in time "):
            draft.add(e.TooLate(node=key.removeprefix("in time "), basis=basis))
            return
        if key.startswith("wait "):
            draft.add(e.WaitOver(node=key.removeprefix("wait "), basis=basis))
        elif key.startswith("no later "):
            draft.add(e.Overdue(key=key.removeprefix("no later "), basis=basis))
        else:
            draft.add(e.WindowOpened(key=key, basis=basis))


def let_time_pass(draft: Draft, action: a.LetTimePass) -> Refusal | None:
    """The clock's word was added before; where the clocks disagree, the person's word decides."""
    if action.says is None:
        return None
    keys = doubts(draft.job, draft.stamp)
    if not keys:
        keys = tuple(
            key for key, start, limit in limits(draft.job)
            if key in draft.job.told and not draft.job.told[key] and start.wall_ms <= draft.stamp.wall_ms + limit
        )  # fmt: skip
    if not keys:
        return Refusal("the clocks agree", "let the time pass")
    draft.add(e.TimeTold(subject=keys[0], has_passed=action.says == "passed"))
    time_events(draft)
    return None
