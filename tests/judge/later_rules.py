"""Later words about earlier work: deviations, corrections, reopenings, what does not apply, taking back."""

from decimal import Decimal
from typing import TYPE_CHECKING

from tests.judge import wrench_rules
from tests.judge.book import Data, inside
from tests.judge.gate_rules import needs_now
from tests.judge.scene import Debt, Visit, person

if TYPE_CHECKING:
    from tests.judge.bench import Bench


_HELD = ("value", "raw", "unit", "wrench_value", "wrench_unit", "correction", "expanded", "conformity")
"""What a correction replaces of a value."""


def deviated(b: "Bench", event: Data) -> None:
    """A departure has a reason and an authority; a critical point needs another person's word."""
    s, node, subject = b.scene, event["node"], event.get("subject", "")
    b.demand(bool(event["reason"].strip()), "REASON", "a deviation without a reason")
    b.demand(bool(event.get("authority", "").strip()), "AUTHORITY", "a deviation without an authority")
    b.deviated.append(event["deviation"])
    s.deviations.append(event)
    critical = b.book.is_critical(node, subject) and s.phase not in ("preparing", "making safe")
    if subject in s.owed and not event.get("here"):
        debt = s.owed[subject]
        step = b.book.nodes.get(debt.node, {})
        critical = b.book.is_critical(debt.node, debt.item) or any(
            b.book.is_critical(debt.node, act["item"]) for act in step.get("acts", ())
        )
        critical = critical or any(r.get("critical") for r in step.get("readings", ()))
    by = person(event["authority"])
    if critical or event["deviation"] == "go on":
        b.demand(
            by not in (person(s.performer), person(b.who)), "AUTHORITY", f"{event} by the performer alone"
        )
    _follow(b, event)


def _follow(b: "Bench", event: Data) -> None:
    """What a deviation changes by itself."""
    s, subject, kind = b.scene, event.get("subject", ""), event["deviation"]
    if kind == "not available":
        b.demand(not subject.startswith("condition:"), "PREPARED", f"{subject} cannot be missing")
        s.met.add(subject)
    if kind == "go on":
        b.demand(s.phase == "stopped", "STOP", "going on without a stop")
        s.phase = "working"
    if kind == "late" and subject in s.owed:
        s.owed[subject] = Debt(**{**vars(s.owed[subject]), "late_allowed": True})
    if kind == "not done" and subject.startswith("tool:"):
        s.back.add(subject.removeprefix("tool:"))
    if kind == "not done" and subject in s.owed and not event.get("here"):
        debt = s.owed.pop(subject)
        acts = b.book.nodes.get(debt.node, {}).get("acts", ())
        # What is owed again is a part of its step: the rest of it was done and stays so.
        left = [acts[index] for index in debt.acts] if debt.kind == "again" else acts
        s.undone.update([*(act["item"] for act in left), *([debt.item] if debt.item else [])])
    if kind == "not done" and s.phase == "closing" and subject in b.book.items:
        s.undone.add(subject)


def waived(b: "Bench", event: Data) -> None:
    """A part of the gate is let go, in the entry of the deviation that says why."""
    s, what = b.scene, event["what"]
    b.demand(bool(b.deviated), "DEVIATION", f"{what} at {event['node']} was let go without a deviation")
    b.demand(event["node"] == s.node, "ORDER", f"{event['node']} is not in hand")
    s.visit.begun = True
    kind, _, rest = what.partition(" ")
    s.visit.waived.add(what.removesuffix("|last"))
    step = b.book.nodes[event["node"]]
    b.demand(
        all(i in s.visit.acked for i, n in enumerate(step.get("notices", ())) if n["level"] != "notice"),
        "NOTICE", f"{what} was let go before the notices were read",
    )  # fmt: skip
    if kind != "need" and "need" not in s.visit.waived:
        test = s.unmet(needs_now(b, step))
        b.demand(test is None, "NEEDS", f"{what} was let go at {event['node']} without {test}")
    if kind == "act":
        s.visit.acts.add(int(rest))
        s.undone.add(step["acts"][int(rest)]["item"])
    elif kind == "member":
        s.undone.add(rest.split("|")[1])
        if what.endswith("|last"):
            s.visit.acts.add(int(rest.split("|")[0]))
    elif kind == "wrench":
        index, item, number = rest.split("|")
        b.demand(
            "unfit tool" in b.deviated, "UNFIT", f"{what} was let go without saying that the tool is unfit"
        )
        b.demand(
            wrench_rules.trouble(b, int(index), item, int(number)), "UNFIT", f"nothing speaks against {what}"
        )
    elif kind == "confirm":
        s.visit.confirmed = True
    elif kind == "hold":
        b.demand("hold point" in b.deviated, "HOLD", f"the hold point of {event['node']} was let go")
        s.visit.hold = "waived"
    if kind != "hold":
        s.performers.setdefault(event["node"], set()).add(person(b.who))


def order_changed(b: "Bench", event: Data) -> None:
    """Another fastener first: a deviation."""
    b.demand("different order" in b.deviated, "ROUND", f"{event} without a deviation")
    b.scene.visit.first_member = event["member"]
    b.scene.visit.begun = True


def not_applicable(b: "Bench", event: Data) -> None:
    """Said of an item nothing was done to, or of a step that acts on nothing and sets nothing."""
    s, item = b.scene, event.get("item", "")
    b.demand(bool(event["reason"].strip()), "REASON", "not applicable without a reason")
    if item:
        b.demand(item not in s.touched, "NOT APPLICABLE", f"{item} was worked on already")
        s.absent.add(item)
        node = b.book.nodes.get(s.node, {})
        acts = node.get("acts", ())
        if acts and all(act["item"] in s.absent for act in acts) and not s.hand:
            b.leaves_if_moved = True
        return
    step = b.book.nodes[event["node"]]
    bare = not step.get("acts") and not step.get("sets") and not step.get("hold")
    b.demand(bare, "NOT APPLICABLE", f"{event['node']} acts or sets")
    s.skipped.add(event["node"])
    b.leaves_if_moved = True


def dropped(b: "Bench", event: Data) -> None:
    """A debt falls away only where its items are not there, or where a later one takes its place."""
    s = b.scene
    debt = s.owed.pop(event["key"], None)
    if debt is None:
        b.demand(False, "OWED", f"{event['key']} was dropped and is not owed")
        return
    acts = b.book.nodes.get(debt.node, {}).get("acts", ())
    absent = bool(acts) and all(act["item"] in s.absent for act in acts)
    replaced = debt.kind == "again" and debt.item == b.reopened
    righted = _righted(b, event["key"])
    withdrawn = debt.kind == "put off" and debt.listed_at == len(s.trail) and bool(b.withdrew)
    b.demand(absent or replaced or righted or withdrawn, "OWED", f"{event['key']} was dropped without cause")


def _righted(b: "Bench", key: str) -> bool:
    """Whether a later correction brought what is owed back into its band."""
    held = b.scene.values.get(key.removeprefix("correction "))
    if held is None or not key.startswith("correction ") or not held.get("value"):
        return False
    if "stage" in held:
        band = b.book.stages(held["item"])[held["stage"] - 1].get("band")
    else:
        band = (b.book.reading(held["node"], held["name"]) or {}).get("band")
    return band is None or inside(band, Decimal(held["value"]))


def corrected(b: "Bench", event: Data) -> None:
    """A correction meets the same gate as what it replaces; where that would refuse, it is owed."""
    s, key = b.scene, event["key"]
    old = s.values.get(key)
    b.demand(bool(event["reason"].strip()), "REASON", "a correction without a reason")
    if old is None:
        b.demand(False, "CORRECTION", f"{key} was never recorded")
        return
    if key.startswith("tighten "):
        band = b.book.stages(old["item"])[old["stage"] - 1].get("band")
        what, items = f"member {old['act']}|{old['item']}|{old['stage']}|{old['member']}", {old["item"]}
    else:
        reading = b.book.reading(old["node"], old["name"]) or {}
        band = reading.get("band") if reading.get("kind", "number") == "number" else None
        what = f"reading {old['name']}"
        items = {act["item"] for act in b.book.nodes[old["node"]].get("acts", ())}
    right = band is None or inside(band, Decimal(event["value"]))
    b.demand(event.get("stands", True) == right, "BAND", f"{key}: {event['value']} against {band}")
    if not right:
        b.must_owe.append((old["node"], what))
        b.must_lapse = [
            node for node, n in s.released.items()
            if n > b.entries_of.get(key, 0)
            and (node == old["node"] or items & {act["item"] for act in b.book.nodes[node].get("acts", ())})
        ]  # fmt: skip
    wrench_rules.corrected(b, event, old, band)
    s.values[key] = {**old, **{name: event.get(name, "") for name in _HELD}}
    if not key.endswith(
        "|second"
    ):  # who reads second has not done the step, nor has who corrects that reading
        s.performers.setdefault(old["node"], set()).add(person(b.who))


def owed_again(b: "Bench", event: Data) -> None:
    """A done step is owed once more, whole or in part."""
    debt = Debt(
        event["key"],
        "again",
        event["node"],
        event["what"],
        event.get("item", ""),
        tuple(event.get("acts", ())),
        cued=True,
    )
    b.scene.owed[event["key"]] = debt
    if b.scene.phase == "closing":  # what is owed comes before the end, so that the work is not over
        b.scene.phase = "working"


def lapsed(b: "Bench", event: Data) -> None:
    """A release that no longer counts."""
    b.scene.released.pop(event["node"], None)


def reopened(b: "Bench", event: Data) -> None:
    """An item is open again: holds on it lapse, its later steps are owed."""
    s, item = b.scene, event["item"]
    b.demand(bool(event["reason"].strip()), "REASON", "reopened without a reason")
    b.demand(
        b.book.rank(item, event["state"]) < b.book.rank(item, s.state(item)),
        "REOPEN",
        f"{item} at {s.state(item)}",
    )
    b.reopened = item
    b.must_lapse = [
        node for node in s.released if item in {act["item"] for act in b.book.nodes[node].get("acts", ())}
    ]
    here = set(
        event.get("acts", ())
    )  # acts of the step in hand itself, which are asked again at its own gate
    s.visit.acts -= here
    s.visit.anew |= here
    b.must_owe_item = "" if here else item
    s.members[item] = [event["state"]] * len(s.members[item])
    s.undone.discard(item)
    s.to_confirm -= {f"aid:{item}"} | {
        key for key in s.to_confirm
        if key.startswith("step:") and item in {act["item"] for act in b.book.nodes[key[5:]].get("acts", ())}
    }  # fmt: skip


def asked_again(b: "Bench", event: Data) -> None:
    """An answer is withdrawn where nothing was done on its strength."""
    s, node = b.scene, event["node"]
    in_hand = s.node == node and bool(s.visit.answer)
    left = s.trail[-1:] == [node] and not s.visit.begun and not s.hand and not s.detour
    b.demand(in_hand or left, "ASKED AGAIN", f"the work has gone on from {node}")
    b.demand(in_hand or not b.book.nodes[node].get("sets"), "ASKED AGAIN", f"{node} has set conditions")
    step, kept = b.book.nodes[node], Visit(node)
    kept.acked = {n for key, n in s.acked_ever if key == node}
    kept.acts = set(range(len(step.get("acts", ()))))
    kept.confirmed = kept.waited = kept.begun = True
    kept.acted_at = b.now
    for reading in step.get("readings", ()):
        if not reading.get("sorting"):
            kept.taken[reading["name"]] = reading.get("times", 1)
            kept.within[reading["name"]] = True
            kept.seconds |= {f"{reading['name']} {n}" for n in range(1, reading.get("times", 1) + 1)}
    s.at, s.visit, s.phase = node, kept, "working"
    s.answers.pop(node, None)
    b.withdrew = node
    if event.get("loop"):
        b.demand(s.loops.get(event["loop"], 0) > 0, "ASKED AGAIN", f"{event['loop']} was never taken")
        s.loops[event["loop"]] -= 1


def extra(b: "Bench", event: Data) -> None:
    """Extra work is owed before the end; on a resume it also says what differs."""
    s = b.scene
    s.owed[event["key"]] = Debt(event["key"], "extra", passed_by=True)
    if s.phase == "closing":
        s.phase = "working"
    s.to_confirm -= b.differs


def extra_done(b: "Bench", event: Data) -> None:
    """The extra work is closed."""
    if event["key"] == b.scene.hand:
        return
    b.demand(b.scene.owed.pop(event["key"], None) is not None, "OWED", f"{event['key']} is not owed")


def reproved(b: "Bench", event: Data) -> None:
    """The proof was asked anew, where there is one: its last chances replace those before."""
    b.demand(b.book.proved, "PROOF", "the proof answers in a run that has none")
    b.scene.last_chance = event.get("last_chance", {})
