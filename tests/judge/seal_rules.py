"""What a seal counts, counted again from the log's lines; written from `logs/README.md` alone."""

from collections import Counter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.judge.bench import Bench
    from tests.judge.chain import Line

SAYS = {
    "refused": "refusals",
    "corrected": "corrections",
    "asked_again": "corrections",
    "taken_back": "taken_back",
    "reopened": "reopened",
    "not_applicable": "not_applicable",
    "listed": "put_off",
    "put_off_unplanned": "put_off_unplanned",
    "passed_by": "passed_by",
    "order_changed": "order_changed",
    "hold_refused": "holds_refused",
    "extra_work_added": "extra_work",
    "condition_found": "conditions_found",
    "tool_changed": "tools_changed",
    "paused": "pauses",
    "handed_over": "handovers",
    "taken_over": "handovers",
    "opened": "taken_up_again",
}
"""What each event counts as."""


def counted(lines: "list[Line]") -> dict[str, int]:
    """The counts of everything before the seal, from the lines."""
    found: Counter[str] = Counter(dict.fromkeys(SAYS.values(), 0))
    for line in lines:
        events = [event["kind"] for event in line.data["events"]] if "events" in line.data else [line.kind]
        found.update(SAYS[kind] for kind in events if kind in SAYS)
    return dict(found)


def seal_alone(b: "Bench", lines: "list[Line]") -> None:
    """The seal's data, read alone, agree with the log: counts, what stays open, rehearsal, unproved."""
    seal, before, header = lines[-1], lines[:-1], lines[0].data
    if seal.kind != "seal":
        return
    b.n = seal.n
    data, event = seal.data, seal.data["events"][0]
    b.demand(data["count"] == len(before), "TALLY", f"{data['count']} entries, there are {len(before)}")
    b.demand(data.get("rehearsal") is header["rehearsal"], "TALLY", "rehearsal is not as the log began")
    b.demand(data.get("unproved") == header["unproved"], "TALLY", "unproved is not as the log began")
    items = [key for key in b.book.items if b.scene.exists(key) and not b.scene.is_final(key)]
    expected: dict[str, Any] = {
        **counted(before),
        "deviations": dict(Counter(each["deviation"] for each in b.scene.deviations)),
        "open_points": len(event.get("open_points", ())),
        "open_items": len(items),
        "owed": len(b.scene.owed),
    }
    stated = data.get("tally", {})
    for name in sorted(expected.keys() | stated.keys()):
        there, right = stated.get(name), expected.get(name)
        b.demand(there == right, "TALLY", f"{name} is {there}, the lines give {right}")
