"""Each event in one sentence: how a log is read aloud, by `review` and by line mode alike.

The sentences stand in one table, a template for each kind of event. `{field}` is a field of the event; a part
in square brackets is left out where a field inside it is empty. Field text is data, never read as a template.
"""

import re
from collections.abc import Mapping
from typing import Any

from msgspec.structs import asdict

from runner.job.events import Event, Held
from runner.procedure.linked import Procedure
from runner.review.held import band_words, extension_fitted, held_words, was_words, wrench_words
from runner.view import NO_WAY

_CLOCKS = {
    "running clock": "by the running clock",
    "wall clock": "by the wall clock",
    "person": "by a person's word",
}

TEMPLATES: Mapping[str, str] = {
    "started": "run started on {work_piece}[, {counters}]",
    "prerequisite_met": "ready: {prerequisite}[ ({value})]",
    "counted_in": "tool ready: {tool}[ ({identity})][, {wrench}]",
    "counted_out": "tool back: {tool}",
    "chosen": "{name} is {value}",
    "acknowledged": "notice {notice} read",
    "part_confirmed": "new part at hand for {item}[ (number {number})]",
    "acted": "{verb} {item}: now {state}",
    "confirmed": "done",
    "tightened": "{item}{member}: {held}: now {state}",
    "reading_taken": "{name}{index}{second}: {held}",
    "worked_out": "{name} worked out: {value} {unit}[ (band {band})]{outside}[, as {formula}][ from {inputs}]",
    "answered": "{by} {label}",
    "hold_released": "hold point released as {role}[: {said}]",
    "hold_refused": "hold point REFUSED as {role}[: {said}]",
    "waived": "let pass by deviation: {what}",
    "deviated": "deviation, {deviation}[ ({subject})]: {reason}[, value {raw}][, authority: {authority}]",
    "not_applicable": "not applicable: [{item}, ]{reason}",
    "order_changed": "{item}: number {member} comes first in the rest of the round",
    "condition_set": "{name} is now {value}",
    "step_done": "step done",
    "loop_taken": "way back taken once more",
    "came_to": "came to: {node}",
    "stopped_at": "STOPPED at {node}[: {label}]",
    "closing_began": "last step done; close-out begins",
    "listed": "put off as planned: {node}",
    "put_off_unplanned": "put off outside the plan: {node}: {reason}",
    "window_opened": "window open: {key}[, {basis}]",
    "window_closed": "window shut again: {key}",
    "overdue": "OVERDUE: {key}[, {basis}]",
    "taken_up": "taken up: {key}",
    "owed_done": "put-off work done: {key}",
    "owed_dropped": "no longer owed: {key}",
    "passed_by": "cue passed by: {key}[: {reason}]",
    "owed_again": "owed again: {node}[, {item}]: {why}",
    "wait_over": "wait over, {basis}",
    "too_late": "TOO LATE, {basis}",
    "time_told": "the clocks disagree; a person says that the time {has_passed}: {subject}",
    "corrected": "correction of {key}: {held}[ instead of {was}]: {reason}{stands}",
    "asked_again": "answer withdrawn, asked again: {node}: {reason}",
    "hold_lapsed": "hold point released earlier no longer counts: {node}",
    "taken_back": "taken back: the latest act was confirmed too soon[: {reason}]",
    "reopened": "reopened: {item}, now {state}: {reason}",
    "extra_work_added": "extra work ({key}): {text}",
    "extra_work_done": "extra work closed ({key})[: {said}]",
    "condition_found": "{name} was found to be {value}",
    "detour_began": "way back to the recorded condition begins: {node}",
    "detour_ended": "the recorded condition is restored",
    "noted": "note: {text}",
    "reproved": "the proof answers: {answer}",
    "tool_changed": "{tool} is from here on {identity}[, {wrench}]: {reason}",
    "extension_fitted": "{tool}: from here on {extension}",
    "paused": "paused[: {note}]",
    "resumed": "resumed",
    "reconfirmed": "compared with the hardware: {key}: {as_recorded}",
    "handover_offered": "hands over to {to}[: {note}]",
    "handed_over": "{to} has taken over; both have acknowledged",
    "taken_over": "{by} took over alone: {reason}",
    "close_out_confirmed": "close-out: {text}[: {said}]",
    "abandoning": "abandoning the run: {reason}",
    "made_safe": "made safe: {said}",
    "sealed": "run ended: {outcome}[: {reason}]",
    "left_proof": "PROGRAM ERROR: {item} is {state} at {node}, which the proof excludes; the run was stopped",
    "refused": "REFUSED {action}[ of {subject}][, typed {raw}]: {why}",
}

_OPTIONAL = re.compile(r"\[([^\[\]]*)\]")
_CAPITAL = re.compile(r"[A-Z]")
_FIELD = re.compile(r"\{([a-z_]+)\}")


class Names:
    """How the ids of one procedure are said: steps with their place, items by label."""

    def __init__(self, procedure: Procedure) -> None:
        self._procedure = procedure

    def node(self, node: str) -> str:
        """A step as `left: Fit the bush bolts finger tight.`; an unknown id as it is."""
        known = self._procedure.by_id.get(node)
        if known is None:
            return node
        return f"{known.place}: {known.title}" if known.place else known.title

    def step(self, node: str) -> tuple[str, str]:
        """Name and place of a step; an unknown id is its own name."""
        known = self._procedure.by_id.get(node)
        return (known.step, known.place) if known else (node, "")

    def item(self, key: str) -> str:
        """An item by name and place."""
        known = self._procedure.item_by_key.get(key)
        return known.label if known else key

    def count(self, key: str) -> int:
        """How many an item is (the bolts of a group)."""
        known = self._procedure.item_by_key.get(key)
        return known.count if known else 1

    def any(self, text: str) -> str:
        """Whatever a field of mixed meaning holds: an item, a step, a tool, or words already."""
        kind, _, name = text.partition(":")
        if kind == "tool" and name:
            return name
        return self.item(text) if text in self._procedure.item_by_key else self.node(text)

    def owed(self, key: str) -> str:
        """What is owed, by its key: the step it names, if it names one."""
        known = self._procedure.by_id
        return self.node(max((name for name in known if name in key), key=len, default=key))

    def formula(self, node: str, name: str) -> str:
        """How a value of a step is worked out, as the author wrote it; nothing where that is not known."""
        known = self._procedure.by_id.get(node)
        readings = known.readings if known else ()
        return next((reading.formula or "" for reading in readings if reading.name == name), "")

    def stages(self, key: str) -> int:
        """How many stages the tightening of an item has."""
        known = self._procedure.item_by_key.get(key)
        return len(known.stages) if known else 0

    def compared(self, key: str) -> str:
        """What is compared with the hardware after a resume: `step:ID`, `condition:NAME`, `tool:NAME`, …"""
        kind, _, name = key.partition(":")
        return {"step": self.node, "aid": self.item}.get(kind, str)(name) or key

    def recorded(self, key: str) -> str:
        """What a correction names: `tighten STEP|ITEM|STAGE|NUMBER`, `read STEP|NAME|TIME` or `answer STEP`."""
        kind, _, rest = key.partition(" ")
        parts = rest.split("|")
        if kind == "tighten" and len(parts) == 4:
            number = f" number {parts[3]}" if self.count(parts[1]) > 1 else ""
            stage = f", stage {parts[2]}" if self.stages(parts[1]) > 1 else ""
            return f"{self.item(parts[1])}{number}{stage}"
        if kind == "read" and len(parts) >= 3:
            second = ", second reading" if parts[3:] == ["second"] else ""
            return f"{parts[1]}{f' ({parts[2]})' if parts[2] != '1' else ''}{second}"
        return f"the answer at: {self.node(rest)}" if kind == "answer" else self.any(key)


def sentence(event: Event, names: Names) -> str:
    """Return an event in words. What people typed stands in it as typed: make it safe before printing."""
    kind = str(event.kind)
    return filled(TEMPLATES.get(kind, kind.replace("_", " ")), fields_of(event, names))


def filled(template: str, fields: Mapping[str, str]) -> str:
    """Return a template with its fields; optional parts whose fields are all there, the others left out."""

    def optional(match: re.Match[str]) -> str:
        part = match[1]
        return part if all(fields[name] for name in _FIELD.findall(part)) else ""

    return _FIELD.sub(lambda match: fields[match[1]], _OPTIONAL.sub(optional, template))


def fields_of(event: Event, names: Names) -> dict[str, str]:
    """Return every field of an event in words."""
    data: dict[str, Any] = {"kind": event.kind, **asdict(event)}
    fields = {name: "" if value is None else str(value) for name, value in data.items()}
    for name, say in (("node", names.node), ("item", names.item), ("key", names.any), ("subject", names.any)):
        if name in data:
            fields[name] = say(str(data[name]))
    if data.get("which"):
        fields["subject"] = f"{fields['subject']} {data['which']}".strip()
    if isinstance(event, Held):
        fields["held"] = held_words(event)
    if "wrench" in data:
        fields["wrench"] = wrench_words(data["wrench"]) if data["wrench"] else ""
    if data["kind"] == "extension_fitted":
        fields["extension"] = extension_fitted(data["extension"])
    if "low" in data:
        fields["band"] = band_words(data["low"], data["high"], str(data.get("unit", "")))
    for name, say_value in _SPECIAL.items():
        if name in data:
            fields[name] = say_value(data, names)
    if data["kind"] == "reconfirmed":
        fields["key"] = names.compared(str(data["key"]))
    if data["kind"] == "worked_out":
        fields["formula"] = names.formula(str(data["node"]), str(data["name"]))
    if data["kind"] == "refused":
        fields["action"] = _CAPITAL.sub(lambda match: f" {match[0].lower()}", str(data["action"])).strip()
    if data["kind"] == "corrected":
        fields["key"] = names.recorded(str(data["key"]))
    if data["kind"] == "prerequisite_met":
        fields["prerequisite"] = str(data["key"]).partition(":")[2]
    if data["kind"] == "reproved":
        fields["answer"] = _answer(data, names)
    if "within" in data:
        fields["outside"] = "" if data["within"] else ", OUTSIDE its band"
    return fields


def _answer(data: Mapping[str, Any], names: Names) -> str:
    """What the proof answered: what nothing closes any more first, then until where what is owed can wait."""
    parts = [f"{NO_WAY}: {words}" if key else words for key, words in data["lost"]]
    parts = parts or ["everything that is open can still be closed"]
    parts += [f"{names.owed(key)}: {words}" for key, words in data["until"]]
    return "; ".join(parts)


def _pairs(pairs: tuple[tuple[str, str], ...]) -> str:
    return ", ".join(f"{name} {value}" for name, value in pairs)


def _member(data: Mapping[str, Any], names: Names) -> str:
    if data["kind"] != "tightened":
        return str(data["member"])
    number = f" number {data['member']}" if names.count(str(data["item"])) > 1 else ""
    stages = names.stages(str(data["item"]))
    return f"{number}, stage {data['stage']} of {stages}" if stages > 1 else number


_SPECIAL: Mapping[str, Any] = {
    "was": lambda data, names: was_words(str(data["was"])),
    "counters": lambda data, names: _pairs(data["counters"]),
    "inputs": lambda data, names: _pairs(data["inputs"]),
    "member": _member,
    "index": lambda data, names: f" ({data['index']})" if data["index"] > 1 else "",
    "second": lambda data, names: ", second reading" if data["second"] else "",
    "by": lambda data, names: {"look": "seen:", "question": "answer:", "sorted": "sorted as"}.get(
        data["by"], data["by"]
    ),
    "has_passed": lambda data, names: "has passed" if data["has_passed"] else "has not passed",
    "stands": lambda data, names: "" if data["stands"] else " (the gate would now refuse it: owed again)",
    "as_recorded": lambda data, names: "as recorded" if data["as_recorded"] else "NOT as recorded",
    "basis": lambda data, names: _CLOCKS.get(data["basis"], data["basis"]),
    "notice": lambda data, names: str(data["notice"] + 1),
}
