"""What the map of a small procedure says: order, numbers, ways, rails, windows, folding."""

from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest

from runner.map.entries import Section, nodes_of
from runner.map.lines import lanes, map_of
from runner.map.outline import outline
from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from tests.map.forty import FORTY
from tests.map.small import HEAD, SMALL, Found, linked, mapped

SHIPPED = sorted((Path(__file__).parents[2] / "procedures").glob("*.yaml"))


def shipped(path: Path) -> Procedure:
    procedure, _ = load_procedure(path)
    assert procedure is not None
    return procedure


def numbers(found: Found) -> list[str]:
    return [f"{line.number} {line.label}" for line in found.map.lines if line.kind == "step"]


def test_the_main_line_is_numbered_in_order_and_nested_steps_under_their_step():
    assert numbers(mapped(SMALL)) == [
        "1 isolate",
        "2 lid-off",
        "3 lid-on",
        "4 lead-off, left",
        "5 lead-on, left",
        "6 lead-off, right",
        "7 lead-on, right",
        "8 look",
        "8.1 wipe",
        "9 live",
        "10 release",
    ]


def test_each_way_says_where_it_leads():
    lines = mapped(SMALL).map.lines
    assert [(line.kind, line.title, line.leads) for line in lines if line.kind in ("way", "ending")] == [
        ("way", "clean", "go on"),
        ("way", "dirty", ""),
        ("ending", "", "again from 8, at most 2 times, then stop"),
        ("way", "burnt", "stop"),
        ("way", "hold point refused", "again from 8, at most once, then stop"),
    ]


def test_items_notices_and_changes_are_marked():
    found = mapped(SMALL)
    assert found.line("lid-off").marks.opened == 1
    assert found.line("lead-on", "left").marks.closed == 1
    assert found.line("live").injury
    assert not found.line("isolate").injury
    assert found.line("isolate").changes == (("power", "off"),)


def test_the_rail_shows_the_value_on_coming_to_a_step():
    found = mapped(SMALL)
    (rail,) = found.map.rails
    values = {line.name: rail.along[index] for index, line in enumerate(found.map.lines)}
    assert values["isolate"] == ("on",)
    assert values["lid-off"] == ("off",)
    # Refused, the hold point leads back to `look` with the power on.
    assert values["look"] == values["wipe"] == values["live"] == ("on", "off")
    assert rail.along[-1] == ("on",)
    assert rail.hazardous == ("on",)


def test_a_put_off_step_waits_until_its_window_can_be_open_and_is_due_at_the_end():
    found = mapped(SMALL)
    (arc,) = found.map.arcs
    assert arc.letter == "A"
    assert arc.line == found.index("lid-on")
    assert arc.windows[found.index("lead-off", "left")] == "waits"
    assert arc.windows[found.index("release")] == "open"
    assert arc.due == (len(found.map.lines) - 1,)


def test_what_waits_for_a_put_off_step_waits_for_its_window_too():
    found = mapped(
        HEAD
        + """\
steps:
  - {step: isolate, do: Switch off., sets: {power: off}}
  - {step: first, do: Wipe the lamp., put off: {until: {power: on}, before: end, because: it must}}
  - {step: second, do: Look at it., put off: {until: {step: first}, before: end, because: it must}}
  - {step: between, do: Wait.}
  - {step: live, do: Switch on., sets: {power: on}}
  - {step: last, do: Listen.}
"""
    )
    second = found.map.arcs[1]
    assert second.windows[found.index("between")] == "waits"
    assert second.opens == (found.index("last"),)


def test_a_window_at_a_step_is_open_there_alone():
    found = mapped(
        HEAD
        + """\
steps:
  - {step: wedge, do: Wedge it., put off: {until: {at: two}, before: three, because: it must}}
  - {step: one, do: One.}
  - {step: two, do: Two.}
  - {step: three, do: Three.}
"""
    )
    (arc,) = found.map.arcs
    assert [at for at, state in arc.windows.items() if state == "open"] == [found.index("two")]
    assert arc.due == (found.index("three"),)


def test_what_no_job_has_is_said_and_has_no_rail():
    found = mapped(
        HEAD
        + """\
steps:
  - {step: isolate, do: Switch off., sets: {power: off}}
  - {step: never, do: Wait., only if: {power: on}}
  - {step: last, do: Listen., needs: {power: off}}
"""
    )
    (rail,) = found.map.rails
    assert rail.along[found.index("never")] == ("off",), "one comes to it, and passes it over"
    found = mapped(
        HEAD
        + """\
steps:
  - {step: isolate, do: Switch off., sets: {power: off}}
  - {only if: {power: on}, steps: [{step: never, do: Wait.}, {step: nor-this, do: Wait.}]}
  - {step: last, do: Listen.}
"""
    )
    assert found.line("never").only == "no job comes here"
    assert found.line("nor-this").only == ""
    assert found.map.rails[0].along[found.index("never")] == ()


def test_places_chosen_at_the_start_are_one_line_and_others_each_their_own():
    chosen = SMALL.replace("side: [left, right]", "side: {choose at start: [left, right]}")
    assert numbers(mapped(chosen))[3:5] == ["4 lead-off, chosen side", "5 lead-on, chosen side"]
    assert len(mapped(chosen).line("lead-off", "chosen side").nodes) == 2
    assert numbers(mapped(SMALL))[3] == "4 lead-off, left"


def test_what_only_some_places_have_is_not_folded():
    text = SMALL.replace("side: [left, right]", "side: {choose at start: [left, right]}")
    text = text.replace("disconnects: [lead]}", "disconnects: [lead], only for: {side: left}}")
    found = mapped(text)
    assert found.line("lead-off", "left").only == "only for side left" or any(
        line.title == "only for side left" for line in found.map.lines
    )


def test_variants_stand_under_a_heading():
    text = (
        HEAD
        + "variants: {kind: [old, new]}\n"
        + """\
steps:
  - only for: {kind: old}
    steps: [{step: a, do: A.}, {step: b, do: B.}]
  - {step: c, do: C., only for: {kind: new}}
"""
    )
    made = outline(linked(text)).main
    assert isinstance(made[0], Section)
    assert made[0].title == "only for kind old"
    assert mapped(text).line("c").only == "only for kind new"


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_node_of_a_shipped_procedure_stands_in_the_outline_once(path: Path):
    procedure = shipped(path)
    made = outline(procedure)
    stood = Counter(nodes_of([*made.main, *made.detours, *made.unjoined]))
    assert stood == Counter(node.id for node in procedure.nodes)
    assert not made.unjoined


def test_a_detour_that_the_main_line_has_already_is_only_named():
    procedure = shipped(next(path for path in SHIPPED if path.stem == "wheel-change"))
    detours = map_of(procedure).detours
    assert [detour.same_as for detour in detours] == [("3",), ("10",)]
    assert detours[0].says == "detour: how support is brought back to raised: as 3"


def test_lanes_hold_what_does_not_meet():
    arcs = map_of(linked(FORTY)).arcs
    used = lanes(arcs, 6)
    assert sorted(arc.letter for lane in used for arc in lane) == [arc.letter for arc in arcs]
    for lane in used:
        for one, other in pairwise(lane):
            assert max(one.windows) < other.line
