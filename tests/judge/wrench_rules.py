"""Wrenches: what may be counted in, what may be set and read on one, what it gives the fastener, and the band.

Own arithmetic, in floats: T = S · (L + E · cos θ) / L (US Army TM 9-254), factors of units by their definitions from
scipy.constants. What the engine rounds to (a mark, ten digits) is allowed for; what lies on a limit may go either way.
"""

import math
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from scipy import constants

from tests.judge.book import Data, inside

if TYPE_CHECKING:
    from tests.judge.bench import Bench

_POUND, _FORCE = constants.pound * constants.g, constants.g
TORQUES = {
    "N·m": 1.0,
    "lbf·ft": _POUND * constants.foot,
    "lbf·in": _POUND * constants.inch,
    "ozf·in": _POUND * constants.inch / 16,
    "kgf·m": _FORCE,
    "kgf·cm": _FORCE / 100,
}
"""Each unit of torque in N·m."""

SETS = ("click", "fixed", "screwdriver")
LEAST_ARM = 0.25
NEAR = 1e-8
"""As near as a value that was rounded to ten digits comes."""

NUMBERED = ("out of band", "other value", "by feel")


def near(one: float, other: float) -> bool:
    """Whether two numbers are one, but for rounding."""
    return math.isclose(one, other, rel_tol=NEAR, abs_tol=1e-12)


def share(wrench: Data, extension: Data | None) -> float:
    """By how much an extension multiplies what is set."""
    if extension is None:
        return 1.0
    reach = float(extension["length"]) * math.cos(math.radians(float(extension.get("angle", "0"))))
    if abs(reach) < 1e-9:
        return 1.0
    return (float(wrench["length"]) + reach) / float(wrench["length"])


def given(wrench: Data, extension: Data | None, number: str, unit: str) -> float:
    """What a number on the wrench gives the fastener, in `unit`."""
    return float(number) * TORQUES[wrench["unit"]] / TORQUES[unit] * share(wrench, extension)


def to_set(wrench: Data, extension: Data | None, torque: str, unit: str) -> float:
    """What would have to be set, to the last digit, for a torque at the fastener."""
    return float(torque) * TORQUES[unit] / TORQUES[wrench["unit"]] / share(wrench, extension)


def marks_round(wrench: Data, exact: float) -> list[float]:
    """The marks just below and above a number, the highest of all among them."""
    if not wrench.get("graduation"):
        step = 10.0 ** (math.floor(math.log10(exact)) - 3)
        return [round(exact / step) * step]
    low, high, step = (float(wrench[name]) for name in ("low", "high", "graduation"))
    below = low + math.floor((exact - low) / step + 1e-9) * step
    return [below, below + step, *([high] if below < high < below + step else [])]


def nearest(wrench: Data, exact: float) -> list[float]:
    """The mark or marks that no other is nearer than."""
    around = marks_round(wrench, exact)
    least = min(abs(mark - exact) for mark in around)
    return [mark for mark in around if abs(mark - exact) <= least + 1e-9]


def in_range(wrench: Data, mark: float) -> bool:
    """Whether a mark is one of those on the wrench."""
    return float(wrench["low"]) - 1e-9 <= mark <= float(wrench["high"]) + 1e-9


# which wrench


def overdue(wrench: Data, b: "Bench") -> set[bool]:
    """Whether its calibration was due before today: both, where the date in another zone might be another one."""
    if not wrench.get("due_on"):
        return {False}
    today = datetime.fromtimestamp(b.now.wall / 1000, UTC).date()
    due = date.fromisoformat(wrench["due_on"])
    return {due < today + timedelta(days=days) for days in (-1, 0, 1)}


def reaches_none(b: "Bench", tool: str, wrench: Data) -> bool:
    """Whether a tool is asked for torques and this one can be set to none of them."""
    asked = {
        (stage["target"], stage["unit"])
        for node in b.book.nodes.values()
        for act in node.get("acts", ())
        if act.get("tool") == tool and act["verb"] in ("tightens", "re-tightens")
        for stage in b.book.stages(act["item"])
        if stage["kind"] == "torque" and stage.get("target") and stage.get("unit")
    }
    if not asked:
        return False
    if wrench["unit"] not in TORQUES:
        return True
    marks = [mark for torque, unit in asked for mark in nearest(wrench, to_set(wrench, None, torque, unit))]
    return not any(in_range(wrench, mark) for mark in marks)


def picked(b: "Bench", event: Data) -> None:
    """A tool is in hand from here on, with nothing fitted to it; an unfit one by a deviation alone."""
    s, tool, wrench = b.scene, event["tool"], event.get("wrench")
    s.extensions.pop(tool, None)
    s.wrenches.pop(tool, None)
    if not wrench:
        return
    s.wrenches[tool] = wrench
    let, late, short = "unfit tool" in b.deviated, overdue(wrench, b), reaches_none(b, tool, wrench)
    b.demand(let or late != {True}, "OVERDUE", f"{wrench['name']} was due on {wrench.get('due_on')}")
    b.demand(let or not short, "REACH", f"{wrench['name']} reaches none of the torques of {tool}")
    b.demand(not let or True in late or short, "UNFIT", f"nothing speaks against {wrench['name']}")
    name = f"{wrench['name']} {wrench.get('serial', '')}".strip()
    b.demand(event["identity"] == name, "COUNT", f"{event['identity']!r} is not {name!r}")


def extension_fitted(b: "Bench", event: Data) -> None:
    """An extension is put on a wrench whose length is known and leaves a quarter of it, or is taken off again."""
    s, tool, extension = b.scene, event["tool"], event.get("extension")
    wrench = s.wrenches.get(tool)
    b.demand(s.phase not in ("new", "sealed"), "PHASE", f"an extension while {s.phase}")
    if wrench is None:
        b.demand(False, "EXTENSION", f"nothing is known of {tool} that could be corrected for")
        return
    if not extension:
        b.demand(s.extensions.pop(tool, None) is not None, "EXTENSION", f"nothing was fitted to {tool}")
        return
    straight = abs(math.cos(math.radians(float(extension.get("angle", "0"))))) < 1e-12
    known = bool(wrench.get("length"))
    b.demand(known or straight or float(extension["length"]) == 0, "EXTENSION", f"{tool} has no length")
    b.demand(
        not known or share(wrench, extension) >= LEAST_ARM - 1e-9, "EXTENSION", f"{extension} leaves no arm"
    )
    s.extensions[tool] = extension


# what is set and read


def tightened(b: "Bench", event: Data, stage: Data) -> None:
    """A value by a wrench of the toolbox: how it was known, what it gave, whether it could be set at all."""
    s = b.scene
    act = b.book.nodes[event["node"]]["acts"][event["act"]]
    tool, method = act.get("tool") or "", event.get("method", "")
    wrench, extension = s.wrenches.get(tool), s.extensions.get(tool)
    if wrench is None or stage["kind"] != "torque" or not stage.get("target"):
        b.demand(not event.get("wrench_value"), "WRENCH", f"{event} without a wrench of the toolbox")
        banded(b, event, None, None, stage.get("band"))
        return
    if wrench["unit"] not in TORQUES:
        b.demand(method in ("by feel", ""), "WRENCH", f"{wrench['name']} measures no torque: {event}")
        return
    b.demand(wrench["name"] in event["tool"], "TOOL", f"{event['tool']} is not {wrench['name']}")
    let = f"wrench {event['act']}|{event['item']}|{event['stage']}" in s.visit.waived
    deviated = bool(set(b.deviated) & set(NUMBERED))
    if method in ("click", "measured") and not let and not deviated:
        fits = (method == "click") == (wrench["kind"] in SETS)
        b.demand(fits, "METHOD", f"{method} with a {wrench['kind']} wrench")
    if event.get("value") and method in ("click", "measured"):
        _gives(b, event, wrench, extension, stage["unit"])
        if method == "click":
            _set_right(b, event, wrench, extension, stage, let=let)
    banded(b, event, wrench, extension, stage.get("band"))


def _gives(b: "Bench", event: Data, wrench: Data, extension: Data | None, unit: str) -> None:
    number, shown = event.get("wrench_value") or event["value"], event.get("wrench_unit") or unit
    b.demand(shown == wrench["unit"], "WRENCH UNIT", f"{shown} on a wrench in {wrench['unit']}")
    b.demand(event["unit"] == unit, "UNIT", f"{event['item']} in {event['unit']}")
    right = given(wrench, extension, number, unit)
    b.demand(
        near(float(event["value"]), right),
        "WRENCH VALUE",
        f"{number} {shown} gives {right}, not {event['value']}",
    )
    corrected = not near(share(wrench, extension), 1.0)
    said = event.get("correction", "")
    b.demand(not corrected or bool(said), "EXTENSION", f"{extension} is not said with {event['value']}")
    named = extension is not None and f"{extension['length']} mm" in said
    b.demand(not said or named, "EXTENSION", f"{said!r} where {extension} is fitted")


def _set_right(
    b: "Bench", event: Data, wrench: Data, extension: Data | None, stage: Data, *, let: bool
) -> None:
    """The setting is the mark nearest to the torque asked, on the wrench, and keeps the band."""
    mark = float(event.get("wrench_value") or event["value"])
    right = nearest(wrench, to_set(wrench, extension, stage["target"], stage["unit"]))
    exact, step = (
        to_set(wrench, extension, stage["target"], stage["unit"]),
        float(wrench.get("graduation") or 0),
    )
    past = let and not any(in_range(wrench, each) for each in right)  # there are no marks to count there
    held = abs(mark - exact) <= step / 2 + 1e-3 * exact if past else any(near(mark, each) for each in right)
    b.demand(held, "MARK", f"{mark} was set where {right} is nearest")
    b.demand(let or in_range(wrench, mark), "RANGE", f"{mark} is not on {wrench['name']}")
    b.demand(let or inside(stage.get("band"), Decimal(event["value"])), "BAND", f"set to {event['value']}")


def trouble(b: "Bench", index: int, item: str, number: int) -> bool:
    """Whether something speaks against the wrench in hand for one stage, so that an act may be let through."""
    act = b.book.nodes[b.scene.node]["acts"][index]
    stage = b.book.stages(item)[number - 1]
    wrench = b.scene.wrenches.get(act.get("tool") or "")
    if wrench is None or stage["kind"] != "torque":
        return False
    if wrench["unit"] not in TORQUES:
        return True
    sets, extension = wrench["kind"] in SETS, b.scene.extensions.get(act["tool"])
    marks = nearest(wrench, to_set(wrench, extension, stage["target"], stage["unit"]))
    if not all(in_range(wrench, mark) for mark in marks):
        return True
    if not any((method == "click") == sets for method in stage.get("methods", ())):
        return True
    gives = [given(wrench, extension, str(mark), stage["unit"]) for mark in marks]
    return sets and not all(inside(stage.get("band"), Decimal(f"{value:.9g}")) for value in gives)


# the band


def uncertainty(wrench: Data, extension: Data | None, value: str, unit: str) -> float | None:
    """U at k = 2 of a value at the fastener, from the certificate; None without one."""
    certificate = wrench.get("certificate")
    if not certificate:
        return None
    stated, k = float(certificate["uncertainty"]), float(certificate.get("coverage", "2"))
    if certificate.get("unit", "%") == "%":
        return stated / 100 * abs(float(value)) * 2 / k
    if unit not in TORQUES:
        return stated * 2 / k  # the runs have certificates in the unit of the reading only
    amount = stated * TORQUES[certificate["unit"]] / TORQUES[unit] * share(wrench, extension)
    return amount * 2 / k


def verdicts(value: float, band: Data, u: float) -> set[str]:
    """In, out or too close with the guard band w = U; more than one where the value lies on a limit."""
    low, high = (None if band.get(name) is None else float(band[name]) for name in ("low", "high"))
    found = set()
    for step in (-1, 0, 1):
        moved = value + step * 1e-9 * max(1.0, abs(value))
        if (low is not None and moved < low - u) or (high is not None and moved > high + u):
            found.add("out")
        elif (low is None or moved >= low + u) and (high is None or moved <= high - u):
            found.add("in")
        else:
            found.add("too close")
    return found


def banded(b: "Bench", event: Data, wrench: Data | None, extension: Data | None, band: Data | None) -> None:
    """What is said of a value and its band: nothing where nothing is known, the bare band without a certificate."""
    said, expanded = event.get("conformity", ""), event.get("expanded", "")
    if wrench is None or band is None or not event.get("value"):
        b.demand(
            not said and not expanded, "CONFORMITY", f"{said!r}, {expanded!r} without band or tool: {event}"
        )
        return
    u = uncertainty(wrench, extension, event["value"], event["unit"])
    if u is None:
        b.demand(said == "bare band" and not expanded, "CONFORMITY", f"{said!r} without a certificate")
        return
    b.demand(bool(expanded) and near(float(expanded), u), "UNCERTAINTY", f"{expanded or 'nothing'}, not {u}")
    right = verdicts(float(event["value"]), band, u)
    b.demand(said in right, "CONFORMITY", f"{event['value']} with U = {u} is {right}, not {said!r}")


def read_with(b: "Bench", event: Data, reading: Data) -> None:
    """A reading: the first tool that its step names is what it was taken with, where that measures such a thing."""
    tools = b.book.nodes[event["node"]].get("tools", ())
    wrench, unit = b.scene.wrenches.get(tools[0] if tools else ""), reading.get("unit")
    same = wrench is not None and unit and (wrench["unit"] == unit or {wrench["unit"], unit} <= set(TORQUES))
    number = reading.get("kind", "number") == "number"
    banded(b, event, wrench if same else None, None, reading.get("band") if number else None)


def corrected(b: "Bench", event: Data, old: Data, band: Data | None) -> None:
    """A corrected value: as read on the wrench where nothing stood between, with the uncertainty of the first."""
    if event.get("wrench_value"):
        b.demand(
            event["wrench_unit"] == old.get("wrench_unit") and not old.get("correction"),
            "WRENCH UNIT", f"corrected as read in {event['wrench_unit']}: {old}",
        )  # fmt: skip
        right = float(event["wrench_value"]) * TORQUES[event["wrench_unit"]] / TORQUES[event["unit"]]
        b.demand(near(float(event["value"]), right), "WRENCH VALUE", f"{right}, not {event['value']}")
    elif old.get("wrench_unit") and not old.get("correction"):
        b.demand(False, "WRENCH UNIT", f"{event['value']} corrects what was read in {old['wrench_unit']}")
    said, known = event.get("conformity", ""), old.get("expanded", "")
    b.demand(event.get("expanded", "") == known, "UNCERTAINTY", f"{event.get('expanded')!r}, was {known!r}")
    if not known or band is None:
        bare = "bare band" if old.get("conformity") == "bare band" else ""
        b.demand(said == bare, "CONFORMITY", f"{said!r} where {bare!r} stood")
        return
    right_words = verdicts(float(event["value"]), band, float(known))
    b.demand(said in right_words, "CONFORMITY", f"corrected to {event['value']}: {said!r}, not {right_words}")
