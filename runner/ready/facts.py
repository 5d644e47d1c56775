"""What stands on a ready sheet, as data: each part of it a record, with the words of the procedure unchanged.

Times are milliseconds; torques and settings are shown text in the units they are asked and set in.
"""

from runner.frozen import Frozen
from runner.joint.sourced import Source
from runner.ready.estimate import Estimate


class Use(Frozen):
    """A step that needs something, at its places; `when` says when it is done, empty for always.

    `one_place`: only one of the places is done, the one chosen at the start.
    """

    step: str
    places: tuple[str, ...]
    when: str
    one_place: bool = False


class Offer(Frozen):
    """One of the shop's tools for a tool of the procedure, the best first; unfit ones say what is against them.

    `by_range`: nothing is known of it but that it measures such a thing over such a range.
    """

    tool: str
    words: str
    fits: bool
    by_range: bool


class ToolLine(Frozen):
    """A tool to lay out."""

    name: str
    covers: str
    uses: tuple[Use, ...]
    offers: tuple[Offer, ...]


class PartLine(Frozen):
    """A part to lay out. `single_use` names the items that take a new one each time; `most` is how many the longest
    way uses up, None where that is not decided or nothing is used up.
    """

    name: str
    number: str
    quantity: int
    single_use: tuple[str, ...]
    most: int | None
    uses: tuple[Use, ...]


class AidLine(Frozen):
    """An aid or a lock that a step puts in or on, and that must be at hand by then."""

    name: str
    uses: tuple[Use, ...]


class HelperLine(Frozen):
    """What a helper does at a step."""

    use: Use
    words: str


class StartLine(Frozen):
    """What a condition or an item must be at the start; one of several values is asked then."""

    name: str
    values: tuple[str, ...]


class SettingLine(Frozen):
    """One of the shop's wrenches for one torque. `text` is what is set on it or read to, empty where neither goes."""

    wrench: str
    fits: bool
    reads: bool
    text: str = ""
    applied: str = ""
    error: str = ""
    warning: str = ""
    against: tuple[str, ...] = ()
    from_memory: bool = False


class StageLine(Frozen):
    """One stage of a tightening. `target` is the torque or angle asked, empty for snug; `other` the same in the shop's
    unit, where that is another one. `settings` stand best first; `order_sources`: what the order of a group rests on.
    """

    number: int
    kind: str
    target: str
    other: str
    band: str
    share: str
    final_pass: bool
    order: str
    only_when: str
    methods: tuple[str, ...]
    uses: tuple[Use, ...]
    settings: tuple[SettingLine, ...]
    order_sources: tuple[Source, ...] = ()


class TighteningLine(Frozen):
    """A fastener or group that is tightened, at all its places; `about` tells thread, class, how it is assembled."""

    item: str
    places: tuple[str, ...]
    one_place: bool
    count: int
    thread: str
    strength: str
    about: str
    critical: bool
    stages: tuple[StageLine, ...]


class PutOffLine(Frozen):
    """Work that waits: until when, before what, why, and how long at the latest (ms and after which steps)."""

    use: Use
    title: str
    until: str
    before: str
    because: str
    no_later: tuple[int, tuple[str, ...]] | None


class Sheet(Frozen):
    """A whole ready sheet. `errors` counts what the proof finds wrong."""

    title: str
    procedure: str
    revision: str
    fits: str
    sources: tuple[str, ...]
    day: str
    proved: bool
    errors: int
    toolbox: tuple[str, ...]
    toolbox_errors: int
    tools_in_box: int
    people: tuple[tuple[str, int], ...]
    holds: tuple[tuple[Use, str], ...]
    seconds: tuple[tuple[Use, str], ...]
    helpers: tuple[HelperLine, ...]
    conditions: tuple[StartLine, ...]
    choices: tuple[StartLine, ...]
    states: tuple[StartLine, ...]
    counters: tuple[tuple[str, str], ...]
    tools: tuple[ToolLine, ...]
    aids: tuple[AidLine, ...]
    parts: tuple[PartLine, ...]
    supplies: tuple[str, ...]
    documents: tuple[str, ...]
    tightenings: tuple[TighteningLine, ...]
    estimate: Estimate
    put_off: tuple[PutOffLine, ...]
    follow_up: tuple[tuple[str, str], ...]
