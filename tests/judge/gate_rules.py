"""What must be there before an act, a reading, an answer or a release counts, and in which order."""

from decimal import Decimal
from typing import TYPE_CHECKING

from tests.judge import wrench_rules
from tests.judge.book import Data, inside, worked_out
from tests.judge.scene import person

if TYPE_CHECKING:
    from tests.judge.bench import Bench

NUMBERED = ("out of band", "other value", "by feel")


def may_work(b: "Bench", node: str, *, ends: bool = False) -> Data:
    """What holds for everything done at the gate of the step in hand; gives the step.

    With `ends` nothing new is done: a step that was through, but for its wait, comes to its end by itself.
    """
    s, step = b.scene, b.book.nodes.get(node, {})
    b.demand(s.phase in ("working", "stopped"), "PHASE", f"work at {node} while {s.phase}")
    b.demand(node == s.node, "ORDER", f"work at {node} while {s.node or 'nothing'} is in hand")
    b.demand(not s.paused, "PAUSED", "work while paused")
    b.demand(not s.to_confirm, "RECONFIRM", f"work before {sorted(s.to_confirm)} was compared")
    b.demand(not s.handover, "HANDOVER", f"work before {s.handover} took over")
    b.demand(
        s.detour or not s.found,
        "FOUND",
        f"work while {s.found} differs from the record",
    )
    for index, notice in enumerate(step.get("notices", ())):
        if notice["level"] != "notice":
            b.demand(index in s.visit.acked, "NOTICE", f"work at {node} before its notice {index}")
    if not ends:
        _nothing_due(b, node)
    _within_time(b, step)
    if "need" not in s.visit.waived:
        test = s.unmet(needs_now(b, step))
        b.demand(test is None, "NEEDS", f"work at {node} without {test}")
        for name, value in step.get("sets", ()):
            now = s.found.get(name) or s.conditions.get(name, value)
            b.demand(b.book.may_become(name, now, value), "CHANGE", f"{node}: {name} from {now} to {value}")
    s.visit.begun = True
    return step


def needs_now(b: "Bench", step: Data) -> list[Data]:
    """What a step needs still: its own acts change its own items, whose states are asked before the first act."""
    own = {act["item"] for act in step.get("acts", ())} if b.scene.visit.acted_at else set()
    return [t for t in step.get("needs", ()) if t["kind"] != "item" or t["name"] not in own]


def _nothing_due(b: "Bench", node: str) -> None:
    s = b.scene
    if s.hand or s.detour:
        return
    due = [debt.key for debt in s.due_now()]
    b.demand(not due, "DUE", f"work at {node} while {due} is due before it")
    overdue = [d.key for d in s.owed.values() if d.kind == "put off" and b.overdue(d) and not d.late_allowed]
    b.demand(not overdue, "DUE", f"work at {node} while {overdue} is overdue")
    if not s.visit.begun:
        cued = [d.key for d in s.owed.values() if d.kind == "put off" and d.cued and not d.passed_by]
        b.demand(not cued, "CUE", f"{node} was begun while the cue for {cued} stood")


def _within_time(b: "Bench", step: Data) -> None:
    """A limit counted from an earlier step, and the window of a step that was put off."""
    s, limit = b.scene, step.get("in_time")
    if (
        limit and not s.visit.late and not s.hand and s.phase != "stopped"
    ):  # it is judged when the work goes on
        b.demand(
            not s.surely_passed(s.latest(limit["start"]), b.now, limit["within"]),
            "LATE",
            f"{step['id']} too late",
        )
    debt = s.owed.get(s.hand)
    if step.get("put_off") and not s.detour and (debt is None or debt.kind == "put off"):
        shut = s.window_shut(step["id"], b.now)
        b.demand(not shut, "WINDOW", f"{step['id']} outside its window: {shut}")
        allowed = debt is not None and debt.late_allowed
        b.demand(allowed or not b.no_later(step["id"]), "LATE", f"{step['id']} after its no later than")


def part(b: "Bench", event: Data) -> None:
    """A new single-use part is at hand."""
    may_work(b, event["node"])
    b.scene.fresh.add(event["item"])


def _acts_before(b: "Bench", step: Data, index: int) -> None:
    """Acts come in the order written."""
    s = b.scene
    numbers = s.scope.acts if s.scope else range(len(step.get("acts", ())))
    missing = [
        n for n in numbers
        if n < index and n not in s.visit.acts and step["acts"][n]["item"] not in s.absent
    ]  # fmt: skip
    b.demand(not missing, "ORDER", f"act {index} of {step['id']} before {missing}")


def acted(b: "Bench", event: Data) -> None:
    """An act that is no tightening."""
    s, step = b.scene, may_work(b, event["node"])
    act, item = step["acts"][event["act"]], event["item"]
    b.demand(
        (act["item"], act["verb"]) == (item, event["verb"]), "ACT", f"{event} is not what {step['id']} asks"
    )
    b.demand(item not in s.absent, "ACT", f"{item} is not applicable")
    b.demand(s.exists(item), "ACT", f"{item} is not of this run")
    _acts_before(b, step, event["act"])
    after = b.book.after(item, act["verb"], s.state(item))
    b.demand(after == event["state"], "STATE", f"{act['verb']} {item}: {s.state(item)} to {event['state']}")
    if act["verb"] in ("starts", "fits") and b.book.items[item].get("new_every_time"):
        b.demand(item in s.fresh, "NEW PART", f"{act['verb']} {item} without a new part")
    if act["verb"] == "fits":
        s.fresh.discard(item)
    s.members[item] = [event["state"]] * len(s.members[item])
    s.undone.discard(item)
    _did(b, event["node"], item, event["act"])


def _did(b: "Bench", node: str, item: str, act: int | None) -> None:
    s = b.scene
    s.performers.setdefault(node, set()).add(person(b.who))
    s.visit.acted_at = b.now
    if item:
        s.touched.add(item)
    if act is not None:
        s.visit.acts.add(act)


def confirmed(b: "Bench", event: Data) -> None:
    """A step without acts on items."""
    step = may_work(b, event["node"])
    b.demand(not step.get("acts"), "ACT", f"{step['id']} was confirmed though it has acts")
    b.scene.visit.confirmed = True
    _did(b, event["node"], "", None)


def tightened(b: "Bench", event: Data) -> None:
    """One fastener at one stage: its turn, its order, its condition, its value."""
    s, step = b.scene, may_work(b, event["node"])
    act, item, number, member = step["acts"][event["act"]], event["item"], event["stage"], event["member"]
    b.demand(act["item"] == item and item not in s.absent, "ACT", f"{item} is not what {step['id']} tightens")
    _acts_before(b, step, event["act"])
    stage, state = b.book.stages(item)[number - 1], s.members[item][member - 1]
    test = s.unmet(stage.get("only_when", ()))
    b.demand(test is None, "ONLY WHEN", f"{item} stage {number} without {test}")
    if s.scope and s.scope.what.startswith("member"):
        b.demand(
            s.scope.what.endswith(f"|{item}|{number}|{member}"), "ORDER", f"{event} is not {s.scope.what}"
        )
        s.visit.acts.add(event["act"])
    elif act["verb"] == "re-tightens":
        b.demand(number == b.book.torque_stage(item), "ORDER", f"{item} re-tightened at stage {number}")
        b.demand(
            state in b.book.finals(item) and event["state"] == state,
            "STATE",
            f"{item} re-tightened at {state}",
        )
        _turn(b, event, stage, lambda m: (event["act"], number, m) in s.visit.turned)
    else:
        below = "started" if number == 1 else f"stage {number - 1}"
        b.demand(state == below and event["state"] == f"stage {number}", "STATE", f"{item} {member}: {state}")
        _turn(b, event, stage, lambda m: _reached(s.members[item][m - 1]) >= number)
        first, _ = b.book.span(act)
        for n in range(first, number):
            left = [m for m in stage_sequence(b, item, n) if _reached(s.members[item][m - 1]) < n]
            left = [m for m in left if not _left_out(b, event["act"], item, n, m)]
            b.demand(not left, "ROUND", f"{item}: round {number} before round {n} was through ({left})")
    _tightening_value(b, event, stage)
    wrench_rules.tightened(b, event, stage)
    s.members[item][member - 1] = event["state"]
    s.fresh.discard(item)
    s.visit.turned.add((event["act"], number, member))
    s.visit.anew.discard(event["act"])
    if s.visit.first_member == member:
        s.visit.first_member = 0
    if not _pending(b, event["act"], act):
        s.visit.acts.add(event["act"])
    b.entries_of[f"tighten {event['node']}|{item}|{number}|{member}"] = b.n
    s.values[f"tighten {event['node']}|{item}|{number}|{member}"] = {**event, "who": b.who}
    _did(b, event["node"], item, None)


def stage_sequence(b: "Bench", item: str, number: int) -> list[int]:
    """The order of a round as the procedure writes it out."""
    return list(b.book.stages(item)[number - 1].get("sequence", [1]))


def _reached(state: str) -> int:
    return int(state[6:]) if state.startswith("stage ") else 0 if state == "started" else -1


def _left_out(b: "Bench", act: int, item: str, number: int, member: int) -> bool:
    return f"member {act}|{item}|{number}|{member}" in b.scene.visit.waived


def _pending(b: "Bench", index: int, act: Data) -> bool:
    s, item = b.scene, act["item"]
    if act["verb"] == "re-tightens":
        stage = b.book.torque_stage(item)
        return any(
            (index, stage, m) not in s.visit.turned and not _left_out(b, index, item, stage, m)
            for m in stage_sequence(b, item, stage)
        )
    first, last = b.book.span(act)
    return any(
        _reached(s.members[item][m - 1]) < n and not _left_out(b, index, item, n, m)
        for n in range(first, last + 1)
        for m in stage_sequence(b, item, n)
    )


def _nothing_left(b: "Bench", index: int, act: Data) -> bool:
    """Whether all that an act would tighten is tight already."""
    return act["verb"] == "tightens" and not _pending(b, index, act)


def _turn(b: "Bench", event: Data, stage: Data, done) -> None:
    """The next of the round by its order, unless a deviation brought another one forward."""
    s, member = b.scene, event["member"]
    if s.visit.first_member == member:
        return
    left = [
        m for m in stage.get("sequence", [1])
        if not done(m) and not _left_out(b, event["act"], event["item"], event["stage"], m)
    ]  # fmt: skip
    b.demand(left[:1] == [member], "ROUND", f"{event['item']}: number {member} out of turn, next are {left}")


def _tightening_value(b: "Bench", event: Data, stage: Data) -> None:
    method, deviated = event.get("method", ""), set(b.deviated) & set(NUMBERED)
    if method == "by feel":
        b.demand("by feel" in deviated, "BY FEEL", f"{event['item']} by feel without a deviation")
        return
    allowed = ["snug"] if stage["kind"] == "snug" else stage.get("methods", [])
    b.demand(
        method in allowed or bool(deviated), "METHOD", f"{event['item']}: {method} where {allowed} is asked"
    )
    if method == "measured" and not deviated:
        b.demand(event.get("unit") == stage["unit"], "UNIT", f"{event['item']} in {event.get('unit')}")
        b.demand(
            inside(stage.get("band"), Decimal(event["value"])),
            "BAND",
            f"{event['item']}: {event['value']} outside {stage.get('band')}",
        )
    elif method == "by mark" or (method == "click" and not event.get("wrench_value")):
        known = act_tool(b, event) in b.scene.wrenches and stage["kind"] == "torque"
        b.demand(
            known or event.get("value") == stage.get("target"),
            "BAND",
            f"{event['item']}: the setting is not the target",
        )


def act_tool(b: "Bench", event: Data) -> str:
    """The tool that an act is done with."""
    return b.book.nodes[event["node"]]["acts"][event["act"]].get("tool") or ""


def gate_through(b: "Bench", node: str, upto: str) -> None:
    """Everything of the step's gate that comes before `upto` (reading, answer, hold, sets) is there."""
    s, step = b.scene, b.book.nodes[node]
    visit, scope = s.visit, s.scope
    narrow = scope.what if scope else ""
    if narrow in ("", "acts"):
        for index, act in enumerate(step.get("acts", ())):
            asked = scope is None or index in scope.acts
            b.demand(
                not asked or index in visit.acts or act["item"] in s.absent or _nothing_left(b, index, act),
                "GATE", f"{node}: {upto} before act {index} ({act['verb']} {act['item']})",
            )  # fmt: skip
        plain = scope is None and step.get("do") and not step.get("acts")
        b.demand(not plain or visit.confirmed, "GATE", f"{node}: {upto} before it was done")
        b.demand(step.get("wait") is None or visit.waited, "WAIT", f"{node}: {upto} before the wait was over")
    if narrow.startswith("member"):
        b.demand(bool(visit.acts) or "again" in visit.waived, "GATE", f"{node}: {upto} before {narrow}")
    if upto == "reading":
        return
    for reading in step.get("readings", ()):
        if narrow in ("", "acts") or narrow == f"reading {reading['name']}":
            _reading_there(b, node, reading, upto)
    if upto == "answer":
        return
    if b.book.asks_way(step) and narrow in ("", "acts"):
        asked = step.get("answers") or scope is None
        b.demand(not asked or bool(visit.answer), "GATE", f"{node}: {upto} before it was answered")
    if upto == "sets" and step.get("hold") and narrow in ("", "acts", "hold"):
        b.demand(visit.hold in ("released", "waived"), "HOLD", f"{node}: passed without its hold point")


def _reading_there(b: "Bench", node: str, reading: Data, upto: str) -> None:
    visit, name = b.scene.visit, reading["name"]
    if f"reading {name}" in visit.waived:
        return
    if reading.get("kind") == "worked out":
        b.demand(
            visit.within.get(name, False), "BAND", f"{node}: {upto} while {name} is missing or out of band"
        )
        return
    taken, times = visit.taken.get(name, 0), reading.get("times", 1)
    b.demand(taken >= times, "GATE", f"{node}: {upto} after {taken} of {times} readings of {name}")
    for index in range(1, times + 1):
        second = not reading.get("blind_second") or f"{name} {index}" in visit.seconds
        b.demand(second, "SECOND", f"{node}: {upto} without the second reading of {name}")


def reading_taken(b: "Bench", event: Data) -> None:
    """A value entered, by the performer or blind by a second person."""
    s, _step = b.scene, may_work(b, event["node"])
    name, second = event["name"], event.get("second", False)
    reading = b.book.reading(event["node"], name)
    if reading is None:
        b.demand(False, "READING", f"{name} is not asked at {event['node']}")
        return
    again = s.phase == "stopped"
    if not again:
        gate_through(b, event["node"], "reading")
    if second:
        b.demand(bool(reading.get("blind_second")), "SECOND", f"{name} asks for no second reading")
        b.demand(
            person(b.who) not in s.performers.get(event["node"], set()),
            "SECOND", f"{b.who} did {event['node']} and gave its second reading",
        )  # fmt: skip
    deviated = set(b.deviated) & {"out of band", "other value"}
    if reading.get("kind", "number") == "number" and not deviated:
        b.demand(
            event.get("unit") == (reading.get("unit") or "ratio"), "UNIT", f"{name} in {event.get('unit')}"
        )
        b.demand(
            inside(reading.get("band"), Decimal(event["value"])),
            "BAND",
            f"{name}: {event['value']} outside {reading.get('band')}",
        )
    wrench_rules.read_with(b, event, reading)
    if second:
        s.visit.seconds.add(f"{name} {event.get('index', 1)}")
    else:
        b.demand(
            again or event.get("index", 1) == s.visit.taken.get(name, 0) + 1,
            "READING",
            f"{name} is not the next",
        )
        s.visit.taken[name] = event.get("index", 1)
        s.performers.setdefault(event["node"], set()).add(person(b.who))
    key = f"read {event['node']}|{name}|{event.get('index', 1)}{'|second' if second else ''}"
    b.entries_of[key] = b.n
    s.values[key] = {**event, "who": b.who}


def worked(b: "Bench", event: Data) -> None:
    """A worked-out value: computed anew here, and held against its band."""
    s, name = b.scene, event["name"]
    reading = b.book.reading(event["node"], name) or {}
    given: dict[str, Decimal] = {}
    known = True
    for source, node, index in reading.get("inputs", ()):
        times = (b.book.reading(node, source) or {}).get("times", 1)
        held = s.values.get(f"read {node}|{source}|{index}")
        known = known and held is not None and held.get("unit") == (reading.get("unit") or "ratio")
        if held is not None and held.get("value"):
            given[source if times == 1 else f"{source}-{index}"] = Decimal(held["value"])
    value = worked_out(reading.get("formula", ""), given) if known and given else None
    within = event.get("within", True)
    if value is not None and event.get("value"):
        b.demand(abs(Decimal(event["value"]) - value) < Decimal("1e-6"), "WORKED OUT", f"{name}: {value}")
    if event.get("value"):
        b.demand(within == inside(reading.get("band"), Decimal(event["value"])), "BAND", f"{name}: {event}")
    else:
        b.demand(not within, "BAND", f"{name} has no value and yet is within")
    if s.node == event["node"]:
        s.visit.within[name] = within
        s.visit.begun = True
    s.values[f"read {event['node']}|{name}|1"] = {**event, "method": "worked out"}


def answered(b: "Bench", event: Data) -> None:
    """A look-for, a question, or a reading that fell into a named band."""
    s, step = b.scene, may_work(b, event["node"])
    label = event["label"]
    b.demand(label in b.book.exits(step), "ANSWER", f"{label!r} is no answer at {step['id']}")
    b.demand(s.phase != "stopped" or not s.visit.late, "ANSWER", "answered again after too late")
    gate_through(b, event["node"], "answer")
    if event.get("by") == "sorted":
        reading = next(r for r in step["readings"] if r.get("sorting"))
        held = s.values.get(f"read {step['id']}|{reading['name']}|{reading.get('times', 1)}", {})
        value = held.get("value") or ""
        right = next(
            (
                x["exit"]["label"]
                for x in reading["sorting"]
                if value and inside(x.get("band"), Decimal(value))
            ),
            None,
        )
        b.demand(right in (None, label), "SORTED", f"{value} was sorted as {label}, not {right}")
    s.visit.answer = s.answers[event["node"]] = label
    s.performers.setdefault(event["node"], set()).add(person(b.who))
    if s.phase == "stopped":
        s.phase = "working"


def hold(b: "Bench", event: Data) -> None:
    """A hold point, released or refused by somebody who did not do the work."""
    s, step = b.scene, may_work(b, event["node"])
    asks = step.get("hold") or {}
    b.demand(event["role"] == asks.get("role"), "HOLD", f"{step['id']} has no hold point of {event['role']}")
    b.demand(
        person(b.who) not in s.performers.get(step["id"], set()) and person(b.who) != person(s.performer),
        "HOLD", f"{b.who} did {step['id']} and released its hold point",
    )  # fmt: skip
    gate_through(b, step["id"], "hold")
    if s.phase == "stopped":
        s.phase = "working"
    if event["kind"] == "hold_released":
        s.visit.hold = "released"
        s.released[step["id"]] = b.n
        again = [d.key for d in s.owed.values() if d.kind == "again" and d.what != "hold" and not s.hand]
        b.demand(not again, "DUE", f"the hold point of {step['id']} was released while {again} is owed")
    else:
        s.visit.hold = "refused"
