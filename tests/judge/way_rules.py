"""Where the work goes: ways, guards, loops, put-offs and their windows, conditions and detours."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from tests.judge.book import Data
from tests.judge.gate_rules import gate_through, may_work
from tests.judge.scene import Debt, Visit

if TYPE_CHECKING:
    from tests.judge.bench import Bench

END, STOP, BACK = "end", "stop", "back"


def condition_set(b: "Bench", event: Data) -> None:
    """Conditions change only by a step that sets them, along an allowed change, when its gate is through."""
    s, name, value = b.scene, event["name"], event["value"]
    step = b.book.nodes.get(s.node, {})
    b.demand(
        [name, value] in [list(pair) for pair in step.get("sets", ())],
        "SETS",
        f"{s.node} does not set {event}",
    )
    now = s.found.get(name) or s.conditions.get(name, value)
    b.demand(
        b.book.may_become(name, now, value),
        "CHANGE",
        f"{name} from {now} to {value}",
    )
    if "go on" not in b.deviated:
        may_work(b, s.node)
        gate_through(b, s.node, "sets")
    b.sets_here.append((name, value))
    s.conditions = {**s.conditions, name: value}
    s.found.pop(name, None)


def step_done(b: "Bench", event: Data) -> None:
    """A step counts as done when its whole gate is through; then it leads where its answer says."""
    s, node = b.scene, event["node"]
    step = b.book.nodes[node]
    b.demand(node == s.node, "ORDER", f"{node} was done while {s.node} is in hand")
    going_on = "go on" in b.deviated
    if not going_on:
        if not b.sets_here and not step.get("joint"):
            may_work(b, node, ends=True)
        if not step.get("joint"):
            gate_through(b, node, "sets")
    for name, value in step.get("sets", ()):
        b.demand(
            s.conditions.get(name) == value and name not in s.found, "SETS", f"{node} did not set {name}"
        )
    s.done[node] = b.now
    s.trail.append(node)
    way = {"to": _past_the_stop(b, step.get("next", END))} if going_on else _way(b, step)
    b.demand(going_on or not stops(b, way), "STOP", f"{node} was called done though the work stops there")
    b.demand(event["to"] in (way["to"], ""), "WAY", f"{node} leads to {way['to']}, not to {event['to']}")
    if s.hand and not s.detour:
        b.expect.append(("owed_done", s.hand))
    else:
        b.expect += path(b, node, way)
    s.visit = Visit(node)


def _way(b: "Bench", step: Data) -> Data:
    visit = b.scene.visit
    if visit.late:
        return step["in_time"]["late"]
    if visit.hold == "refused":
        return step["hold"]["refused"]
    return b.book.exits(step).get(visit.answer) or {"to": step.get("next", END)}


def _past_the_stop(b: "Bench", target: str) -> str:
    """Going on must not stop again at a way back that is used up."""
    joint = b.book.nodes.get(target, {})
    while joint.get("joint") and joint.get("answers") and stops(b, joint["answers"][0]):
        target = joint.get("next", END)
        joint = b.book.nodes.get(target, {})
    return target


def stops(b: "Bench", way: Data) -> bool:
    """Whether a way stops here: as written, or because the ways back in it are used up."""
    while way.get("limit") and b.scene.loops.get(way["limit"]["id"], 0) >= way["limit"]["at_most"]:
        way = way["limit"]["then"]
    return way["to"] == STOP and not way.get("limit")


def leave_by(b: "Bench", way: Data) -> None:
    """Too late, or a hold point refused: the step is left undone along that way."""
    s = b.scene
    if stops(b, way):
        b.expect.append(("stopped_at", s.node))
    elif s.hand and not s.detour:
        b.expect.append(("owed_done", s.hand))
    else:
        b.expect += path(b, s.node, way)


def path(b: "Bench", node: str, way: Data) -> list[tuple[str, Any]]:
    """What must follow in the same entry: ways back counted, put-offs listed, the step come to."""
    found: list[tuple[str, Any]] = []
    loops = dict(b.scene.loops)
    while True:
        while way.get("limit"):
            limit = way["limit"]
            if loops.get(limit["id"], 0) < limit["at_most"]:
                loops[limit["id"]] = loops.get(limit["id"], 0) + 1
                found.append(("loop_taken", limit["id"]))
                break
            way = limit["then"]
        if way["to"] == STOP:
            return [*found, ("stopped_at", node)]
        target, more, joint = _walk(b, way["to"], [key for kind, key in found if kind == "listed"])
        found += more
        if joint is None:
            return [*found, ("detour_ended", "") if target == BACK else ("came_to", target)]
        node, way = target, joint


def _walk(b: "Bench", target: str, listed: list[str]) -> tuple[str, list[tuple[str, Any]], Data | None]:
    s, found = b.scene, []
    nodes = b.book.nodes
    while target in nodes:
        step = nodes[target]
        acts = step.get("acts", ())
        if s.unmet(step.get("guard", ())):
            target = step.get("skip", END)
        elif target in s.skipped or (
            acts and not step.get("sets") and all(act["item"] in s.absent for act in acts)
        ):
            target = step.get("next", END)
        elif step.get("joint") and not s.unmet(step.get("needs", ())):
            if step.get("answers"):
                return target, found, step["answers"][0]
            target = step.get("next", END)
        elif (
            step.get("put_off")
            and not s.detour
            and (
                target in s.owed
                or target in listed
                or step["put_off"].get("no_later")
                or s.window_shut(target, b.now, arriving=True)
            )
        ):
            if target not in s.owed and target not in listed:
                found.append(("listed", target))
                listed.append(target)
            target = step.get("next", END)
        else:
            break
    return target, found, None


def expected(b: "Bench", event: Data) -> bool:
    """Whether an event of the way is the one that must come now."""
    kind = event["kind"]
    names = {"loop_taken": "limit", "owed_done": "key", "detour_ended": ""}
    value = event.get(names.get(kind, "node"), "")
    if b.expect and b.expect[0] == (kind, value):
        b.expect.pop(0)
        return True
    if kind == "stopped_at" and not b.expect:
        step = b.book.nodes.get(value, {})
        way = _way(b, step)
        gate_through(
            b, value, "sets" if not b.scene.visit.late and b.scene.visit.hold != "refused" else "late"
        )
        return stops(b, way)
    if kind == "owed_done" and not b.expect and b.scene.hand == value and value not in b.scene.owed:
        return "not done" in b.deviated  # what was taken up is left undone: the deviation settled the debt
    if kind == "owed_done" and not b.expect and b.scene.hand == value and b.scene.scope:
        gate_through(b, b.scene.node, "sets")
        return True
    return bool(kind == "owed_done" and not b.expect and value.startswith("extra "))


def moved(b: "Bench", event: Data) -> None:
    """One event of the way."""
    s, kind = b.scene, event["kind"]
    if kind == "came_to" and s.phase == "preparing":
        _prepared(b)
        b.expect = path(b, "", {"to": b.book.first})
        while b.expect and b.expect[0][0] == "listed" and b.expect[0][1] in s.owed:
            b.expect.pop(0)
    if kind in ("listed", "loop_taken") and s.phase == "preparing" and not b.expect:
        b.expect = path(b, "", {"to": b.book.first})
    b.demand(expected(b, event), "WAY", f"{event} where {b.expect[:2] or 'nothing'} should follow")
    if kind == "loop_taken":
        s.loops[event["limit"]] = s.loops.get(event["limit"], 0) + 1
    elif kind == "listed":
        s.owed[event["node"]] = Debt(
            event["node"], "put off", event["node"], item=_item(b, event["node"]), listed_at=len(s.trail)
        )
    elif kind == "stopped_at":
        s.phase = "stopped"
    elif kind == "came_to" and s.detour:
        s.detour, s.visit = event["node"], Visit(event["node"])
    elif kind == "came_to":
        s.at, s.visit, s.phase = event["node"], Visit(event["node"]), "working"
        s.came = b.now
        b.judge_cues = True
    elif kind == "detour_ended":
        s.phase, s.detour, s.visit = s.aside.pop()
    elif kind == "owed_done":
        how, s.hand, s.visit = s.aside.pop()
        s.owed.pop(event["key"], None)
        s.phase = how
        b.judge_cues = True


def _item(b: "Bench", node: str) -> str:
    acts = b.book.nodes[node].get("acts", ())
    return acts[0]["item"] if acts else ""


def _prepared(b: "Bench") -> None:
    """Step 1 comes after every choice and every prerequisite, met or deviated from."""
    s, p = b.scene, b.book.procedure
    asked = {f"tool:{t['name']}" for t in p.get("tools", ())} | {
        f"part:{t['name']}" for t in p.get("parts", ())
    }
    asked |= {f"supply:{text}" for text in p.get("supplies", ())}
    asked |= {f"document:{text}" for text in p.get("documents", ())}
    asked |= {f"person:{role}" for role, _ in p["people"] if role != "performer"}
    asked |= {f"condition:{name}" for name in b.book.conditions}
    b.demand(asked <= s.met, "PREPARED", f"step 1 before {sorted(asked - s.met)}")
    missing = [c["name"] for c in p.get("choices", ()) if c["name"] not in s.choices]
    b.demand(not missing, "PREPARED", f"step 1 before {missing} was chosen")


def taken_up(b: "Bench", event: Data) -> None:
    """Owed work is taken up inside its window, between steps; its gate begins anew."""
    s, key = b.scene, event["key"]
    debt = s.owed.get(key)
    if debt is None:
        b.demand(False, "OWED", f"{key} was taken up and is not owed")
        return
    b.demand(not s.hand and not s.detour, "OWED", f"{key} was taken up while {s.hand or s.detour} is in hand")
    if debt.kind == "put off":
        shut = s.window_shut(debt.node, b.now)
        b.demand(not shut, "WINDOW", f"{key} was taken up outside its window: {shut}")
        b.demand(debt.late_allowed or not b.overdue(debt), "LATE", f"{key} was taken up too late")
        b.demand(not s.visit.begun, "WINDOW", f"{key} was taken up in the middle of {s.visit.node}")
    s.aside.append((s.phase, s.hand, s.visit))
    s.phase = "working"
    s.hand, s.visit = key, Visit(debt.node)


def put_off(b: "Bench", event: Data) -> None:
    """An unplanned put-off: of a step not begun, on one item at most, that sets nothing and chooses no way."""
    s, node = b.scene, event["node"]
    step = b.book.nodes[node]
    b.demand(bool(event["reason"].strip()), "REASON", f"{node} put off without a reason")
    b.demand(node == s.at and not s.hand and not s.detour, "ORDER", f"{node} is not in hand")
    b.demand(
        len({act["item"] for act in step.get("acts", ())}) <= 1, "SHAPE", f"{node} acts on several items"
    )
    b.demand(not step.get("sets") and not step.get("put_off"), "SHAPE", f"{node} cannot be put off")
    ways = [
        w
        for w in b.book.exits(step).values()
        if w.get("limit") or w["to"] not in (step.get("next", END), STOP)
    ]
    b.demand(not ways, "SHAPE", f"{node} chooses a way")
    later = any(
        t["kind"] == "answer" and t["name"] == node for n in b.book.nodes.values() for t in n.get("guard", ())
    )
    b.demand(not later, "SHAPE", f"a later step goes by the answer of {node}")
    turned = any(act not in s.visit.anew for act, _, _ in s.visit.turned)
    b.demand(not s.visit.acts and not s.visit.taken and not turned, "SHAPE", f"{node} was begun")
    b.demand(not s.due_now() or s.at == END, "DUE", f"{node} was put off while something is due")
    s.owed[node] = Debt(node, "unplanned", node, item=_item(b, node), passed_by=True)
    s.visit = Visit(node)
    b.expect = path(b, node, {"to": step.get("next", END)})


def window(b: "Bench", event: Data) -> None:
    """A cue that begins or ends."""
    s, opened = b.scene, event["kind"] == "window_opened"
    debt = s.owed.get(event["key"])
    if debt is None:
        b.demand(False, "OWED", f"{event} of what is not owed")
        return
    if debt.kind == "put off":
        shut = s.window_shut(debt.node, b.now)
        b.demand(not (opened and shut), "WINDOW", f"{event['key']} rang outside its window: {shut}")
    s.owed[event["key"]] = replace(debt, cued=opened, passed_by=False)


def passed_by(b: "Bench", event: Data) -> None:
    """A cue may be declined, but not where it is due."""
    s, key = b.scene, event["key"]
    if key not in s.owed:
        b.demand(False, "OWED", f"{key} was passed by and is not owed")
        return
    if key == s.hand and not s.detour:  # put down: nothing of it was done yet, or what was done is open again
        again = b.reopened and b.reopened in {act["item"] for act in b.book.nodes[s.node].get("acts", ())}
        debt = s.owed[key]
        done = sorted(s.visit.acts & set(debt.acts)) if (debt.kind, debt.what) == ("again", "acts") else []
        b.demand(sorted(event.get("done", ())) == done, "OWED", f"{key} was put down with {done} done of it")
        b.demand(bool(again or done) or not s.visit.acts, "OWED", f"{key} was put down in the middle")
        s.phase, s.hand, s.visit = s.aside.pop()
        s.owed[key] = replace(debt, passed_by=True, acts=tuple(act for act in debt.acts if act not in done))
        return
    b.demand(key not in [debt.key for debt in s.due_now()], "DUE", f"{key} was passed by though it is due")
    s.owed[key] = replace(s.owed[key], passed_by=True)


def cues_are_right(b: "Bench") -> None:
    """Between steps every open window of a put-off has rung, and no shut one."""
    s = b.scene
    if s.hand or s.detour or s.phase != "working":
        return
    for debt in s.owed.values():
        if debt.kind != "put off" or b.book.nodes[debt.node]["put_off"]["until"]["kind"] == "time":
            continue
        shut = s.window_shut(debt.node, b.now)
        b.demand(
            bool(shut) != (debt.cued or debt.passed_by), "CUE", f"{debt.key}: shut? {shut!r}, but {debt}"
        )


def wait_over(b: "Bench", event: Data) -> None:
    """A wait is over when the time since the step's last act has passed; without one, since the step before, or since
    work came here.
    """
    s, node = b.scene, event["node"]
    start = s.visit.acted_at or s.latest(s.trail[-1:]) or s.came
    early = s.surely_not_passed(start, b.now, b.book.nodes[node]["wait"])
    b.demand(not early or f"wait {node}" in s.told, "WAIT", f"the wait of {node} ended too early")
    s.visit.waited = True
    s.visit.begun = True


def too_late(b: "Bench", event: Data) -> None:
    """The answer *too late* comes from the clock alone."""
    s, node = b.scene, event["node"]
    limit = b.book.nodes[node]["in_time"]
    early = s.surely_not_passed(s.latest(limit["start"]), b.now, limit["within"])
    b.demand(not early or f"in time {node}" in s.told, "LATE", f"{node} was called too late too early")
    s.visit.late, s.visit.begun = True, True
    s.answers[node] = "too late"
    if b.scene.hand or not any(debt.kind == "again" for debt in b.scene.owed.values()):
        leave_by(b, limit["late"])
    # Else what was corrected in this step may be put right first; the way is held to later, when it is taken.


def found(b: "Bench", event: Data) -> None:
    """A condition is seen to differ from the record, or to agree with it again."""
    s, name, value = b.scene, event["name"], event["value"]
    s.to_confirm.discard(f"condition:{name}")
    s.found = {**s.found, name: value}
    if s.conditions.get(name) == value:
        s.found.pop(name)


def detour_began(b: "Bench", event: Data) -> None:
    """The way back leads to the recorded value."""
    s = b.scene
    ways = [dict(b.book.conditions[n].get("getting_there", ())).get(s.conditions.get(n, "")) for n in s.found]
    b.demand(event["node"] in ways, "DETOUR", f"{event['node']} does not lead back")
    s.aside.append((s.phase, s.detour, s.visit))
    s.phase = "working"
    s.detour, s.visit = event["node"], Visit(event["node"])


def hold_refused(b: "Bench", event: Data) -> None:
    """After the refusal of a hold point the work goes where the author says."""
    leave_by(b, b.book.nodes[event["node"]]["hold"]["refused"])
