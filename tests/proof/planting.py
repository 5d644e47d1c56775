"""Faults planted in a procedure as written: acts taken out, doubled or swapped, windows and changes bent, and so on.

A planted fault need not break anything on any run; the brute force says whether it does.
"""

from collections.abc import Callable, Iterator
from typing import Any

from runner.procedure.kinds import KINDS, states_of
from runner.procedure.read_steps import VERBS
from tests.job.properties.dice import Dice

Data = dict[str, Any]


def plant(dice: Dice, whole: Data) -> str:
    """Spoil one place; the name of what was done, or nothing where it found no place."""
    for _ in range(8):
        spoil = dice.pick(SPOILERS)
        if spoil(dice, whole):
            return spoil.__name__.strip("_")
    return "nothing"


def lists(whole: Data) -> list[list[Any]]:
    """Every list of entries, nested ones among them."""
    return [found for data in (whole["main"], *whole["used"].values()) for found in _lists(data["steps"])]


def _lists(entries: list[Any]) -> Iterator[list[Any]]:
    yield entries
    for entry in entries:
        if isinstance(entry, dict):
            for way in _ways(entry):
                if isinstance(way, list):
                    yield from _lists(way)


def _ways(entry: Data) -> Iterator[Any]:
    yield entry.get("steps")
    yield entry.get("then")
    yield from entry.get("answers", {}).values()
    yield entry.get("hold point", {}).get("if refused")
    yield entry.get("in time", {}).get("too late")
    for row in entry.get("read", ()):
        yield from row.get("sorted", {}).values()


def steps(whole: Data) -> list[Data]:
    """Every step."""
    return [
        entry for entries in lists(whole) for entry in entries if isinstance(entry, dict) and "step" in entry
    ]


def _acting(whole: Data) -> list[tuple[Data, str]]:
    return [(step, verb) for step in steps(whole) for verb in VERBS if verb in step]


def _drop_act(dice: Dice, whole: Data) -> bool:
    """An act left out."""
    acting = _acting(whole)
    if not acting:
        return False
    step, verb = dice.pick(acting)
    named = step[verb]
    if len(named) > 1:
        named.pop() if isinstance(named, list) else named.popitem()
    else:
        del step[verb]
        step.setdefault("do", "Look on.")
    return True


def _double_act(dice: Dice, whole: Data) -> bool:
    """An act done once more by another step."""
    acting = _acting(whole)
    if not acting:
        return False
    step, verb = dice.pick(acting)
    other = dice.pick(steps(whole))
    if verb in other or "put off" in other:
        return False
    other[verb] = step[verb] if isinstance(step[verb], dict) else list(step[verb])
    return True


def _swap(dice: Dice, whole: Data) -> bool:
    """Two neighbours change places."""
    long = [entries for entries in lists(whole) if len(entries) > 1]
    if not long:
        return False
    entries = dice.pick(long)
    n = dice.number(0, len(entries) - 2)
    if isinstance(entries[n + 1], str) or "again" in entries[n + 1]:
        return False
    entries[n], entries[n + 1] = entries[n + 1], entries[n]
    return True


def _move_off(dice: Dice, whole: Data) -> bool:
    """A step on one item is put off until something else."""
    entries = whole["main"]["steps"]
    places = [
        n for n, e in enumerate(entries[:-1]) if "step" in e and not {"sets", "in time", "answers"} & set(e)
    ]
    later = [e["step"] for e in entries if "step" in e]
    if not places:
        return False
    n = dice.pick(places)
    step = entries[n]
    after = [e["step"] for e in entries[n + 1 :] if "step" in e]
    earlier = [e["step"] for e in entries[:n] if "step" in e]
    if not after or later[-1] == step["step"]:
        return False
    first = dice.pick(after)
    until: Data = dice.pick(({"step": first}, {"at": first}))
    if dice.chance(20) and earlier:
        until = {"time": "20 min", "after": dice.pick(earlier)}
    conditions = whole["main"].get("conditions", {})
    if dice.chance(40) and conditions:
        name = dice.pick(list(conditions))
        until = {name: dice.pick(list(conditions[name]["changes"]))}
    step["put off"] = {"until": until, "before": dice.pick(("end", dice.pick(after))), "because": "it waits"}
    return True


def _put_offs(whole: Data) -> list[Data]:
    return [step["put off"] for step in steps(whole) if "put off" in step]


def _bend_window(dice: Dice, whole: Data) -> bool:
    """A window that waits for another value or another step."""
    found = _put_offs(whole)
    if not found:
        return False
    until = dice.pick(found)["until"]
    word = next(iter(until))
    conditions = whole["main"].get("conditions", {})
    if word in conditions:
        until[word] = dice.pick(list(conditions[word]["changes"]))
    else:
        word = "after" if "after" in until else word
        until[word] = dice.pick(steps(whole))["step"]
    return True


def _bend_due(dice: Dice, whole: Data) -> bool:
    """Something put off that is due before another step or change."""
    found = _put_offs(whole)
    if not found:
        return False
    put_off = dice.pick(found)
    conditions = whole["main"].get("conditions", {})
    if conditions and dice.chance(70):
        name = dice.pick(list(conditions))
        put_off["before"] = {name: dice.pick(list(conditions[name]["changes"]))}
    else:
        put_off["before"] = dice.pick(steps(whole))["step"]
    return True


def _too_soon(dice: Dice, whole: Data) -> bool:
    """A step that waits for another and comes before a change that stands between them."""
    entries = whole["main"]["steps"]
    setting = [n for n, e in enumerate(entries) if "sets" in e and n + 1 < len(entries)]
    if not setting:
        return False
    n = dice.pick(setting)
    after = [e["step"] for e in entries[n + 1 :] if "step" in e]
    if not after:
        return False
    waits = {"step": "soon", "do": "Paint it.", "put off": {
        "until": {"step": dice.pick(after)}, "before": dict(entries[n]["sets"]), "because": "it must rest",
    }}  # fmt: skip
    entries.insert(dice.number(0, n), waits)
    return True


def _forbid(dice: Dice, whole: Data) -> bool:
    """A change that is no longer allowed, alike in every file."""
    conditions = whole["main"].get("conditions", {})
    if not conditions:
        return False
    name = dice.pick(list(conditions))
    changes = conditions[name]["changes"]
    value = dice.pick(list(changes))
    if not changes[value]:
        return False
    gone = dice.pick(changes[value])
    for data in (whole["main"], *whole["used"].values()):
        if name in data.get("conditions", {}):
            row = data["conditions"][name]["changes"]
            row[value] = [v for v in row[value] if v != gone]
    return True


def _set_other(dice: Dice, whole: Data) -> bool:
    """A step that sets another value, or sets nothing."""
    setting = [step for step in steps(whole) if "sets" in step]
    if not setting:
        return False
    step = dice.pick(setting)
    name = next(iter(step["sets"]))
    value = dice.pick([*whole["main"]["conditions"][name]["changes"], ""])
    if value:
        step["sets"] = {name: value}
    else:
        del step["sets"]
    return True


def _need(dice: Dice, whole: Data) -> bool:
    """A step that needs a condition or an item at some state."""
    main = whole["main"]
    step = dice.pick([step for step in steps(whole) if step["step"] in str(main["steps"])])
    words: list[tuple[str, str]] = [
        (n, v) for n, c in main.get("conditions", {}).items() for v in c["changes"]
    ]
    for name, about in main.get("items", {}).items():
        words += [(name, state) for state in states_of(about["kind"], len(about.get("tighten", ())))]
    if not words:
        return False
    name, value = dice.pick(words)
    step.setdefault("needs", {})[name] = value
    return True


def _quiet(dice: Dice, whole: Data) -> bool:
    """Hazardous values that nobody is warned of."""
    conditions = whole["main"].get("conditions", {})
    if not conditions:
        return False
    name = dice.pick(list(conditions))
    value = dice.pick(list(conditions[name]["changes"]))
    for data in (whole["main"], *whole["used"].values()):
        if name in data.get("conditions", {}):
            data["conditions"][name]["hazardous"] = [value]
    for step in steps(whole):
        if dice.chance(80):
            for level in ("danger", "warning", "caution"):
                step.pop(level, None)
    return True


def _few_parts(dice: Dice, whole: Data) -> bool:
    """A parts list that is one short, or a group that is one larger."""
    main = whole["main"]
    single = [
        about for about in main.get("items", {}).values() if about["kind"] in ("fastener", "fitted part")
    ]
    if not single or (whole["used"] and dice.chance(80)):
        return False
    if main["parts"] == "none":
        main["parts"] = [{"name": "seal", "quantity": "1"}]
    quantity = int(main["parts"][0]["quantity"])
    if quantity > 1 and dice.chance(70):
        main["parts"][0]["quantity"] = str(quantity - 1)
    else:
        for about in single:
            about |= {"new": "every time", "part": "seal"}
            if about["kind"] == "fastener" and dice.chance(60):
                about["count"] = str(int(about.get("count", "1")) + 1)
    return True


def _only_if(dice: Dice, whole: Data) -> bool:
    """A step or part that only some runs come to."""
    entries = whole["main"]["steps"]
    asked = [(n, e) for n, e in enumerate(entries) if "answers" in e]
    conditions = whole["main"].get("conditions", {})
    if asked and dice.chance(60):
        n, ask = dice.pick(asked)
        later = [e for e in entries[n + 1 :] if "only if" not in e]
        test = {ask["step"]: dice.pick(list(ask["answers"]))}
    elif conditions:
        later = [e for e in entries if "only if" not in e]
        name = dice.pick(list(conditions))
        test = {name: dice.pick(list(conditions[name]["changes"]))}
    else:
        return False
    if not later:
        return False
    dice.pick(later)["only if"] = test
    return True


def _way(dice: Dice, whole: Data) -> bool:
    """An answer that leads elsewhere."""
    asking = [step for step in steps(whole) if "answers" in step]
    if not asking:
        return False
    step = dice.pick(asking)
    label = dice.pick(list(step["answers"]))
    step["answers"][label] = dice.pick(("go on", "stop"))
    return True


def _dead_end(dice: Dice, whole: Data) -> bool:
    """A question of which every answer stops, perhaps only where a condition stands at some value."""
    entries = whole["main"]["steps"]
    conditions = whole["main"].get("conditions", {})
    stop = {
        "step": "dead",
        "ask": "Which?",
        "answers": {"one": "stop", "two": [{"step": "sad", "do": "Sit."}, "stop"]},
    }
    starts = [(n, v) for n, c in conditions.items() for v in c["changes"]]
    if starts and dice.chance(50):
        name, value = dice.pick(starts)
        stop["only if"] = {name: value}
        entries.insert(dice.number(0, len(entries)), stop)
    else:
        entries.append(stop)
    return True


def _unread(dice: Dice, whole: Data) -> bool:
    """A reading that not every run takes, before a value worked out from it."""
    entries = whole["main"]["steps"]
    place = dice.number(0, len(entries))
    row = {"what": "Play", "name": "play", "unit": "mm", "at most": "1 mm"}
    reading: Data = {"step": "play", "do": "Measure.", "read": [row]}
    ask: Data = {"step": "ask-play", "ask": "Measure it?", "answers": {"no": "go on", "yes": [reading]}}
    asked = [e for e in entries[:place] if "answers" in e]
    conditions = whole["main"].get("conditions", {})
    if asked and dice.chance(40):
        other = dice.pick(asked)
        ask = reading | {"only if": {other["step"]: dice.pick(list(other["answers"]))}}
    elif conditions and dice.chance(30):
        name = dice.pick(list(conditions))
        ask = reading | {"only if": {name: dice.pick(list(conditions[name]["changes"]))}}
    elif dice.chance(20):
        ask["answers"]["no"] = "stop"
    sums = {"what": "Twice", "name": "twice", "is": "play × 2", "unit": "mm", "band": "none"}
    works: Data = {"step": "twice", "do": "Work it out.", "work out": [sums]}
    if isinstance(ask.get("answers"), dict) and dice.chance(30):
        works["only if"] = {"ask-play": dice.pick(("yes", "no"))}
    entries.insert(place, ask)
    entries.insert(dice.number(place + 1, len(entries)), works)
    return True


def _set_more(dice: Dice, whole: Data) -> bool:
    """A step that changes a condition besides what it does."""
    conditions = whole["main"].get("conditions", {})
    plain = [step for step in steps(whole) if not {"put off", "sets"} & set(step)]
    plain = [step for step in plain if step["step"] in str(whole["main"]["steps"])]
    if not conditions or not plain:
        return False
    name = dice.pick(list(conditions))
    dice.pick(plain)["sets"] = {name: dice.pick(list(conditions[name]["changes"]))}
    return True


def _contract(dice: Dice, whole: Data) -> bool:
    """A used file that promises something else."""
    if not whole["used"]:
        return False
    data = next(iter(whole["used"].values()))
    keys = [key for key in ("takes over", "leaves open", "ends with") if data.get(key)]
    conditions = data.get("conditions", {})
    if conditions and dice.chance(40):
        name = dice.pick(list(conditions))
        conditions[name]["at start"] = [dice.pick(list(conditions[name]["changes"]))]
        return True
    if not keys:
        return False
    key = dice.pick(keys)
    name = next(iter(data[key]))
    if key == "ends with":
        data[key][name] = dice.pick(list(conditions[name]["changes"]))
    else:
        about = data["items"][name]
        data[key][name] = dice.pick(KINDS[about["kind"]].states)
        about.pop("at start", None)
    return True


def _moment(dice: Dice, whole: Data) -> bool:
    """A stage that may only be done in one condition."""
    conditions = whole["main"].get("conditions", {})
    fasteners = [about for about in whole["main"].get("items", {}).values() if about["kind"] == "fastener"]
    if not conditions or not fasteners:
        return False
    name = dice.pick(list(conditions))
    value = dice.pick(list(conditions[name]["changes"]))
    dice.pick(dice.pick(fasteners)["tighten"])["only when"] = {name: value}
    return True


def _late(dice: Dice, whole: Data) -> bool:
    """A time limit on any step, late acts and all."""
    entries = whole["main"]["steps"]
    # A step that sorts or works out is left alone: the engine falls over one that is late before its reading.
    not_these = {"put off", "in time", "work out"}
    places = [
        n for n, e in enumerate(entries) if "step" in e and not not_these & set(e) and "sorted" not in str(e)
    ]
    if len(places) < 2:
        return False
    n = dice.pick(places[1:])
    start = dice.pick([entries[k]["step"] for k in places if k < n])
    if dice.chance(40):
        start = dice.pick(steps(whole))["step"]
    entries[n]["in time"] = {"from": start, "within": "5 min", "too late": dice.pick(("go on", "stop"))}
    return True


def _back(dice: Dice, whole: Data) -> bool:
    """A way back over whatever lies between."""
    entries = whole["main"]["steps"]
    places = [n for n, e in enumerate(entries) if "step" in e]
    n = dice.pick(places)
    way = {
        "again": entries[n]["step"],
        "at most": dice.pick(("1", "2")),
        "then": dice.pick(("go on", "stop")),
    }
    ask = {"step": "once-more", "ask": "Once more?", "answers": {"yes": way, "no": "go on"}}
    entries.insert(dice.number(n + 1, len(entries)), ask)
    return True


def _wakes(dice: Dice, whole: Data) -> bool:
    """Two steps that wait for each other, or one for another that waits itself."""
    waiting = [step for step in steps(whole) if "put off" in step]
    entries = whole["main"]["steps"]
    if not waiting:
        return False
    step = dice.pick(waiting)
    chained = {"step": "chained", "do": "Cover it.", "put off": {
        "until": {"step": step["step"]}, "before": "end", "because": "it hides the other",
    }}  # fmt: skip
    entries.insert(dice.number(0, len(entries)), chained)
    return True


WEIGHTS: dict[Callable[[Dice, Data], bool], int] = {
    _drop_act: 2, _double_act: 1, _swap: 3, _move_off: 1, _bend_window: 3, _bend_due: 1, _too_soon: 2, _forbid: 4,
    _set_other: 2, _set_more: 3, _need: 2, _quiet: 1, _few_parts: 3, _only_if: 2, _way: 1, _dead_end: 1, _unread: 1,
    _contract: 4, _moment: 2, _late: 2, _back: 2, _wakes: 1,
}  # fmt: skip
SPOILERS = tuple(spoil for spoil, weight in WEIGHTS.items() for _ in range(weight))
