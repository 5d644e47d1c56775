"""The motif of a step that waits: its window, its due point, and what it acts on until then."""

from typing import Any

from tests.proof.sheet import Item, Sheet, Steps


def put_off(sheet: Sheet) -> Steps:
    """A step that waits: what it acts on is closed by it, later; until its due point nothing else touches the item."""
    dice = sheet.dice
    steps: Steps = []
    free = [item for item in sheet.items.values() if not item.locked]
    item = dice.pick(free) if free and dice.chance(75) else None
    if item is not None and item.final:
        opening = [v for v in sheet.choices(item) if v != "re-tightens"]
        if opening:
            steps.append(sheet.act(item, dice.pick(opening)))
    if item is not None and item.kind == "fastener" and not item.final:
        while item.state in ("loosened", "out"):
            steps.append(sheet.act(item, "starts"))
    step = sheet.step()
    about: dict[str, Any] = {"because": "it must rest"}
    if item is not None:
        verbs = sheet.toward_final(item) or (["re-tightens"] if item.kind == "fastener" else [])
        if verbs:
            sheet.add_act(step, item, verbs[0])
        item.locked = True
    steps.append(step)
    conditioned = _until(sheet, about, item, steps)
    _before(sheet, about, item, conditioned)
    step["put off"] = about
    if dice.chance(15):
        step["hold point"] = {"released by": "checker", "asks": "Is it right?"}
    if dice.chance(15):
        free = [
            name for name, values in sheet.now.items() if len(values) == 1 and name in str(about["until"])
        ]
        if free:
            step["needs"] = {free[0]: about["until"].get(free[0], sorted(sheet.now[free[0]]))}
    return steps


def _until(sheet: Sheet, about: dict[str, Any], item: Item | None, steps: Steps) -> str:
    """The window; a condition brought about at once or later, where there is one."""
    dice = sheet.dice
    kind = dice.pick(("condition", "condition", "step", "step", "time", "at"))
    wanted = item.about["tighten"][-1].get("only when", {}) if item is not None and item.stages else {}
    if (kind == "condition" or wanted) and sheet.conditions:
        name, value = next(iter(wanted.items()), ("", ""))
        if not name:
            name = dice.pick(list(sheet.conditions))
            value = dice.pick(list(sheet.conditions[name]["changes"]))
        about["until"] = {name: value}
        if value in sheet.reachable(name):
            between = [sheet.step()] if dice.chance(50) else []
            steps += [*between, sheet.set_to(name, value)]
        return name
    if kind == "time" and sheet.done:
        about["until"] = {"time": "20 min", "after": dice.pick(sheet.done)}
    elif kind == "time" and len(steps) > 1:
        about["until"] = {"time": "20 min", "after": steps[0]["step"]}
    else:
        word = "at" if kind == "at" else "step"
        if sheet.depth == 0 and dice.chance(80):
            about["until"] = {}
            sheet.hooks.append((dice.number(1, 2), lambda name: about["until"].update({word: name})))
        else:
            later = sheet.step()
            steps.append(later)
            about["until"] = {word: later["step"]}
    return ""


def _before(sheet: Sheet, about: dict[str, Any], item: Item | None, conditioned: str) -> None:
    """When it is due at the latest; then the item is free again."""
    dice = sheet.dice
    about["before"] = "end"
    if sheet.depth:
        return
    if conditioned and dice.chance(50):
        others = [v for v in sheet.reachable(conditioned) if v != about["until"][conditioned]]
        if others:
            about["before"] = {conditioned: dice.pick(others)}
            return
    if dice.chance(40):

        def due(name: str) -> None:
            about["before"] = name
            if item is not None:
                item.locked = False

        wait = max([count for count, _ in sheet.hooks], default=1)
        at = "at" in about["until"] or dice.chance(30)
        sheet.hooks.append((wait if at else wait + dice.number(1, 2), due))
