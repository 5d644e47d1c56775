"""Beginning, people, pauses, and the end: what a seal may say."""

from typing import TYPE_CHECKING

from tests.judge import wrench_rules
from tests.judge.book import Data
from tests.judge.scene import person

if TYPE_CHECKING:
    from tests.judge.bench import Bench


def started(b: "Bench", event: Data) -> None:
    """A run begins once, on one work piece, with every counter asked."""
    s = b.scene
    b.demand(s.phase == "new", "PHASE", "a run begins once")
    b.demand(bool(event["work_piece"].strip()), "PREPARED", "no work piece")
    asked = {counter["name"] for counter in b.book.procedure.get("counters", ())}
    b.demand(asked == {name for name, _ in event.get("counters", ())}, "PREPARED", "a counter is missing")
    s.phase, s.performer = "preparing", b.who


def met(b: "Bench", event: Data) -> None:
    """A prerequisite is ready; the second person is another one."""
    s, key, value = b.scene, event["key"], event.get("value", "")
    b.demand(s.phase == "preparing", "PHASE", f"{key} while {s.phase}")
    if key.startswith("person:"):
        b.demand(value != "" and person(value) != person(s.performer), "PEOPLE", f"{key} is {value!r}")
    if key.startswith("condition:"):
        name = key.removeprefix("condition:")
        b.demand(value in b.book.conditions[name]["at_start"], "PREPARED", f"{name} is {value} at the start")
        s.conditions = {**s.conditions, name: value}
    s.met.add(key)


def counted_in(b: "Bench", event: Data) -> None:
    """A tool is counted in."""
    wrench_rules.picked(b, event)
    b.scene.met.add(f"tool:{event['tool']}")
    b.scene.tools.add(event["tool"])


def counted_out(b: "Bench", event: Data) -> None:
    """A tool is back."""
    b.demand(event["tool"] in b.scene.tools, "COUNT", f"{event['tool']} was never counted in")
    b.scene.back.add(event["tool"])


def resumed(b: "Bench", event: Data) -> None:
    """After a break the last three steps, the conditions, tools and aids are compared."""
    s, confirm = b.scene, set(event.get("confirm", ()))
    s.paused = False
    s.to_confirm = set(confirm)
    b.differs = set()
    if s.phase not in ("working", "stopped", "closing"):
        return
    steps = list(dict.fromkeys(reversed(s.trail)))[:3]
    asked = {f"step:{n}" for n in steps if not b.book.nodes[n].get("joint")}
    asked |= {f"condition:{name}" for name in s.conditions if name not in s.found}
    asked |= {f"aid:{k}" for k, item in b.book.items.items() if item["kind"] == "aid" and s.state(k) == "in"}
    asked |= {f"tool:{tool}" for tool in s.tools - s.back}
    b.demand(asked <= confirm, "RECONFIRM", f"not asked on resume: {sorted(asked - confirm)}")


def reconfirmed(b: "Bench", event: Data) -> None:
    """One thing was compared; what differs stays until it is said what it is."""
    if event.get("as_recorded"):
        b.scene.to_confirm.discard(event["key"])
    else:
        b.differs.add(event["key"])


def tool_changed(b: "Bench", event: Data) -> None:
    """Another tool of the same name."""
    b.demand(event["tool"] in b.scene.tools, "COUNT", f"{event['tool']} was never counted in")
    b.scene.to_confirm.discard(f"tool:{event['tool']}")
    wrench_rules.picked(b, event)


def handed_over(b: "Bench", event: Data) -> None:
    """Who was named takes over, by their own word."""
    s = b.scene
    same = person(event["to"]) == person(b.who) == person(s.handover)
    b.demand(same, "HANDOVER", f"{b.who} took over what was handed to {s.handover or 'nobody'}")
    s.performer, s.handover = event["to"], ""


def offered(b: "Bench", event: Data) -> None:
    """The performer hands over."""
    s = b.scene
    b.demand(person(b.who) == person(s.performer), "HANDOVER", f"{b.who} handed over for {s.performer}")
    b.demand(person(event["to"]) != person(s.performer), "HANDOVER", "a handover to oneself")
    s.handover = event["to"]


def taken_over(b: "Bench", event: Data) -> None:
    """Somebody takes over alone, with a reason."""
    b.demand(bool(event["reason"].strip()), "REASON", "taken over without a reason")
    s = b.scene
    s.performer, s.handover, s.paused = event["by"], "", False


def closing(b: "Bench", event: Data) -> None:
    """Close-out begins when the last step is done and nothing is owed."""
    s = b.scene
    b.demand(not s.owed and not s.hand, "DEBT", f"close-out while {list(s.owed)} is owed")
    b.demand(s.at not in b.book.nodes, "ORDER", f"close-out while at {s.at}")
    b.demand(not s.found, "FOUND", f"close-out while {s.found} differs")
    s.phase = "closing"


def closed_out(b: "Bench", event: Data) -> None:
    """One line of the close-out."""
    s = b.scene
    b.demand(s.phase == "closing", "PHASE", f"close-out while {s.phase}")
    if event.get("said") == "not done":
        last = event["line"] >= len(b.book.procedure.get("close_out", ()))
        b.demand(
            "not done" in b.deviated or last, "DEVIATION", "a close-out line left undone without a deviation"
        )
    s.closed_out.add(event["line"])


def abandoning(b: "Bench", event: Data) -> None:
    """A run is abandoned with a reason, through the author's make-safe lines for what is the case."""
    s = b.scene
    b.demand(bool(event["reason"].strip()), "REASON", "abandoned without a reason")
    now = {s.found.get(name, value) for name, value in s.conditions.items()} | {"always"}
    lines = [line for value, of in b.book.procedure.get("make_safe", ()) if value in now for line in of]
    b.demand(list(event.get("lines", ())) == lines, "MAKE SAFE", f"{event.get('lines')} instead of {lines}")
    s.phase, s.safe_lines, s.safe = "making safe", len(lines), set()
    s.paused, s.to_confirm, s.handover = False, set(), ""


def sealed(b: "Bench", event: Data) -> None:
    """What a seal says is so."""
    s, outcome = b.scene, event["outcome"]
    b.outcome = outcome
    _open_points(b, event)
    open_items = [k for k in b.book.items if s.exists(k) and not s.is_final(k)]
    b.demand(len(event.get("open_items", ())) == len(open_items), "SEAL", f"open items are {open_items}")
    if outcome == "abandoned":
        b.demand(s.phase == "making safe", "PHASE", "abandoned without making safe")
        b.demand(len(s.safe) == s.safe_lines, "MAKE SAFE", "a make-safe line was left")
        s.phase = "sealed"
        return
    b.demand(s.phase == "closing", "PHASE", f"sealed as {outcome} while {s.phase}")
    b.demand(not s.owed and not event.get("owed"), "DEBT", f"sealed with {list(s.owed)} owed")
    b.demand(not s.tools - s.back, "COUNT", f"sealed without {s.tools - s.back}")
    lines = set(range(len(b.book.procedure.get("close_out", ())) + 1))
    b.demand(lines <= s.closed_out, "CLOSE OUT", f"lines {lines - s.closed_out} were left")
    b.demand(not s.found, "FOUND", f"sealed while {s.found} differs")
    b.demand(not s.paused and not s.handover and not s.to_confirm, "PAUSED", "sealed while away")
    if outcome == "finished":
        b.demand(not s.deviations, "SEAL", f"finished with open points: {s.deviations[:2]}")
        b.demand(not open_items, "OPEN ITEM", f"finished with {open_items} open")
    else:
        b.demand(bool(s.deviations), "SEAL", "finished with open points, but there is none")
        bare = [item for item in open_items if item not in s.undone]
        b.demand(not bare, "OPEN ITEM", f"{bare} are open and no deviation says so")
    s.phase = "sealed"


def _open_points(b: "Bench", event: Data) -> None:
    """The seal lists exactly what the deviations name, in order."""
    points, deviations = event.get("open_points", ()), b.scene.deviations
    b.demand(len(points) == len(deviations), "SEAL", f"{len(points)} points, {len(deviations)} deviations")
    for point, deviation in zip(points, deviations, strict=False):
        said = point.startswith(deviation["deviation"]) and deviation["reason"] in point
        b.demand(said and deviation["authority"] in point, "SEAL", f"{point!r} is not {deviation}")
