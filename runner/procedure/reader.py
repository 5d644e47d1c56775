"""A procedure file read into its typed source, with every error of the file at its place.

    file -> page (YAML as texts with places) -> Source (typed, each part with its place)

Nothing is resolved across the file or into other files: that is the linker's. What can be judged from one
field or one construct alone is judged here.
"""

from pathlib import Path

from runner.procedure.desk import Desk, Fields
from runner.procedure.finding import Finding
from runner.procedure.page import Page, read_page
from runner.procedure.read_head import (
    read_conditions,
    read_counters,
    read_follow_ups,
    read_list_or_none,
    read_locations,
    read_parts,
    read_people,
    read_tolerances,
    read_tools,
    read_variants,
)
from runner.procedure.read_items import read_items
from runner.procedure.read_notices import read_standing
from runner.procedure.read_values import read_assignments
from runner.procedure.read_ways import WayReader
from runner.procedure.source import Contract, Name, Source
from runner.procedure.tree import Node, Table

FORMAT = "1"
"""The version of the format that this reader knows."""

_NEEDED = (
    "format", "procedure", "title", "revision", "fits", "sources", "people", "tools", "parts", "supplies",
    "steps", "close out",
)  # fmt: skip
_CONTRACT = ("takes over", "leaves open", "ends with")
KEYS = (
    *_NEEDED, "conditions", "locations", "variants", "tolerance", "counters", "documents", "standing",
    "items", "follow up", "make safe", *_CONTRACT,
)  # fmt: skip
"""Every key at the top of a procedure file."""


def read_procedure(source: Path | bytes, name: str | None = None) -> tuple[Source | None, list[Finding]]:
    """Read a procedure file (or the bytes of one); the Source is None where there is any error.

    Never raises for what a file holds. `name` is what messages call the file (by default its path).
    """
    page, findings = read_page(source, name)
    if page is None:
        return None, findings
    desk = Desk(page, findings)
    read = _read(desk, page)
    return (None if desk.errors() else read), desk.findings()


def _read(desk: Desk, page: Page) -> Source | None:
    if not isinstance(page.root, Table):
        message = "this is no procedure: the file must hold keys and values"
        desk.error(page.root, "shape", message, expected="format: 1")
        return None
    if not _format_is_known(desk, page.root):
        return None
    fields = desk.fields(page.root, "a procedure", KEYS, _NEEDED)
    return _source(desk, fields)


def _format_is_known(desk: Desk, root: Table) -> bool:
    """Find another format; then the rest of the file is not judged by the rules of this one."""
    node = root.get("format")
    if node is None:
        return True
    before = desk.count()
    number = desk.text(node, '"format"')
    if number and number != FORMAT:
        message = f"format {number} is not known to this program"
        desk.error(node, "format", message, expected=f"format: {FORMAT}")
    return desk.count() == before


def _source(desk: Desk, fields: Fields) -> Source:
    ways = WayReader(desk)
    return Source(
        mark=fields.mark,
        procedure=fields.must("procedure", lambda n, w: desk.identifier(n, "the name of a procedure")),
        title=fields.must("title", desk.text),
        revision=fields.must("revision", desk.text),
        fits=fields.must("fits", desk.text),
        sources=fields.must("sources", desk.texts),
        people=fields.must("people", lambda n, w: read_people(desk, n, w)),
        conditions=fields.may("conditions", lambda n, w: read_conditions(desk, n, w), ()),
        locations=fields.may("locations", lambda n, w: read_locations(desk, n, w), ()),
        variants=fields.may("variants", lambda n, w: read_variants(desk, n, w), ()),
        tolerance=fields.may("tolerance", lambda n, w: read_tolerances(desk, n, w), ()),
        counters=fields.may("counters", lambda n, w: read_counters(desk, n, w), ()),
        tools=fields.must("tools", lambda n, w: read_tools(desk, n, w)),
        parts=fields.must("parts", lambda n, w: read_parts(desk, n, w)),
        supplies=fields.must("supplies", lambda n, w: read_list_or_none(desk, n, w)),
        documents=fields.may("documents", lambda n, w: read_list_or_none(desk, n, w), ()),
        standing=fields.may("standing", lambda n, w: read_standing(desk, n, w), ()),
        items=fields.may("items", lambda n, w: read_items(desk, n, w), ()),
        entries=fields.must("steps", ways.entries),
        follow_up=fields.may("follow up", lambda n, w: read_follow_ups(desk, n, w), ()),
        close_out=fields.must("close out", desk.texts),
        make_safe=fields.may("make safe", lambda n, w: desk.pairs(n, w, desk.texts), ()),
        contract=_contract(desk, fields),
    )


def _contract(desk: Desk, fields: Fields) -> Contract | None:
    if not any(key in fields for key in _CONTRACT):
        return None

    def named(node: Node, what: str) -> tuple[tuple[Name, Name], ...]:
        return read_assignments(desk, node, what)

    return Contract(
        mark=fields.node(next(key for key in _CONTRACT if key in fields)).mark,
        takes_over=fields.may("takes over", named, ()),
        leaves_open=fields.may("leaves open", named, ()),
        ends_with=fields.may("ends with", named, ()),
    )
