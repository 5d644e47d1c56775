"""What follows by itself from an act: values worked out, the step done, conditions set, the way taken, windows.

Runs until the gate asks a person for something again. Everything it adds is part of the same entry.
"""

from collections.abc import Sequence
from decimal import Decimal

from runner.job import events as e
from runner.job.asking import demand
from runner.job.draft import Draft
from runner.job.gate import readings_in_scope, step_demand
from runner.job.holding import unmet
from runner.job.keys import reading_key
from runner.job.preparing import still_to_choose, still_to_meet
from runner.job.state import Job
from runner.job.way import led, passing
from runner.job.windows import has_passed, latest, ready, window_open
from runner.job.working_out import sorted_label, work_out_again, worked_out
from runner.procedure.linked import BACK, STOP, Exit, Node, Reading, Test


def settle(draft: Draft) -> None:
    """Add every consequence of what the draft holds so far."""
    while _settle_once(draft):
        pass


def _settle_once(draft: Draft) -> bool:
    job = draft.job
    if job.phase == "preparing":
        if still_to_choose(job) is not None or still_to_meet(job):
            return False
        arrive(draft, job.procedure.first)
        return True
    if job.phase not in ("working", "stopped") or job.paused or job.handover_to or job.to_confirm:
        return False
    if job.found and not job.detour:
        return _detour(draft)
    if job.phase == "stopped":
        return False
    node = job.node
    if node is None:
        if job.hand or job.owed:
            return False
        draft.add(e.ClosingBegan())
        return False
    return _work_out(draft, node) or _finish(draft, node)


def _detour(draft: Draft) -> bool:
    """Begin the way back to the recorded condition, where the author wrote one and it starts from what was found."""
    for name in draft.job.found:
        ways = dict(draft.job.procedure.condition_by_name[name].getting_there)
        first = ways.get(draft.job.conditions.get(name, ""))
        if first is not None:
            draft.add(e.DetourBegan(node=first))
            return True
    return False


def _work_out(draft: Draft, node: Node) -> bool:
    """Compute the next worked-out value, or sort the last reading, once everything before it is there."""
    job = draft.job
    if job.progress.late or job.progress.hold == "refused":
        return False  # the way on is chosen already
    asked = step_demand(job, node)
    if asked is not None and asked.kind not in ("question", "look", "hold"):
        return False
    if not job.progress.begun and demand(job).kind in ("due", "cue"):
        return False
    for reading in readings_in_scope(job, node):
        let_go = f"reading {reading.name}" in job.progress.waived
        if reading.kind == "worked out" and reading.name not in job.progress.taken and not let_go:
            draft.add(worked_out(job, node, reading))
            return True
        if reading.sorting and not job.progress.answer and job.scope is None:
            draft.add(e.Answered(node=node.id, label=_sorted_into(job, node, reading), by="sorted"))
            return True
    return False


def _sorted_into(job: Job, node: Node, reading: Reading) -> str:
    held = job.recorded[reading_key(node.id, reading.name, reading.times)].held
    value = Decimal(held.value)
    return sorted_label(reading, value) or reading.sorting[-1].exit.label


def chosen_exit(job: Job, node: Node) -> Exit:
    """The way out of the step in hand: by the clock, the refusal of a hold point, an answer, or straight on."""
    if job.progress.late and node.in_time is not None:
        return node.in_time.late
    if job.progress.hold == "refused" and node.hold is not None:
        return node.hold.refused
    if job.progress.answer:
        ways = {
            way.label: way for way in (*node.answers, *(s.exit for r in node.readings for s in r.sorting))
        }
        if job.progress.answer in ways:
            return ways[job.progress.answer]
    return Exit(label="", to=node.next)


def _finish(draft: Draft, node: Node) -> bool:
    job = draft.job
    asked = demand(job)
    if asked.kind in ("due", "cue"):
        # A begun step keeps the screen before what was put off, but not before what was corrected in it.
        owed = job.owed.get(asked.subject)
        if not job.progress.begun or (owed is not None and owed.kind == "again"):
            return False
    if step_demand(job, node) is not None:
        return False
    if _ran_out(draft, node):
        return True
    way = chosen_exit(job, node)
    if _stops(job, way):
        draft.add(e.StoppedAt(node=node.id, label=_why(job, way)))
        return False
    if job.scope is None and not job.progress.late and job.progress.hold != "refused":
        for name, value in node.sets:
            if job.conditions.get(name) != value or name in job.found:
                draft.add(e.ConditionSet(name=name, value=value))
        draft.add(e.StepDone(node=node.id, to=way.to))
    if job.hand and not job.detour:
        if job.scope is not None:
            _use_anew(draft, node)
        draft.add(e.OwedDone(key=job.hand))
        judge_windows(draft)
        return True
    take(draft, node, way)
    return True


def _use_anew(draft: Draft, node: Node) -> None:
    """What was read once more is used once more, by every value that was worked out from it."""
    for reading in readings_in_scope(draft.job, node):
        for index in range(1, reading.times + 1):
            work_out_again(draft, reading_key(node.id, reading.name, index))


def _ran_out(draft: Draft, node: Node) -> bool:
    """Whether the time limit passed while the work stood at a stop, where no clock moves it on: then it is too late."""
    job = draft.job
    start = (
        latest(job, node.in_time.start) if node.in_time and not job.hand and not job.progress.late else None
    )
    if node.in_time is None or start is None:
        return False
    verdict, basis = has_passed(job, f"in time {node.id}", start, draft.stamp, node.in_time.within)
    if verdict == "passed":
        draft.add(e.TooLate(node=node.id, basis=basis))
    return verdict == "passed"


def _stops(job: Job, way: Exit) -> bool:
    """Whether a way stops at this step: as written, or behind ways back that are used up. Then it is not done."""
    target, limit = led(way, lambda name: job.loops.get(name, 0))
    return target == STOP and not limit


def _why(job: Job, way: Exit) -> str:
    if job.progress.late:
        return "too late"
    return "hold point refused" if job.progress.hold == "refused" else way.label


def take(draft: Draft, node: Node, way: Exit) -> None:
    """Follow a way, counting ways back, to the next step that asks something."""
    target, limit = led(way, lambda name: draft.job.loops.get(name, 0))
    if limit:
        draft.add(e.LoopTaken(limit=limit))
    if target == STOP:
        draft.add(e.StoppedAt(node=node.id, label=_last(way).label or "stop"))
        return
    arrive(draft, target)


def _last(way: Exit) -> Exit:
    """The way that is left when every way back is used up."""
    while way.limit is not None:
        way = way.limit.then
    return way


def arrive(draft: Draft, target: str) -> None:
    """Come to a step, passing what this job does not have and listing what is put off."""
    by_id = draft.job.procedure.by_id
    while target in by_id:
        node = by_id[target]
        match passing(node, _Now(draft), detour=bool(draft.job.detour)):
            case "":
                break
            case "skipped":
                target = node.skip
            case "joint" if node.answers:
                take(draft, node, node.answers[0])
                return
            case "listed":
                draft.add(e.Listed(node=target))
                if node.put_off and node.put_off.until.kind == "time" and _open_now(draft, node):
                    draft.add(e.WindowOpened(key=target))
                target = node.next
            case _:
                target = node.next
    if target == BACK:
        draft.add(e.DetourEnded())
        return
    draft.add(e.CameTo(node=target))
    if not draft.job.detour:
        judge_windows(draft)
        _inside_proof(draft, target)


class _Now:
    """What the job in hand answers on arrival at a step."""

    def __init__(self, draft: Draft) -> None:
        self._draft = draft

    def holds(self, tests: Sequence[Test]) -> bool:
        return unmet(self._draft.job, tests) is None

    def absent(self, node: Node) -> bool:
        return _not_for_this_job(self._draft.job, node)

    def owed(self, node: Node) -> bool:
        return node.id in self._draft.job.owed

    def opens(self, node: Node) -> bool:
        return _open_now(self._draft, node)


def _open_now(draft: Draft, node: Node) -> bool:
    assert node.put_off is not None
    until = node.put_off.until
    if until.kind == "at":
        return False
    return window_open(draft.job, node.id, until, draft.stamp)


def _not_for_this_job(job: Job, node: Node) -> bool:
    """Whether the step was said not to apply, or acts only on items this work piece does not have."""
    if node.id in job.not_applicable:
        return True
    return bool(node.acts) and not node.sets and all(job.ledger[act.item].not_applicable for act in node.acts)


def judge_windows(draft: Draft) -> None:
    """Open and shut the windows of everything put off, between steps."""
    for owed in list(draft.job.owed.values()):
        if owed.kind != "put off" or owed.key == draft.job.hand:
            continue
        node = draft.job.procedure.by_id[owed.node]
        assert node.put_off is not None
        if node.put_off.until.kind == "time":
            continue
        is_open = ready(draft.job, owed)
        if is_open and owed.status == "waiting":
            draft.add(e.WindowOpened(key=owed.key))
        elif not is_open and owed.status != "waiting":
            draft.add(e.WindowClosed(key=owed.key))


def _inside_proof(draft: Draft, target: str) -> None:
    """Stop safely where an item that never left the plan stands outside what the proof allows here."""
    job = draft.job
    for item, allowed in job.gates.allowed_at(job.procedure, target):
        state = job.ledger[item]
        if not state.off_plan and not state.not_applicable and job.state_of(item) not in allowed:
            draft.add(e.LeftProof(node=target, item=item, state=job.state_of(item)))
            return


__all__ = ["arrive", "chosen_exit", "judge_windows", "settle", "take"]
