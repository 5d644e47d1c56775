"""The motifs: steps that belong together, written on a sheet one after another and inside each other."""

from typing import Any

from tests.job.properties.dice import Dice
from tests.proof.sheet import Item, Sheet, Step, Steps
from tests.proof.waiting import put_off

MOST = 9


def compose(sheet: Sheet) -> Steps:
    """The whole main line."""
    dice = sheet.dice
    sheet.declare()
    steps: Steps = []
    snaps: list[tuple[str, Any]] = []
    for _ in range(dice.number(2, 5)):
        if len(steps) >= MOST - 2:
            break
        before = sheet.snapshot()
        made = _motif(sheet, snaps)
        snaps += [(entry["step"], before) for entry in made[:1] if "step" in entry]
        sheet.done += [e["step"] for e in made if "step" in e and "put off" not in e and "only if" not in e]
        steps += made
    steps += _closing(sheet)
    while sheet.hooks:
        steps.append(sheet.step())
    return steps


def _motif(sheet: Sheet, snaps: list[tuple[str, Any]]) -> Steps:
    dice = sheet.dice
    motifs = [_acts] * 5 + [_sets] * 4 + [_question] * 3 + [put_off] * 4 + [_gated] * 2
    motifs += [_readings, _sorted, _timed, _called, _plain]
    if sheet.variant:
        motifs.append(_variant)
    if sheet.sided:
        motifs.append(_sides)
    if snaps and dice.chance(12):
        return _back(sheet, snaps)
    return dice.pick(motifs)(sheet)


def _nested(sheet: Sheet, most: int = 2) -> Steps:
    """A few steps inside a way that leave everything as it was."""
    dice = sheet.dice
    sheet.depth += 1
    steps: Steps = []
    if sheet.depth < 3:
        for _ in range(dice.number(1, most)):
            steps += dice.pick((_plain, _pair, _pair, _round_trip, _question if sheet.depth < 2 else _plain))(
                sheet
            )
    sheet.depth -= 1
    if not steps:
        sheet.depth += 1
        steps = [sheet.step()]
        sheet.depth -= 1
    return steps


def _plain(sheet: Sheet) -> Steps:
    step = sheet.step()
    _needs(sheet, step)
    return [step]


def _needs(sheet: Sheet, step: Step) -> None:
    """What holds here, stated."""
    dice = sheet.dice
    if not dice.chance(35):
        return
    needs: dict[str, Any] = {}
    if sheet.now and dice.chance(60):
        name = dice.pick(list(sheet.now))
        needs[name] = sorted(sheet.now[name])
    free = [item for item in sheet.items.values() if not item.locked]
    if free and dice.chance(60):
        item = dice.pick(free)
        needs[item.name] = "final" if item.final else item.state
    if needs:
        step["needs"] = needs


def _acts(sheet: Sheet) -> Steps:
    """One act, sometimes several in one step."""
    dice = sheet.dice
    step = sheet.step()
    _needs(sheet, step)
    for _ in range(dice.pick((1, 1, 1, 2))):
        can = [(item, verb) for item in sheet.items.values() for verb in sheet.choices(item)]
        if not can:
            break
        item, verb = dice.pick(can)
        if item.name in str({k: v for k, v in step.items() if k not in ("do", "needs")}):
            break
        sheet.add_act(step, item, verb)
    return [step]


def _pair(sheet: Sheet) -> Steps:
    """A whole item opened and closed again."""
    whole = [item for item in sheet.items.values() if item.final and not item.locked]
    if not whole:
        return _plain(sheet)
    item = sheet.dice.pick(whole)
    uses = item.uses
    steps: Steps = []
    opening = [v for v in sheet.choices(item) if v != "re-tightens"]
    if not opening:
        return _plain(sheet)
    steps.append(sheet.act(item, sheet.dice.pick(opening)))
    while not item.final:
        verb = sheet.toward_final(item)[0]
        if verb.startswith("tightens") and not sheet.may_tighten(item, item.stages):
            _allow(sheet, item, steps)
        steps.append(sheet.act(item, verb))
    item.uses = max(item.uses, uses)
    return steps


def _allow(sheet: Sheet, item: Item, steps: Steps) -> None:
    """The conditions that the last stage asks for, where they can be brought about in one step."""
    for name, value in item.about["tighten"][-1].get("only when", {}).items():
        if sheet.now[name] != {value} and value in sheet.reachable(name) and sheet.depth == 0:
            steps.append(sheet.set_to(name, value))


def _sets(sheet: Sheet) -> Steps:
    """A change of condition."""
    if not sheet.conditions:
        return _acts(sheet)
    name = sheet.dice.pick(list(sheet.conditions))
    values = sheet.reachable(name)
    if not values:
        return _acts(sheet)
    step = sheet.set_to(name, sheet.dice.pick(values))
    return [step]


def _round_trip(sheet: Sheet) -> Steps:
    """A condition changed and changed back."""
    for name in sheet.conditions:
        before = sheet.now[name]
        if len(before) == 1:
            (was,) = before
            others = [v for v in sheet.reachable(name) if v != was]
            if others:
                steps = [sheet.set_to(name, sheet.dice.pick(others))]
                if was in sheet.reachable(name):
                    return [*steps, sheet.set_to(name, was)]
                return steps
    return _plain(sheet)


def _question(sheet: Sheet) -> Steps:
    """A question with nested ways; perhaps an item opened on one way and closed where that answer was given."""
    dice = sheet.dice
    ask = sheet.step(do=False, ask="How is it?")
    if dice.chance(30):
        del ask["ask"]
        ask |= {"do": "Look.", "look for": "How is it?"}
    labels = ("sound", "worn", "torn")[: dice.pick((2, 2, 3))]
    ask["answers"] = answers = {}
    opened: Item | None = None
    for label in labels:
        way: Any = "go on"
        if label != "sound":
            way = dice.pick(("go on", "stop", "nested", "nested", "opened"))
            if way == "nested":
                way = _nested(sheet)
                if dice.chance(15):
                    way.append("stop")
            elif way == "opened":
                way, opened = _opened(sheet, opened)
        answers[label] = way
    made: Steps = [ask]
    if sheet.depth == 0 and opened is None and dice.chance(40):
        label = dice.pick([x for x in labels if answers[x] != "stop"])
        step = sheet.step(only_if={ask["step"]: label})
        if dice.chance(50):
            made += [step]
        else:
            del step["only if"]
            made += [{"steps": [step, *_nested(sheet, 1)], "only if": {ask["step"]: label}}]
    if opened is not None:
        label = next(x for x in labels if isinstance(answers[x], list) and answers[x][0].get("mark") is None
                     and opened.name in str(answers[x]))  # fmt: skip
        made += _closed_there(sheet, opened, ask["step"], label)
    sheet.asked.append((ask["step"], labels))
    return made


def _opened(sheet: Sheet, already: Item | None) -> tuple[Any, Item | None]:
    whole = [
        item for item in sheet.items.values() if item.final and not item.locked and item.kind != "fastener"
    ]
    if already is not None or not whole or sheet.depth:
        return "go on", already
    item = sheet.dice.pick(whole)
    verbs = sheet.choices(item)
    if not verbs:
        return "go on", None
    sheet.depth += 1
    way = [sheet.act(item, verbs[0])]
    sheet.depth -= 1
    return way, item


def _closed_there(sheet: Sheet, item: Item, ask: str, label: str) -> Steps:
    between = [sheet.step()] if sheet.dice.chance(30) else []
    sheet.depth += 1
    step = sheet.act(item, sheet.toward_final(item)[0])
    sheet.depth -= 1
    if sheet.dice.chance(50):
        step["only if"] = {ask: label}
        return [*between, step]
    return [*between, {"steps": [step], "only if": {ask: label}}]


def _back(sheet: Sheet, snaps: list[tuple[str, Any]]) -> Steps:
    """A question that leads back to an earlier step where everything stood as it stands now."""
    dice = sheet.dice
    here = sheet.snapshot()
    same = [name for name, snap in snaps if snap == here]
    target = dice.pick(same) if same else dice.pick(snaps)[0]
    then: Any = dice.pick(("go on", "go on", "stop", "nested"))
    if then == "nested":
        then = _nested(sheet, 1)
    times = dice.pick((1, 1, 2))
    again = {"again": target, "at most": str(times), "then": then}
    way = [*_nested(sheet, 1), again] if dice.chance(40) else again
    step = sheet.step(do=False, ask="Again?", answers={"no": "go on", "yes": way})
    for item in sheet.items.values():
        item.uses *= 1 + times
    return [step]


def _readings(sheet: Sheet) -> Steps:
    """A reading, and later a value worked out from it."""
    dice = sheet.dice
    name = f"r{sheet.number + 1}"
    row: dict[str, Any] = {"what": "Gap", "name": name, "unit": "mm", "at most": "3 mm"}
    if dice.chance(20):
        row["second reading"] = "blind"
    step = sheet.step(read=[row])
    steps: Steps = [step]
    if dice.chance(60):
        steps += [sheet.step()] if dice.chance(30) else []
        other = f" + {dice.pick(sheet.read)}" if sheet.read and dice.chance(30) else ""
        work = {"what": "Sum", "name": f"w{sheet.number + 1}", "is": f"{name}{other}", "unit": "mm"}
        steps.append(sheet.step(work_out=[work | {"band": "none"}]))
    if sheet.depth == 0:
        sheet.read.append(name)
    return steps


def _sorted(sheet: Sheet) -> Steps:
    """A reading sorted into named bands."""
    dice = sheet.dice
    middle: Any = _nested(sheet, 1) if dice.chance(60) else "go on"
    above: Any = dice.pick(("stop", "go on"))
    bands = {"at most 0.05 mm": "go on", "up to 0.10 mm": middle, "above": above}
    row = {"what": "Runout", "name": f"r{sheet.number + 1}", "unit": "mm", "sorted": bands}
    return [sheet.step(read=[row])]


def _gated(sheet: Sheet) -> Steps:
    """A step with a hold point, or a wait."""
    dice = sheet.dice
    step = dice.pick((_plain, _acts))(sheet)[0]
    if dice.chance(30):
        step["wait"] = "10 min"
    if dice.chance(70):
        step["hold point"] = {"released by": "checker", "asks": "Is it right?"}
        refused = dice.pick(("stop", "none", "go on", "nested"))
        if refused == "nested":
            step["hold point"]["if refused"] = _nested(sheet, 1)
        elif refused != "none":
            step["hold point"]["if refused"] = refused
    return [step]


def _timed(sheet: Sheet) -> Steps:
    """A step that must follow another within a time."""
    dice = sheet.dice
    first: Steps = []
    start = dice.pick(sheet.done) if sheet.done and dice.chance(50) and sheet.depth == 0 else ""
    if not start:
        first = [sheet.step()]
        start = first[0]["step"]
    step = _plain(sheet)[0]
    late: Any = dice.pick(("stop", "go on", "nested", "again" if first else "go on"))
    if late == "nested":
        late = _nested(sheet, 1)
    elif late == "again":
        late = [*_nested(sheet, 1), {"again": start, "at most": "1", "then": dice.pick(("go on", "stop"))}]
    step["in time"] = {"from": start, "within": "10 min", "too late": late}
    if dice.chance(20):
        item_verbs = [(i, v) for i in sheet.items.values() for v in sheet.choices(i)]
        if item_verbs:
            sheet.add_act(step, *dice.pick(item_verbs))
    return [*first, step]


def _variant(sheet: Sheet) -> Steps:
    """A part that only some jobs have."""
    kit = sheet.dice.pick(("plain", "full"))
    inside = _nested(sheet)
    if len(inside) == 1 and sheet.dice.chance(50) and "only if" not in inside[0] and "step" in inside[0]:
        return [inside[0] | {"only for": {"kit": kit}}]
    return [{"steps": inside, "only for": {"kit": kit}}]


def _sides(sheet: Sheet) -> Steps:
    """The same at each side, on an item of its own."""
    number = len(sheet.items) + 1
    if number > 5:
        return _plain(sheet)
    kind, opens, closes = sheet.dice.pick((("cover", "takes off", "puts back"), ("valve", "opens", "shuts")))
    item = Item(f"i{number}", {"kind": kind, "each": "side"}, 0, "", locked=True)
    item.state = {"cover": "on", "valve": "shut"}[kind]
    sheet.items[item.name] = item
    sheet.depth += 1
    steps = [sheet.step(**{closes: [item.name]})]
    if sheet.dice.chance(50):
        item.about["at start"] = {"cover": "off", "valve": "open"}[kind]
    else:
        steps.insert(0, sheet.step(**{opens: [item.name]}))
    sheet.depth -= 1
    return [{"each": "side", "steps": steps}]


def _called(sheet: Sheet) -> Steps:
    """Another file, used here: it takes an item over, or leaves one open, or ends with a condition."""
    dice = sheet.dice
    if sheet.depth or sheet.used or sheet.contract:
        return _plain(sheet)
    sub = Sheet(Dice(dice.number(0, 9999)), name="part")
    sub.number, sub.depth = 50, 1
    sub.variant = sub.sided = False
    free = [item for item in sheet.items.values() if not item.locked and item.kind != "fastener"]
    steps: Steps = []
    inside: Steps = []
    if free and dice.chance(80):
        item = dice.pick(free)
        inner = Item(item.name, {k: v for k, v in item.about.items() if k != "at start"}, 0, item.state)
        sub.items[item.name] = inner
        if item.final and dice.chance(60) and sheet.choices(item):
            steps.append(sheet.act(item, sheet.choices(item)[0]))
            inner.state = item.state
        sub.contract["takes over"] = {item.name: inner.state}
        if dice.chance(75) and sub.choices(inner):
            inside.append(sub.act(inner, sub.choices(inner)[0]))
        item.state = inner.state
        item.uses += inner.uses
        if not inner.final:
            sub.contract["leaves open"] = {item.name: inner.state}
    if sheet.conditions and dice.chance(70):
        name = dice.pick(list(sheet.conditions))
        about = sheet.conditions[name]
        sub.conditions[name] = about | {"at start": sorted(sheet.now[name])}
        sub.now[name] = set(sheet.now[name])
        values = sub.reachable(name)
        if values and dice.chance(60):
            inside.append(sub.set_to(name, dice.pick(values)))
            sheet.now[name] = set(sub.now[name])
            sub.contract["ends with"] = {name: next(iter(sub.now[name]))}
    inside += _pair(sub) if sub.items and dice.chance(30) else []
    inside = inside or [sub.step()]
    if not sub.contract:
        sub.contract["ends with"] = {}
        del sub.contract["ends with"]
    sheet.used["part.yaml"] = sub.data(inside)
    return [*steps, {"use": "part.yaml"}]


def _closing(sheet: Sheet) -> Steps:
    """Everything that is still open and not waited for is closed."""
    steps: Steps = []
    for item in sheet.items.values():
        rounds = 0
        while not item.final and not item.locked and rounds < 4:
            rounds += 1
            verbs = sheet.toward_final(item)
            if not verbs:
                break
            if verbs[0].startswith("tightens") and not sheet.may_tighten(item, item.stages):
                _allow(sheet, item, steps)
            if (
                steps
                and sheet.dice.chance(45)
                and "sets" not in steps[-1]
                and item.name not in str(steps[-1])
            ):
                sheet.add_act(steps[-1], item, verbs[0])
            else:
                steps.append(sheet.act(item, verbs[0]))
    return steps
