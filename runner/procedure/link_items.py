"""Items at their places, with the stages of their tightening written out."""

from itertools import product
from math import prod

from runner.joint.pattern import sequence
from runner.joint.rounds import WHOLE
from runner.procedure import linked, source
from runner.procedure.kinds import KINDS, states_of, with_article
from runner.procedure.link_bands import decimal_text, interval
from runner.procedure.link_frame import Bound, Bounds, Family, Placed, Unit, keyed, place_of
from runner.procedure.link_joint import check_names, friction_text, grip_text, prevailing_text
from runner.procedure.link_report import Report
from runner.procedure.link_tests import condition_test
from runner.procedure.stages import Counted, counted
from runner.quantities import QuantityError, Tolerance, band_from

_METHODS: dict[source.StageKind, tuple[source.Method, ...]] = {
    "snug": (),
    "torque": ("measured", "click"),
    "angle": ("measured", "by mark"),
}


def family(
    item: source.Item, unit: Unit, prefix: str, report: Report, at_start: source.Name | None = None
) -> Family:
    """The item at every place it has in this file, `at_start` in the state a contract names, if it does."""
    each = _locations(item, unit, report)
    report.add_items(prod(len(location.values) for location in each), item.name.mark)
    stages = _stages(item, unit, report)
    check_names(item, report)
    _part(item, unit, report)
    start = _at_start(item, len(stages), at_start or item.at_start, report)
    members: Placed[linked.Item] = Placed()
    for values in product(*(location.values for location in each)):
        bounds: Bounds = unit.base + tuple(
            Bound(location.name.text, value.text, location.choose)
            for location, value in zip(each, values, strict=True)
        )
        made = linked.Item(
            key=prefix + keyed(item.name.text, bounds),
            name=item.name.text,
            place=place_of(bounds),
            kind=item.kind,
            at_start=start,
            critical=item.critical,
            count=item.count,
            new_every_time=item.new_every_time,
            part=item.part.text if item.part else None,
            thread=item.thread.text if item.thread else None,
            strength=item.strength.text if item.strength else None,
            number_one=item.number_one,
            rows=item.rows,
            friction=friction_text(item.friction),
            surface=item.surface,
            given_for=item.given_for,
            prevailing=prevailing_text(item.prevailing),
            drag_added=item.drag_added,
            grip=grip_text(item, report),
            stages=stages,
            exists=tuple(bound.test() for bound in bounds if bound.chosen),
        )
        members.add(bounds, made)
    return Family(item, members)


def _locations(item: source.Item, unit: Unit, report: Report) -> list[source.Location]:
    found: dict[str, source.Location] = {}
    for name in item.each:
        if name.text in found:
            report.at(name, "double-name", f'"{name.text}" stands twice in `each`')
        elif location := unit.locations.get(name.text):
            found[name.text] = location
        else:
            report.unknown(name, "unknown-location", "location", unit.locations)
    return list(found.values())


def _part(item: source.Item, unit: Unit, report: Report) -> None:
    parts = [part.name for part in unit.written.parts]
    if item.part and item.part.text not in parts:
        report.unknown(item.part, "unknown-part", "part", parts)


def _at_start(item: source.Item, stages: int, state: source.Name | None, report: Report) -> str:
    if state is None:
        return KINDS[item.kind].whole
    known = states_of(item.kind, stages)
    if state.text not in known:
        report.unknown(state, "unknown-state", f"state of {with_article(item.kind)}", known)
        return KINDS[item.kind].whole
    return state.text


def _stages(item: source.Item, unit: Unit, report: Report) -> tuple[linked.Stage, ...]:
    tolerances = dict(unit.written.tolerance)
    return tuple(
        _stage(stage, item, tolerances.get(stage.written.kind), unit, report) for stage in counted(item)
    )


def _stage(
    one: Counted, item: source.Item, tolerance: Tolerance | None, unit: Unit, report: Report
) -> linked.Stage:
    stage = one.written
    methods = _methods(stage, report)
    band = _band(one, tolerance if "measured" in methods else None, report)
    if "measured" in methods and band is None:
        message = f"a measured {stage.kind} cannot be judged: the stage has no band and `tolerance:` none"
        expected = f"a tolerance such as {stage.text} ±4 %, or `tolerance: {{{stage.kind}: …}}`"
        report.error(stage.mark, "no-band", message, expected=expected)
    target, words = one.target, [stage.text]
    if stage.kind != "snug":
        words = [_target_words(one, report), band.text if band else "", _whence(one)]
    only_when = tuple(
        test
        for written in stage.only_when
        if (test := condition_test(written, unit, report, "only-when-source", "only when")) is not None
    )
    return linked.Stage(
        kind=stage.kind,
        text=", ".join(word for word in words if word) or stage.text,
        target=decimal_text(target.value) if target else None,
        unit=target.unit if target else band.unit if band else None,
        band=band,
        order=one.order,
        sequence=sequence(one.order, item.count, stage.given, item.rows),
        only_when=only_when,
        methods=methods,
        share=None if one.share is None else decimal_text(one.share),
        final_pass=one.last_pass,
    )


def _target_words(one: Counted, report: Report) -> str:
    try:
        return one.target.text() if one.target else ""
    except QuantityError as error:  # the drag of the nut, brought to this unit
        report.error(one.written.mark, "quantity", str(error))
        return ""


def _whence(one: Counted) -> str:
    """How a torque came about: its share of the whole one, and the drag added. One that is as written says nothing."""
    torque = one.written.target.text() if one.written.target else one.written.text
    share = "" if one.share is None or one.share == WHOLE else f"{decimal_text(one.share)} % of "
    drag = f" + {one.drag.text()} prevailing" if one.drag else ""
    words = [f"{share}{torque}{drag}"] if share or drag else []
    return ", ".join([*words, "last pass around"] if one.last_pass else words)


def _methods(stage: source.Stage, report: Report) -> tuple[source.Method, ...]:
    possible = _METHODS[stage.kind]
    wrong = [method for method in stage.methods if method not in possible]
    if wrong:
        expected = " or ".join(possible) or f"no method: {stage.kind} takes no number"
        message = f'a stage by {stage.kind} has no method "{wrong[0]}"'
        report.error(stage.mark, "stage-method", message, expected=expected)
    if stage.target is not None or stage.kind == "snug":
        return stage.methods or possible
    # A band alone has no setting: neither a click nor a mark would say what was reached.
    unset = [method for method in stage.methods if method in possible and method != "measured"]
    if unset:
        message = f'"{unset[0]}" records a setting, and this stage has only a band'
        report.error(
            stage.mark, "stage-method", message, expected="a target such as 50 N·m ±4 %, or method: measured"
        )
    return ("measured",)


def _band(one: Counted, tolerance: Tolerance | None, report: Report) -> linked.Interval | None:
    stage = one.written
    if stage.band is None and (stage.target is None or tolerance is None):
        return None
    try:
        whole = stage.band
        if whole is None:
            assert stage.target is not None
            assert tolerance is not None
            whole = band_from(stage.target, tolerance)
        return interval(one.band(whole))
    except QuantityError as error:
        report.error(stage.mark, "quantity", str(error))
        return linked.Interval(unit=stage.target.unit if stage.target else "", text="")
