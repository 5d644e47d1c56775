"""When owed work can be done, and when it must be.

Windows are judged between steps, on the job as it stands; only time opens one in mid-step, through an event.
Last chances come from the proof, as data.
"""

from collections.abc import Iterable

from runner.job.elapsed import Basis, Verdict, passed
from runner.job.holding import unmet
from runner.job.state import Job, Owed
from runner.job.way import comes_before, is_open, stages_meant
from runner.procedure.linked import END, Node, Procedure, Test, Window
from runner.stamp import Stamp


def latest(job: Job, nodes: tuple[str, ...]) -> Stamp | None:
    """When the last of `nodes` was done; None while none of them is."""
    stamps = [job.done[node] for node in nodes if node in job.done]
    return max(stamps, key=lambda stamp: stamp.wall_ms) if stamps else None


def has_passed(job: Job, key: str, start: Stamp, now: Stamp, limit_ms: int) -> tuple[Verdict, Basis]:
    """Whether a limit counted from `start` has passed, a person's word deciding where the clocks disagree."""
    verdict, basis = passed(start, now, limit_ms)
    if verdict == "doubtful" and key in job.told:
        return ("passed" if job.told[key] else "not yet"), "person"
    return verdict, basis


def window_open(job: Job, key: str, window: Window, now: Stamp) -> bool:
    """Whether a planned put-off can be done now."""
    return is_open(
        window,
        holds=lambda tests: unmet(job, tests) is None,
        done=job.done.__contains__,
        at=job.at,
        passed=lambda: _time_passed(job, key, window, now),
    )


def _time_passed(job: Job, key: str, window: Window, now: Stamp) -> bool:
    start = latest(job, window.nodes)
    return start is not None and has_passed(job, key, start, now, window.time)[0] == "passed"


def _conditions(node: Node) -> list[Test]:
    """The conditions a step needs, and those a put-off step waits for: a reason to wait holds again, too."""
    waits = node.put_off.until.tests if node.put_off else ()
    return [*(test for test in node.needs if test.kind == "condition"), *waits]


def waits_for(procedure: Procedure, owed: Owed) -> list[Test]:
    """What must hold before owed work of a step can be done: its needs, its only-whens."""
    node = procedure.by_id[owed.node]
    tests = list(node.needs) if owed.kind != "again" else _conditions(node)
    for index, act in enumerate(node.acts):
        if act.verb != "tightens" or (owed.kind == "again" and owed.acts and index not in owed.acts):
            continue
        stages = procedure.item_by_key[act.item].stages
        meant = stages_meant(act, len(stages))
        tests += [test for number in meant for test in stages[number - 1].only_when]
    return tests


def lacking(job: Job, owed: Owed) -> Test | None:
    """The first thing that does not hold yet of what owed work waits for."""
    return unmet(job, waits_for(job.procedure, owed))


def ready(job: Job, owed: Owed) -> bool:
    """Whether owed work can be taken up now. A planned put-off follows its window (time opens by event)."""
    if owed.kind == "extra":
        return True
    if owed.kind == "put off":
        put_off = job.procedure.by_id[owed.node].put_off
        if put_off is None:
            return False
        if put_off.until.kind == "time":
            return owed.status != "waiting"
        return window_open(job, owed.key, put_off.until, job.last or Stamp(0, 0, 0, ""))
    return lacking(job, owed) is None


def shut_by_time(owed: Owed) -> bool:
    """Whether its time is over and nobody has yet given word that it may be done late all the same."""
    return owed.overdue and not owed.late_allowed


def due_here(job: Job) -> tuple[Owed, ...]:
    """Everything owed that must be done before the main line's present step may begin, in procedure order."""
    if job.at == END:
        return in_order(job, job.owed.values())
    node = job.procedure.by_id.get(job.at)
    return in_order(
        job, (owed for owed in job.owed.values() if node is not None and _due_at(job, owed, node))
    )


def in_order(job: Job, owed: Iterable[Owed]) -> tuple[Owed, ...]:
    """Owed work in procedure order; extra work, which has no place in it, comes last."""
    found = list(owed)
    if len(found) > 1:
        places = {name: place for place, name in enumerate(job.procedure.by_id)}
        found.sort(key=lambda one: places.get(one.node, len(places)))
    return tuple(found)


def only_by_last_chance(job: Job, owed: Owed) -> bool:
    """Whether the main line's present step insists on it for one reason alone: that its window opens no more."""
    node = job.procedure.by_id.get(job.at)
    chances = job.gates.last_chance.get(job.at, ())
    return (
        node is not None
        and owed.key in chances
        and not shut_by_time(owed)
        and not _due_by_itself(job, owed, node)
    )


def _due_at(job: Job, owed: Owed, node: Node) -> bool:
    if shut_by_time(owed) or (owed.key in job.gates.last_chance.get(node.id, ()) and ready(job, owed)):
        return True
    return _due_by_itself(job, owed, node)


def _due_by_itself(job: Job, owed: Owed, node: Node) -> bool:
    """Whether a step comes after owed work as the procedure has it, whatever the proof found besides."""
    if owed.kind == "put off":
        return _planned_due(job, owed, node)
    return uses(owed, node) or (owed.kind != "extra" and _last_condition(job, owed, node))


def uses(owed: Owed, node: Node) -> bool:
    """Whether a step goes by work that is owed off the plan: its hold point, a value worked with, an item acted on or
    needed.
    """
    if owed.kind == "extra":
        return False
    if owed.what.startswith(("reading", "worked out", "hold", "member")) and node.hold is not None:
        return True
    read = owed.what.removeprefix("reading ")
    if any(
        source == owed.node and (owed.kind == "unplanned" or name == read)
        for r in node.readings
        for name, source, _ in r.inputs
    ):
        return True
    item = owed.item
    return bool(item) and (
        any(act.item == item for act in node.acts) or any(t.name == item for t in node.needs)
    )


def _planned_due(job: Job, owed: Owed, node: Node) -> bool:
    put_off = job.procedure.by_id[owed.node].put_off
    return put_off is not None and comes_before(put_off, node, job.conditions)


def _last_condition(job: Job, owed: Owed, node: Node) -> bool:
    """Whether this step leaves the last condition ahead in which work off the plan can still be done."""
    leaving = {name: value for name, value in node.sets if job.conditions.get(name) != value}
    if not leaving or not ready(job, owed):
        return False
    step = job.procedure.by_id[owed.node]
    tests = _conditions(step)
    for act in step.acts:
        tests += [test for stage in job.procedure.item_by_key[act.item].stages for test in stage.only_when]
    ahead = sets_ahead(job.procedure, node.id)
    return any(
        test.name in leaving
        and leaving[test.name] not in test.values
        and not any((test.name, value) in ahead for value in test.values)
        for test in tests
    )


def sets_ahead(procedure: Procedure, start: str) -> frozenset[tuple[str, str]]:
    """Every (condition, value) that some step after `start` may set, on any path."""
    ahead = steps_ahead(procedure, start)
    return frozenset(change for name in ahead for change in procedure.by_id[name].sets)


def steps_ahead(procedure: Procedure, start: str) -> frozenset[str]:
    """Every step that may come after `start`, on any path; `start` itself where some way leads back to it."""
    if start not in procedure.by_id:
        return frozenset()
    seen: set[str] = set()
    waiting = list(procedure.by_id[start].onward)
    while waiting:
        name = waiting.pop()
        if name not in seen and name in procedure.by_id:
            seen.add(name)
            waiting += procedure.by_id[name].onward
    return frozenset(seen)
