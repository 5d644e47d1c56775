"""Which fastener of which round comes next in an act that tightens, and what stands in its way."""

from runner.frozen import Frozen
from runner.job.holding import unmet
from runner.job.items import Fault
from runner.job.state import Job
from runner.job.way import reached, stages_meant
from runner.job.words import test_finding, test_words
from runner.procedure.kinds import stage_state
from runner.procedure.linked import Act, Item


class Turn(Frozen):
    """The fastener whose turn it is; `fault` when it cannot be tightened now; `last` when it ends the act."""

    stage: int
    member: int
    fault: Fault | None = None
    last: bool = False


def torque_stage(item: Item) -> int:
    """The stage a re-tightening is held against: the last torque stage, 0 where there is none."""
    numbers = [number for number, stage in enumerate(item.stages, start=1) if stage.kind == "torque"]
    return numbers[-1] if numbers else 0


def waived(job: Job, index: int, key: str, stage: int, member: int) -> bool:
    """Whether a deviation let this fastener's stage be left undone."""
    return f"member {index}|{key}|{stage}|{member}" in job.progress.waived


def pending(job: Job, index: int, act: Act) -> tuple[tuple[int, int], ...]:
    """Every (stage, fastener) still to do in the act, round by round, in the order of each round."""
    item = job.procedure.item_by_key[act.item]
    members = job.ledger[act.item].members
    if act.verb == "re-tightens":
        stage = torque_stage(item)
        return tuple(
            (stage, member)
            for member in item.stages[stage - 1].sequence
            if f"act {index} {member}" not in job.progress.taken
            and not waived(job, index, act.item, stage, member)
        )
    return tuple(
        (stage, member)
        for stage in stages_meant(act, len(item.stages))
        for member in _first(item.stages[stage - 1].sequence, job.progress.first_member)
        if reached(members[member - 1]) < stage and not waived(job, index, act.item, stage, member)
    )


def _first(sequence: tuple[int, ...], member: int) -> tuple[int, ...]:
    """The order of a round, one fastener brought forward by a deviation."""
    return (member, *(m for m in sequence if m != member)) if member in sequence else sequence


def turn(job: Job, index: int, act: Act) -> Turn | None:
    """Whose turn it is; None when nothing of the act is left to do."""
    left = pending(job, index, act)
    if not left:
        return None
    stage, member = left[0]
    item = job.procedure.item_by_key[act.item]
    state = job.ledger[act.item].members[member - 1]
    operation = act.verb if act.verb == "re-tightens" else f"tightens {stage}"
    move = job.table_of(act.item).move(state, operation)
    fault = move if isinstance(move, Fault) else None
    test = unmet(job, item.stages[stage - 1].only_when)
    if fault is None and test is not None:
        fault = Fault(
            f"cannot get {item.stages[stage - 1].text} now: {test_finding(job, test)}", test_words(job, test)
        )
    return Turn(stage, member, fault, last=len(left) == 1)


def next_state(act: Act, state: str, stage: int) -> str:
    """The member's state once tightened; a re-tightening leaves it as it was."""
    return state if act.verb == "re-tightens" else stage_state(stage)
