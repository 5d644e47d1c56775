"""Readings, worked-out values and the named bands that sort them, read from a page."""

from collections.abc import Callable
from decimal import Decimal

from runner.procedure.desk import Desk, Fields
from runner.procedure.formula import FormulaError, parse
from runner.procedure.read_values import NO_BAND, quantity_error, read_band, read_unit
from runner.procedure.source import Reading, Sorting, Way, WorkOut
from runner.procedure.tree import Node, Refused, Text
from runner.quantities import Band, QuantityError, parse_band

_JUDGED_BY = ("band", "sorted", "at most", "at least")
_NUMBER_KEYS = ("unit", "times", *_JUDGED_BY, "second reading")
_READING_KEYS = ("what", "name", *_NUMBER_KEYS, "text", "photo", "critical")
_WORK_OUT_KEYS = ("what", "name", "is", "unit", *_JUDGED_BY)
_TEXT_KINDS = ("part number", "batch number", "lock number", "text")
_ABOVE = "above"
MOST_TIMES = 100
"""Most times that one reading is taken in a step."""

ReadWay = Callable[[Node, str], Way]


def read_readings(desk: Desk, node: Node, what: str, way: ReadWay) -> tuple[Reading, ...]:
    """Give the readings of a step; `way` reads where a sorted one leads."""
    return tuple(_reading(desk, item, way) for item in desk.row(node, what))


def _reading(desk: Desk, node: Node, way: ReadWay) -> Reading:
    fields = desk.fields(node, "a reading", _READING_KEYS, ("what", "name"))
    form = fields.only_one(("unit", "text", "photo"), "a reading")
    kind = "number"
    if form in ("text", "photo"):
        kind = form
        rest = [key for key in _NUMBER_KEYS if key != "unit"]
        fields.not_with(rest, f"has no sense for a reading that is {'text' if kind == 'text' else 'a photo'}")
        if kind == "photo":
            fields.must("photo", desk.true)
    elif list(fields):
        _needs_unit(desk, fields)
    unit, band, sorting = _judged(desk, fields, way) if kind == "number" else (None, None, ())
    times = fields.may("times", lambda n, w: desk.whole(n, w, 1, MOST_TIMES), 1)
    if times > 1 and sorting:
        fields.not_with(("times",), "cannot stand with a sorted reading: one value decides one way")
    return Reading(
        mark=fields.mark,
        name=fields.must("name", lambda n, w: desk.identifier(n, "the name of a reading")),
        what=fields.must("what", desk.text),
        kind=kind,
        unit=unit,
        text_kind=fields.must("text", lambda n, w: desk.choice(n, w, _TEXT_KINDS))
        if kind == "text"
        else None,
        times=times,
        band=band,
        sorting=sorting,
        blind_second=fields.may("second reading", lambda n, w: bool(desk.choice(n, w, ("blind",))), False),
        critical=fields.may("critical", desk.true, False),
    )


def _needs_unit(desk: Desk, fields: Fields) -> None:
    if "unit" not in fields:
        expected = 'unit: mm; or "text" or "photo" for a reading that is no number'
        desk.error(fields.mark, "missing-key", 'a reading needs "unit"', expected=expected)


def read_work_out(desk: Desk, node: Node, what: str, way: ReadWay) -> tuple[WorkOut, ...]:
    """Give the worked-out values of a step."""
    return tuple(_worked_out(desk, item, way) for item in desk.row(node, what))


def _worked_out(desk: Desk, node: Node, way: ReadWay) -> WorkOut:
    needed = ("what", "name", "is", "unit")
    fields = desk.fields(node, "a worked-out value", _WORK_OUT_KEYS, needed)
    unit, band, sorting = _judged(desk, fields, way)
    return WorkOut(
        mark=fields.mark,
        name=fields.must("name", lambda n, w: desk.identifier(n, "the name of a worked-out value")),
        what=fields.must("what", desk.text),
        formula=fields.must("is", lambda n, w: _formula(desk, n, w)),
        unit=unit,
        band=band,
        sorting=sorting,
    )


def _formula(desk: Desk, node: Node, what: str) -> str:
    text = desk.text(node, what)
    if not text or not isinstance(node, Text):
        return ""
    try:
        parse(text)
    except FormulaError as error:
        # Plain text on one line stands in the file as in the formula, so that its column can be shown.
        exact = node.plain and node.value == text and node.mark.line == node.end_line
        mark = node.mark
        at = type(mark)(mark.file, mark.line, mark.column + error.column - 1) if exact else mark
        where = "" if exact else f" at its character {error.column}"
        desk.error(
            at, "formula", f"this formula cannot be read{where}: {error.found}", expected=error.expected
        )
    return text


def _judged(desk: Desk, fields: Fields, way: ReadWay) -> tuple[str, Band | None, tuple[Sorting, ...]]:
    """Give the unit of a number and what judges it: a band, named bands, or neither for `band: none`."""
    unit = fields.must("unit", lambda n, w: read_unit(desk, n, w))
    one_sided = [key for key in ("at most", "at least") if key in fields]
    if len(one_sided) == 2:
        fields.not_with(("band", "sorted"), 'has no sense beside "at most" and "at least"')
        return unit, _between(desk, fields, unit), ()
    form = fields.only_one(_JUDGED_BY, "a reading")
    if form is None:
        if list(fields):
            message = "nothing says which values are right"
            desk.error(
                fields.mark, "no-band", message, expected="band, at most, at least, sorted, or band: none"
            )
        return unit, None, ()
    node = fields.node(form)
    if not unit:
        return "", None, ()
    if form == "sorted":
        return unit, None, _sorted(desk, node, unit, way)
    if form == "band":
        if isinstance(node, Text) and node.folded == "none":
            return unit, None, ()
        return unit, read_band(desk, node, '"band"', unit=unit), ()
    return unit, read_band(desk, node, f'"{form}"', unit=unit, words=form), ()


def _between(desk: Desk, fields: Fields, unit: str) -> Band | None:
    if not unit:
        return None
    low = read_band(desk, fields.node("at least"), '"at least"', unit=unit, words="at least")
    high = read_band(desk, fields.node("at most"), '"at most"', unit=unit, words="at most")
    if low is NO_BAND or high is NO_BAND:
        return None
    try:
        return Band(low.low, high.high, None, high.unit, high.kind)
    except QuantityError as error:
        quantity_error(desk, fields.node("at most"), '"at most"', error)
        return None


def _sorted(desk: Desk, node: Node, unit: str, way: ReadWay) -> tuple[Sorting, ...]:
    entries = desk.table(node, '"sorted"').entries
    before = desk.count()
    keys: list[Text] = []
    sorting: list[Sorting] = []
    for key, value in entries:
        if isinstance(value, Refused):
            return tuple(
                sorting
            )  # a decimal comma tore this key apart: neither it nor the rest is what was meant
        label = key.folded
        band = None if label == _ABOVE else _label_band(desk, key, unit)
        keys.append(key)
        sorting.append(Sorting(mark=key.mark, label=label, band=band, way=way(value, f'"{label}"')))
    if desk.count() == before and sorting:
        _check_whole(desk, keys, sorting)
    return tuple(sorting)


def _label_band(desk: Desk, key: Text, unit: str) -> Band:
    try:
        return parse_band(key.folded, None, unit)
    except QuantityError as error:
        quantity_error(desk, key, "this band", error)
        return NO_BAND


def _check_whole(desk: Desk, keys: list[Text], sorting: list[Sorting]) -> None:
    """Find values that no band takes, and bands that can take none: each value must have one way."""
    reached: Decimal | None = None
    beyond, complete = False, False
    for key, entry in zip(keys, sorting, strict=True):
        band = entry.band
        if complete:
            desk.error(
                key, "sorted", f'no value is left for "{key.folded}"', expected="bands from low to high"
            )
            return
        if band is None:
            complete = True
            continue
        gap = band.low is not None and (
            reached is None or band.low > reached or (band.low == reached and band.low_open and beyond)
        )
        if gap:
            message = f'values below "{key.folded}" have no way'
            desk.error(key, "sorted", message, expected="bands from low to high, without a hole")
            return
        if band.high is not None and reached is not None and band.high <= reached:
            desk.error(
                key, "sorted", f'no value is left for "{key.folded}"', expected="bands from low to high"
            )
            return
        reached, beyond, complete = band.high, band.high_open, band.high is None
    if not complete:
        message = f'values above "{keys[-1].folded}" have no way'
        desk.error(keys[-1], "sorted", message, expected="above: and its way, as the last entry")
