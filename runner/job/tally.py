"""What a seal counts, so that it can be read alone: how often something unusual stands in the log."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any, Final

from runner.job.events import Sealed
from runner.job.state import Deviation

COUNTED: Final[Mapping[str, tuple[str, ...]]] = {
    "refusals": ("refused",),
    "corrections": ("corrected", "asked_again"),
    "taken_back": ("taken_back",),
    "reopened": ("reopened",),
    "not_applicable": ("not_applicable",),
    "put_off": ("listed",),
    "put_off_unplanned": ("put_off_unplanned",),
    "passed_by": ("passed_by",),
    "order_changed": ("order_changed",),
    "holds_refused": ("hold_refused",),
    "extra_work": ("extra_work_added",),
    "conditions_found": ("condition_found",),
    "tools_changed": ("tool_changed",),
    "pauses": ("paused",),
    "handovers": ("handed_over", "taken_over"),
    "taken_up_again": ("opened",),
}
"""What is counted, and the events (or the log's own entries) that count; taken back or not, each stands in the log."""

_OF: Final = {kind: name for name, kinds in COUNTED.items() for kind in kinds}


class Tally:
    """Counts the events of a run as they are recorded."""

    def __init__(self) -> None:
        self._counts: Counter[str] = Counter()

    def take(self, kinds: Iterable[str]) -> None:
        """Count the events of one recorded entry."""
        for kind in kinds:
            if kind in _OF:
                self._counts[_OF[kind]] += 1

    def at_seal(self, seal: Sealed, deviations: Iterable[Deviation]) -> dict[str, Any]:
        """The counts as the seal carries them: what stays open, deviations by kind, and everything above."""
        return {
            "open_points": len(seal.open_points),
            "open_items": len(seal.open_items),
            "owed": len(seal.owed),
            "deviations": dict(Counter(each.kind for each in deviations)),
            **{name: self._counts[name] for name in COUNTED},
        }
