"""The reader: what a procedure says, typed; and every kind of bad file with the exact place of its error."""

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from runner.procedure import read_ways, source
from runner.procedure.desk import RESERVED
from runner.procedure.finding import Finding
from runner.procedure.read_steps import STEP_KEYS
from runner.procedure.reader import KEYS, read_procedure
from runner.safe_text import safe

PARTS = {
    "format": "format: 1",
    "procedure": "procedure: wheel-change",
    "title": "title: Wheel change",
    "revision": "revision: 010",
    "fits": "fits: Tarn 1.6, invented",
    "sources": "sources: [Invented data]",
    "people": "people: {performer: 1}",
    "tools": "tools: none",
    "parts": "parts: none",
    "supplies": "supplies: none",
    "steps": "steps:\n  - step: look\n    do: Look at it.",
    "close out": "close out: [All tools back]",
}
"""The least procedure, part by part."""


def whole(**parts: str | None) -> str:
    """The least procedure with some parts exchanged, added or (None) left out; `close_out` is `close out`."""
    named = {key.replace("_", " "): text for key, text in parts.items()}
    return "\n".join(text for text in {**PARTS, **named}.values() if text is not None) + "\n"


def read(**parts: str | None) -> source.Source:
    read_source, findings = read_procedure(whole(**parts).encode(), "f.yaml")
    assert not findings, "\n".join(finding.text() for finding in findings)
    assert read_source is not None
    return read_source


def step(text: str) -> source.Step:
    """The one step of a procedure whose further keys are given."""
    lines = "\n".join(f"    {line}" for line in text.splitlines())
    entry = read(steps=f"steps:\n  - step: s\n{lines}").entries[0]
    assert isinstance(entry, source.Step)
    return entry


def words_of(tests: tuple[source.Test, ...]) -> dict[str, tuple[str, ...]]:
    return {test.name.text: tuple(value.text for value in test.values) for test in tests}


def texts(names: tuple[source.Name, ...]) -> tuple[str, ...]:
    return tuple(name.text for name in names)


# What is read -----------------------------------------------------------------------------------------------


def test_the_least_procedure():
    least = read()
    assert least.procedure.text == "wheel-change"
    assert least.revision == "010"
    assert (least.tools, least.parts, least.supplies, least.items) == ((), (), (), ())
    assert [(name.text, count) for name, count in least.people] == [("performer", 1)]
    assert least.entries[0].mark == source.Mark("f.yaml", 12, 5)


def test_the_head_is_read():
    head = read(
        conditions="conditions:\n  support:\n    at start: [on wheels, raised]\n"
        "    changes: {on wheels: [raised], raised: on wheels, at rest: []}\n"
        "    hazardous: raised\n    getting there: {raised: raise, on wheels: parts/lower.yaml}",
        locations="locations: {side: [left, right], cylinder: {choose at start: [1, 2]}}",
        variants="variants: {gearbox: [manual, automatic]}",
        tolerance="tolerance: {torque: ±4 %, angle: ±5°}",
        counters="counters: [{name: odometer, unit: km}]",
        tools="tools:\n  - {name: torque wrench, covers: 20 to 130 N·m}\n  - {name: 18 mm socket}",
        parts="parts: [{name: pinch bolt, number: T-010, each: side, quantity: 2}]",
        supplies="supplies: Grease",
        documents="documents: none",
        standing="standing: [{warning: {hazard: h, consequence: c, avoid: a}, from: look, to: look}]",
        follow_up="follow up: [{what: Re-torque, after: 50 km}, {what: Alignment, within: 7 days}]",
        make_safe="make safe: {raised: [Leave it on stands, Tag the keys], always: Lock the door}",
        takes_over="takes over: {bolt: out}",
        ends_with="ends with: {support: raised}",
    )
    condition = head.conditions[0]
    assert texts(condition.at_start) == ("on wheels", "raised")
    assert [(name.text, texts(values)) for name, values in condition.changes] == [
        ("on wheels", ("raised",)),
        ("raised", ("on wheels",)),
        ("at rest", ()),
    ]
    assert [(a.text, b.text) for a, b in condition.getting_there] == [
        ("raised", "raise"),
        ("on wheels", "parts/lower.yaml"),
    ]
    assert [(one.name.text, texts(one.values), one.choose) for one in head.locations] == [
        ("side", ("left", "right"), False),
        ("cylinder", ("1", "2"), True),
    ]
    assert [(kind, tolerance.plus) for kind, tolerance in head.tolerance] == [
        ("torque", Decimal(4)),
        ("angle", Decimal(5)),
    ]
    assert (head.counters[0].name, head.counters[0].unit) == ("odometer", "km")
    assert head.tools[0].covers is not None
    assert head.tools[0].covers.text() == "20 to 130 N·m"
    assert (head.parts[0].number, head.parts[0].quantity) == ("T-010", 2)
    assert head.supplies == ("Grease",)
    assert head.standing[0].notice.level == "warning"
    assert [(one.text, one.within) for one in head.follow_up] == [("50 km", None), ("7 days", 7 * 86_400_000)]
    assert [(name.text, what) for name, what in head.make_safe] == [
        ("raised", ("Leave it on stands", "Tag the keys")),
        ("always", ("Lock the door",)),
    ]
    assert head.contract is not None
    assert [(a.text, b.text) for a, b in head.contract.takes_over] == [("bolt", "out")]


def test_items_and_stages_are_read():
    bolts, lead = read(
        items="items:\n"
        "  bolts:\n    kind: fastener\n    each: side\n    count: 3\n    new: every time\n    part: bolt\n"
        "    thread: M10x1.5\n    class: 10.9\n    number one: at the valve\n    critical: true\n"
        "    at start: started\n    tighten:\n"
        "      - {snug: by hand, order: star}\n"
        "      - {torque: 50 N·m ±4 %, order: [3, 1, 2], method: click}\n"
        "      - {torque: 44 ft-lb, tolerance: +3/-1 N·m}\n"
        "      - {torque: 55 to 65 N·m}\n"
        "      - {angle: 90°, only when: {support: [low, high]}}\n"
        "  lead: {kind: connection, each: [side, end], at start: disconnected}"
    ).items
    assert (bolts.kind, bolts.count, bolts.new_every_time) == ("fastener", 3, True)
    assert (bolts.thread and bolts.thread.text, bolts.strength and bolts.strength.text) == ("M10x1.5", "10.9")
    assert (bolts.critical, bolts.number_one, bolts.at_start and bolts.at_start.text) == (
        True,
        "at the valve",
        "started",
    )
    snug, click, pounds, between, angle = bolts.tighten
    assert (snug.text, snug.target, snug.band, snug.order, snug.methods) == (
        "by hand",
        None,
        None,
        "star",
        (),
    )
    assert click.band is not None
    assert (click.band.low, click.band.high, click.given, click.methods) == (48, 52, (3, 1, 2), ("click",))
    assert pounds.target is not None
    assert pounds.target.unit == "lbf·ft"
    assert pounds.methods == (), "what is usual is for the linker to say"
    assert pounds.band is not None
    assert pounds.band.high is not None
    assert pounds.band.high > 46
    assert (between.target, between.band and between.band.low) == (None, 55)
    assert (angle.band, angle.methods) == (None, ())
    assert words_of(angle.only_when) == {"support": ("low", "high")}
    assert texts(lead.each) == ("side", "end")


def test_the_acts_of_a_step_keep_their_order():
    acts = step(
        "do: x\nloosens: [b, c]\ntightens: {b: stage 1, c: stages 2 to 3, d: the rest}\ntakes out: e\n"
        "re-tightens: [b]"
    ).acts
    assert [(act.verb, act.item.text, act.stages) for act in acts] == [
        ("loosens", "b", None),
        ("loosens", "c", None),
        ("tightens", "b", (1, 1)),
        ("tightens", "c", (2, 3)),
        ("tightens", "d", None),
        ("takes out", "e", None),
        ("re-tightens", "b", None),
    ]


def test_a_step_without_a_sentence_may_act():
    assert step("tightens: [b]").do is None


def test_all_of_a_step_is_read():
    one = step(
        "do: Turn\n  it over.\ndanger:\n  - {hazard: h, consequence: c, avoid: a}\n"
        "  - {hazard: i, consequence: c, avoid: a}\nnotice: {hazard: j, consequence: c, avoid: a}\n"
        "needs: {support: [raised, low], bolts: final}\ntools: [wrench]\nwait: 1 h 30 min\n"
        "look for: Is it dry?\nanswers: {dry: go on, wet: stop}\n"
        "hold point: {released by: checker, asks: Seated?, if refused: stop}\nsets: {support: raised}\n"
        "in time: {from: mix, within: 10 min, warn at: 7 min, too late: stop}\n"
        "only if: {boot: torn}\nonly for: {side: left, gearbox: [manual]}\n"
        "expect: a click\nbecause: heat\nsketch: x.txt\nhelper: holds it\nomission: likely\ncritical: true"
    )
    assert one.do == "Turn it over."
    assert [(notice.level, notice.hazard) for notice in one.notices] == [
        ("danger", "h"),
        ("danger", "i"),
        ("notice", "j"),
    ]
    assert words_of(one.needs) == {"support": ("raised", "low"), "bolts": ("final",)}
    assert one.wait == 5_400_000
    assert [(answer.label, type(answer.way)) for answer in one.answers] == [
        ("dry", source.GoOn),
        ("wet", source.Stop),
    ]
    assert one.hold is not None
    assert one.hold.released_by.text == "checker"
    assert one.in_time is not None
    assert (one.in_time.start.text, one.in_time.within, one.in_time.warn_at) == ("mix", 600_000, 420_000)
    assert words_of(one.only_for) == {"side": ("left",), "gearbox": ("manual",)}
    assert (one.expect, one.because, one.sketch, one.helper) == ("a click", "heat", "x.txt", "holds it")
    assert one.omission_likely
    assert one.critical


def test_readings_are_read():
    readings = step(
        "read:\n  - {what: gap, name: gap, unit: mm, band: 1.4 to 2.2 mm, times: 3, second reading: blind}\n"
        "  - {what: play, name: play, unit: mm, at most: 0.05 mm, critical: true}\n"
        "  - {what: depth, name: depth, unit: mm, at least: 3, at most: 4}\n"
        "  - {what: wear, name: wear, unit: mm, band: none}\n"
        "  - {what: lock, name: lock, text: lock number}\n"
        "  - {what: picture, name: picture, photo: true}\ndo: x"
    ).readings
    bands = [reading.band.text() if reading.band else None for reading in readings]
    assert bands == ["1.4 to 2.2 mm", "at most 0.05 mm", "3 to 4 mm", None, None, None]
    assert [reading.kind for reading in readings] == ["number"] * 4 + ["text", "photo"]
    assert (readings[0].times, readings[0].blind_second, readings[1].critical) == (3, True, True)
    assert readings[4].text_kind == "lock number"


def test_a_sorted_reading_has_a_way_for_every_value():
    reading = step(
        "read: {what: play, name: play, unit: mm,\n"
        "  sorted: {at most 0.05 mm: go on, up to 0.10 mm: stop, above: stop}}"
    ).readings[0]
    assert [(entry.label, entry.band and entry.band.high) for entry in reading.sorting] == [
        ("at most 0.05 mm", Decimal("0.05")),
        ("up to 0.10 mm", Decimal("0.1")),
        ("above", None),
    ]


def test_a_worked_out_value_is_read():
    value = step(
        "work out: {what: shim, name: shim, is: gap - 0.25 mm, unit: mm, band: at least 0 mm}"
    ).worked_out[0]
    assert (value.name.text, value.formula, value.unit) == ("shim", "gap - 0.25 mm", "mm")


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("{support: [low, high]}", "tests"),
        ("{step: look}", "step"),
        ("{time: 4 h, after: look}", "time"),
        ("{at: look}", "at"),
    ],
)
def test_windows_are_read(text: str, form: str):
    put_off = step(
        f"do: x\nput off: {{until: {text}, before: road-ready, because: b,"
        " no later than: {time: 1 day, after: look}}"
    ).put_off
    assert put_off is not None
    assert [name for name in ("tests", "step", "time", "at") if getattr(put_off.until, name)] == [form]
    assert put_off.no_later is not None
    assert (put_off.no_later[0], put_off.no_later[1].text) == (86_400_000, "look")


def test_what_a_put_off_step_comes_before():
    def due(text: str) -> source.Due:
        put_off = step(f"do: x\nput off: {{until: {{step: look}}, before: {text}, because: b}}").put_off
        assert put_off is not None
        return put_off.before

    assert (due("end").step, due("end").condition) == (None, None)
    assert due("road-ready").step is not None
    condition = due("{support: raised}").condition
    assert condition is not None
    assert words_of((condition,)) == {"support": ("raised",)}


def test_ways_nest_and_rejoin():
    way = step(
        "ask: The boot is\nanswers:\n  whole: go on\n  torn:\n    - {step: replace, do: Replace it.}\n"
        "    - {each: side, steps: [{step: wipe, do: Wipe.}]}\n    - {again: look, at most: 3, then: stop}\n"
        "  gone: {again: look, at most: 2, then: [{step: t, do: x}, stop]}"
    ).answers
    nested, again = way[1].way, way[2].way
    assert isinstance(nested, source.Nested)
    assert [type(entry) for entry in nested.entries] == [source.Step, source.Repeat, source.Again]
    assert isinstance(again, source.Again)
    assert (again.step.text, again.at_most) == ("look", 2)
    assert isinstance(again.then, source.Nested)
    assert isinstance(again.then.entries[-1], source.Stop)


def test_entries_of_every_kind():
    entries = read(
        steps="steps:\n  - {step: a, do: x}\n"
        "  - {each: side, only for: {side: left}, steps: [{step: b, do: x}]}\n"
        "  - {only if: {boot: torn}, steps: [{step: c, do: x}]}\n  - {use: parts/raise.yaml}"
    ).entries
    kinds = [source.Step, source.Repeat, source.Portion, source.Call]
    assert [type(entry) for entry in entries] == kinds


def test_the_shipped_sketch_of_the_design_is_read():
    path = Path(__file__).parent / "sketch.yaml"
    sketch, findings = read_procedure(path)
    assert findings == []
    assert sketch is not None
    assert [item.name.text for item in sketch.items][:2] == ["pinch bolt", "bush bolts"]


# What is refused --------------------------------------------------------------------------------------------

MARK = "¦"
"""Stands in the bad part where the error must be found."""


def nested_steps(text: str) -> str:
    return "steps:\n  - step: look\n    do: x\n" + "\n".join(f"    {line}" for line in text.splitlines())


BAD: list[tuple[str, str | None, str]] = [
    # The top
    ("format", "format: ¦2", "format 2 is not known to this program"),
    ("format", "format: ¦1.0", "format 1.0 is not known to this program"),
    ("procedure", "procedure: ¦Wheel Change", '"Wheel Change" cannot be the name of a procedure'),
    ("title", "title: ¦[a, b]", '"title" must be text, not a list'),
    ("title", "title: ¦{a: b}", '"title" must be text, not keys and values'),
    ("title", "title:¦", '"title" has no value'),
    ("title", "title: ¦''", '"title" is empty'),
    ("title", "¦tilte: x\ntitle: y", '"tilte" is no key of a procedure'),
    ("title", "title: Wheel ¦#4", "text after a blank and # is dropped"),
    ("title", "title: x\n¦title: y", '"title" stands here twice; it was first written on line 3, column 1'),
    ("title", "title: ¦*x", "aliases"),
    ("briefing", "¦briefing: x", '"briefing" is not supported yet'),
    ("sources", "sources: ¦[]", '"sources" is an empty list'),
    ("people", "people: ¦{checker: 1}", '"people" needs "performer"'),
    ("people", "people: {performer: ¦one}", '"performer" of "people" cannot be "one"'),
    ("people", "people: {performer: ¦0}", '"performer" of "people" cannot be "0"'),
    ("people", "people: ¦two", '"people" must be keys and values, not text'),
    ("tools", "tools: ¦[]", '"tools" is an empty list'),
    (
        "tools",
        "tools:\n  ¦-wrench\n  -socket",
        "a tool must be keys and values, not text; a list entry needs a blank",
    ),
    ("tools", "tools:\n  - ¦wrench", "a tool must be keys and values, not text"),
    ("tools", "tools: [{name: w, covers: ¦20 N·m}]", '"covers": "20 N·m" has no tolerance'),
    ("tools", "tools: [{name: w, covers: ¦at most 20 N·m}]", '"covers" must have two limits'),
    ("tools", "tools: [¦{covers: 20 to 130 N·m}]", 'a tool needs "name"'),
    ("parts", "parts: [{name: b, quantity: ¦0}]", '"quantity" cannot be "0"'),
    ("supplies", "supplies: [¦{a: b}]", 'an entry of "supplies" must be text'),
    ("steps", "steps: ¦look", '"steps" must be a list of steps'),
    ("steps", "steps: ¦[]", '"steps" is an empty list'),
    ("close out", "close out: ¦[]", '"close out" is an empty list'),
    ("counters", "counters: [{name: odometer, unit: ¦kilos}]", '"unit": "kilos" names no unit'),
    ("tolerance", "tolerance: {¦torqe: ±4 %}", '"torqe" is nothing that is measured'),
    ("tolerance", "tolerance: {torque: ¦4 %}", '"torque": "4 %" is not a tolerance'),
    ("tolerance", "tolerance: {torque: ¦±4 J}", '"torque": "4 J" is an energy'),
    ("tolerance", "tolerance: {torque: ¦±2,5 %, angle: ±5°}", "a comma inside braces"),
    # Conditions, locations, variants
    (
        "conditions",
        "conditions: {support: ¦{changes: {a: [b], b: []}}}",
        'condition "support" needs "at start"',
    ),
    ("conditions", "conditions: {s: {at start: ¦c, changes: {a: [b], b: []}}}", '"c" is no value of "s"'),
    ("conditions", "conditions: {s: {at start: a, changes: {a: [¦c], b: []}}}", '"c" is no value of "s"'),
    ("conditions", "conditions: {s: {at start: a, changes: {a: ¦a, b: []}}}", '"a" changes into itself'),
    (
        "conditions",
        "conditions: {¦step: {at start: a, changes: {a: []}}}",
        'a condition cannot be named "step"',
    ),
    (
        "conditions",
        "conditions: {s: {at start: a, changes: {a: []}, getting there: {a: ¦../b.yaml}}}",
        '"a" of "getting there" leads out of the folder',
    ),
    ("locations", "locations: {side: [left, ¦left]}", '"left" stands twice in location "side"'),
    ("locations", "locations: {side: {choose at start: ¦left}}", '"choose at start" gives one value only'),
    ("locations", "locations: {side: {¦choose: [left, right]}}", '"choose" is no key of location "side"'),
    ("variants", "variants: {gearbox: ¦[manual]}", 'variant "gearbox" has one value only'),
    # Items
    ("items", "items: {bolt: {kind: ¦fastner}}", '"kind" cannot be "fastner"'),
    ("items", "items: {bolt: ¦{each: side}}", 'item "bolt" needs "kind"'),
    ("items", "items: {bolt: ¦{kind: fastener}}", 'fastener "bolt" needs "tighten"'),
    ("items", "items: {lead: {kind: connection, ¦thread: M6}}", '"thread" says nothing about a connection'),
    ("items", "items: {lead: {kind: connection, at start: ¦off}}", '"off" is no state of a connection'),
    ("items", "items: {b: {kind: fastener, new: ¦yes, tighten: [{snug: x}]}}", '"new" cannot be "yes"'),
    (
        "items",
        "items: {b: {kind: fastener, critical: ¦on, tighten: [{snug: x}]}}",
        '"critical" cannot be "on"',
    ),
    ("items", "items: {b: {kind: fastener, count: ¦1:30, tighten: [{snug: x}]}}", '"count" cannot be "1:30"'),
    ("items", "items: {b: {kind: fastener, tighten: [¦{order: star}]}}", 'a stage needs one of "snug"'),
    (
        "items",
        "items: {b: {kind: fastener, tighten: [{snug: x, ¦torque: 5 N·m}]}}",
        'a stage has "snug" and "torque"',
    ),
    ("items", "items: {b: {kind: fastener, tighten: [{torque: ¦50}]}}", '"torque": "50" has no unit'),
    ("items", "items: {b: {kind: fastener, tighten: [{torque: ¦50 J}]}}", '"torque": "50 J" is an energy'),
    ("items", "items: {b: {kind: fastener, tighten: [{torque: ¦90°}]}}", '"torque": "90°" is an angle'),
    ("items", "items: {b: {kind: fastener, tighten: [{torque: ¦0 N·m}]}}", '"torque" must be above zero'),
    (
        "items",
        "items: {b: {kind: fastener, tighten: [{torque: 5 N·m ±1 N·m, ¦tolerance: ±5 %}]}}",
        '"torque" has its band already',
    ),
    (
        "items",
        "items: {b: {kind: fastener, tighten: [{torque: 5 N·m, tolerance: ¦5}]}}",
        '"tolerance": "5" is not',
    ),
    ("items", "items: {b: {kind: fastener, tighten: [{snug: x, ¦method: click}]}}", '"method" has no sense'),
    (
        "items",
        "items: {b: {kind: fastener, tighten: [{angle: 90°, order: ¦[1, 1]}]}}",
        '"order" must name each',
    ),
    (
        "items",
        "items: {b: {kind: fastener, tighten: [{angle: 90°, order: ¦stra}]}}",
        '"order" cannot be "stra"',
    ),
    (
        "items",
        "items: {b: {kind: fastener, tighten: [{angle: 90°, method: ¦feel}]}}",
        '"method" cannot be "feel"',
    ),
    (
        "items",
        "items: {b: {kind: fastener, ¦authority: x, tighten: [{snug: x}]}}",
        '"authority" is not supported yet',
    ),
    (
        "items",
        "items: {b: {kind: fastener, tighten: [{¦any order: true, snug: x}]}}",
        '"any order" is not supp',
    ),
    # Entries and steps
    ("steps", "steps:\n  - ¦stpe: look", "this is no step, repeat, part or call"),
    ("steps", "steps:\n  - ¦do: look", 'a step needs "step"'),
    ("steps", "steps:\n  - ¦step: look", 'a step needs "do" or "ask", or an act'),
    ("steps", "steps:\n  -¦", "an entry of the list is empty"),
    ("steps", "steps:\n  - ¦look around", "this is no step, repeat, part or call"),
    ("steps", "steps:\n  - {step: ¦Look Up, do: x}", '"Look Up" cannot be the name of a step'),
    ("steps", "steps:\n  - {step: ¦end, do: x}", 'a step cannot be named "end"'),
    ("steps", "steps:\n  - ¦stop", '"stop" can only be the last entry'),
    (
        "steps",
        "steps:\n  - {step: a, do: x}\n  - ¦{again: a, at most: 2, then: stop}",
        '"again" can only be the last',
    ),
    ("steps", "steps:\n  - {each: side, steps: ¦[]}", '"steps" is an empty list'),
    ("steps", "steps:\n  - ¦{each: side}", 'a repeat or part needs "steps"'),
    (
        "steps",
        "steps:\n  - {each: side, ¦any order: true, steps: [{step: a, do: x}]}",
        '"any order" is not supp',
    ),
    ("steps", "steps:\n  - {use: ¦/etc/x.yaml}", '"use" cannot be "/etc/x.yaml"'),
    ("steps", "steps:\n  - {use: ¦a/../../x.yaml}", '"use" leads out of the folder'),
    ("steps", "steps:\n  - {use: ¦raise}", '"use" must name a .yaml file'),
    ("steps", nested_steps("¦ask: y\nanswers: {a: go on, b: stop}"), 'a step has "do" and "ask"'),
    ("steps", "steps:\n  - step: look\n    ¦ask: y", '"ask" needs "answers"'),
    ("steps", nested_steps("¦answers: {a: go on}"), '"answers" answer nothing'),
    (
        "steps",
        nested_steps("look for: y\nanswers: {a: ¦skim, b: stop}"),
        '"a" leads nowhere: "skim" is no way',
    ),
    ("steps", nested_steps("look for: y\nanswers:\n  a:¦\n  b: stop"), '"a" leads nowhere'),
    (
        "steps",
        nested_steps("look for: y\nanswers: {a: ¦{step: b, do: x}}"),
        '"a" leads nowhere: a way of several',
    ),
    (
        "steps",
        nested_steps("look for: y\nanswers: {a: ¦{again: look, then: stop}}"),
        '"again" needs "at most"',
    ),
    (
        "steps",
        nested_steps("look for: y\nanswers: {a: {again: look, at most: ¦0, then: stop}}"),
        '"at most" cannot be',
    ),
    (
        "steps",
        nested_steps("look for: y\nanswers: {a: [¦stop, {step: b, do: x}]}"),
        '"stop" can only be the last',
    ),
    ("steps", nested_steps("¦thigtens: [b]"), '"thigtens" is no key of a step'),
    ("steps", nested_steps("tightens: {b: ¦first}"), '"first" names no stages'),
    ("steps", nested_steps("tightens: {b: ¦stages 3 to 2}"), '"stages 3 to 2" names no stages'),
    ("steps", nested_steps("loosens: ¦{b: stage 1}"), '"loosens" must name items in a list'),
    ("steps", nested_steps("loosens: [b, ¦b]"), '"b" stands twice in "loosens"'),
    ("steps", nested_steps("danger: ¦{hazard: h, avoid: a}"), 'a danger needs "consequence"'),
    ("steps", nested_steps("danger: ¦It falls"), "a danger must be keys and values, not text"),
    (
        "steps",
        nested_steps(f"danger: ¦{{hazard: h, consequence: c, avoid: {'far ' * 100}}}"),
        "this danger has 401 characters",
    ),
    ("steps", nested_steps("wait: ¦10"), '"wait": "10" has no unit'),
    ("steps", nested_steps("wait: ¦0 min"), '"wait" must be longer than nothing'),
    ("steps", nested_steps("omission: ¦yes"), '"omission" cannot be "yes"'),
    ("steps", nested_steps("hold point: ¦{asks: y}"), 'a hold point needs "released by"'),
    ("steps", nested_steps("in time: {from: a, within: 5 min, warn at: ¦6 min}"), '"warn at" is not before'),
    ("steps", nested_steps("¦briefing: x"), '"briefing" is not supported yet'),
    ("steps", nested_steps("takes: ¦0 min"), '"takes" must be longer than nothing'),
    ("steps", nested_steps("takes: ¦long"), '"takes": "long" is not a duration'),
    # Readings
    ("steps", nested_steps("read: ¦{what: gap, name: gap, unit: mm}"), "nothing says which values are right"),
    ("steps", nested_steps("read: ¦{what: gap, name: gap, band: 1 to 2 mm}"), 'a reading needs "unit"'),
    (
        "steps",
        nested_steps("read: {what: gap, name: gap, unit: ¦mmm, band: 1 to 2 mm}"),
        '"unit": "mmm" names no',
    ),
    (
        "steps",
        nested_steps("read: {what: gap, name: ¦Gap A, unit: mm, band: none}"),
        '"Gap A" cannot be the name',
    ),
    (
        "steps",
        nested_steps("read: {what: gap, name: g, unit: mm, band: ¦2.2 to 1.4 mm}"),
        '"band": "2.2 to 1.4 mm"',
    ),
    (
        "steps",
        nested_steps("read: {what: gap, name: g, unit: mm, band: ¦1 to 2 N·m}"),
        '"band": "2 N·m" is a torque',
    ),
    (
        "steps",
        nested_steps("read: {what: g, name: g, unit: mm, band: none, ¦at most: 2}"),
        'a reading has "band" and',
    ),
    (
        "steps",
        nested_steps("read: {what: g, name: g, unit: mm, band: none, times: ¦0}"),
        '"times" cannot be "0"',
    ),
    ("steps", nested_steps("read: {what: g, name: g, text: ¦serial}"), '"text" cannot be "serial"'),
    (
        "steps",
        nested_steps("read: {what: g, name: g, text: text, ¦times: 2}"),
        '"times" has no sense for a reading',
    ),
    (
        "steps",
        nested_steps("read: {what: g, name: g, unit: mm, ¦rehearsed: 2, band: none}"),
        '"rehearsed" is not',
    ),
    (
        "steps",
        nested_steps("read: {what: g, name: g, unit: mm, sorted: {at most 1 mm: go on, ¦up to 2 mm: stop}}"),
        'values above "up to 2 mm" have no way',
    ),
    (
        "steps",
        nested_steps("read: {what: g, name: g, unit: mm, sorted: {at most 2 mm: go on, ¦up to 1 mm: stop}}"),
        'no value is left for "up to 1 mm"',
    ),
    (
        "steps",
        nested_steps(
            "read: {what: g, name: g, unit: mm, sorted: {at most 1 mm: go on, ¦2 to 3 mm: stop, above: stop}}"
        ),
        'values below "2 to 3 mm" have no way',
    ),
    (
        "steps",
        nested_steps("read: {what: g, name: g, unit: mm, sorted: {above: go on, ¦at most 1 mm: stop}}"),
        'no value is left for "at most 1 mm"',
    ),
    (
        "steps",
        nested_steps("read: {what: g, name: g, unit: mm, sorted: {¦at most 0,05 mm: go on, above: stop}}"),
        "a comma inside braces",
    ),
    (
        "steps",
        nested_steps(
            "read: ¦{what: g, name: g, unit: mm, sorted: {at most 1 mm: go on, above: stop}}\n"
            "look for: y\nanswers: {a: go on}"
        ),
        "the way on is decided twice",
    ),
    (
        "steps",
        nested_steps("work out: {what: s, name: s, is: gap + ¦* 2, unit: mm, band: none}"),
        "this formula",
    ),
    (
        "steps",
        nested_steps("work out: {what: s, name: s, is: ¦'gap +', unit: mm, band: none}"),
        "this formula",
    ),
    (
        "steps",
        nested_steps("work out: ¦{what: s, name: s, unit: mm, band: none}"),
        'a worked-out value needs "is"',
    ),
    # Put-offs
    ("steps", nested_steps("put off: ¦{until: {step: a}, because: b}"), '"put off" needs "before"'),
    (
        "steps",
        nested_steps("put off: {until: ¦{time: 4 h}, before: end, because: b}"),
        'the time of "until" needs "aft',
    ),
    (
        "steps",
        nested_steps("put off: {until: {step: a, ¦support: b}, before: end, because: b}"),
        '"support" is no key',
    ),
    (
        "steps",
        nested_steps("put off: {until: {step: a}, before: {s: a, ¦t: b}, because: b}"),
        '"before" has a second',
    ),
    (
        "steps",
        nested_steps("put off: {until: {step: a}, before: end, because: b}\n¦sets: {s: a}"),
        '"sets" cannot stand',
    ),
    (
        "steps",
        nested_steps("put off: {until: {step: a}, before: end, because: b}\ntightens: [b, ¦c]"),
        "a step that is put off acts on one item",
    ),
    (
        "steps",
        nested_steps(
            "put off: {until: {step: a}, before: end, because: b}\nlook for: y\n"
            "answers: {a: ¦[{step: t, do: x}]}"
        ),
        "a step that is put off chooses no way",
    ),
    (
        "steps",
        nested_steps(
            "put off: {until: {step: a}, before: end, because: b}\n"
            "hold point: {released by: c, asks: y, if refused: ¦go on}"
        ),
        "a refused hold point of a step that is put off can only stop",
    ),
    # What surrounds them
    ("standing", "standing: [¦{from: a, to: b}]", 'a standing notice needs one of "danger"'),
    ("follow up", "follow up: [¦{what: x}]", 'a follow-up needs one of "after", "within"'),
    ("follow up", "follow up: [{what: x, after: ¦5 N·m}]", '"after" must be a distance or a time'),
    ("make safe", "make safe: {raised: ¦[]}", '"raised" of "make safe" is an empty list'),
    ("leaves open", "leaves open: {bolt: ¦[out]}", '"bolt" of "leaves open" must be text'),
]


def placed(part: str, marked: str) -> tuple[str, tuple[int, int]]:
    """The whole file without the mark, and the place where the mark stood."""
    text = whole(**{part.replace(" ", "_"): marked})
    before = text[: text.index(MARK)]
    return text.replace(MARK, ""), (before.count("\n") + 1, len(before) - before.rfind("\n"))


@pytest.mark.parametrize(("part", "marked", "message"), BAD)
def test_a_bad_part_is_found_at_its_place(part: str, marked: str, message: str):
    text, place = placed(part, marked)
    read_source, findings = read_procedure(text.encode(), "f.yaml")
    shown = "\n".join(finding.text() for finding in findings)
    assert read_source is None
    assert [(f.line, f.column) for f in findings] == [place], shown
    assert findings[0].message.startswith(message), shown
    assert findings[0].text().startswith(f"f.yaml:{place[0]}:{place[1]}: error: {message}")


def test_there_are_enough_bad_files():
    assert len(BAD) >= 60


@pytest.mark.parametrize("part", sorted(PARTS))
def test_each_needed_part_is_missed(part: str):
    _, findings = read_procedure(whole(**{part.replace(" ", "_"): None}).encode(), "f.yaml")
    assert [(f.line, f.column, f.message) for f in findings] == [(1, 1, f'a procedure needs "{part}"')]


def test_the_nearest_word_is_given():
    def near(text: str) -> str | None:
        return read_procedure(text.encode(), "f")[1][0].near

    assert near(whole(title="titel: x\ntitle: y")) == "title"
    assert near(whole(steps=nested_steps("thigtens: [b]"))) == "tightens"
    assert near(whole(items="items: {b: {kind: fitted prt}}")) == "fitted part"
    assert near(whole(steps="steps: [{stpe: a, do: x}]")) == "step"


def test_all_errors_of_a_file_are_found_in_order():
    text = whole(
        title="title: [x]",
        people="people: {checker: 1}",
        steps="steps:\n  - {step: A B, do: x}\n  - {step: b}\n  - {stpe: c}\n  - {step: d, do: x, sets: no}",
    )
    _, findings = read_procedure(text.encode(), "f")
    assert [(f.line, f.rule) for f in findings] == [
        (3, "shape"),
        (7, "missing-key"),
        (12, "identifier"),
        (13, "missing-key"),
        (14, "entry"),
        (15, "shape"),
    ]


def test_another_format_is_not_judged_by_this_one():
    _, findings = read_procedure(b"format: 7\nsomething: else\n", "f")
    assert [f.message for f in findings] == ["format 7 is not known to this program"]


@pytest.mark.parametrize("text", ["- a\n", "just text\n", "[]\n"])
def test_a_file_that_is_no_mapping(text: str):
    _, findings = read_procedure(text.encode(), "f")
    assert [f.rule for f in findings] == ["shape"]


@pytest.mark.parametrize("word", sorted(RESERVED))
def test_every_reserved_key_is_refused_everywhere(word: str):
    for part, text in (("extra", f"{word}: x"), ("steps", nested_steps(f"{word}: x"))):
        findings = read_procedure(whole(**{part: text}).encode(), "f")[1]
        assert [f.message for f in findings] == [f'"{word}" is not supported yet']


def test_the_number_of_steps_is_limited(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(read_ways, "MOST_STEPS", 3)
    steps = "steps:\n" + "".join(f"  - {{step: s{n}, do: x}}\n" for n in range(5))
    _, findings = read_procedure(whole(steps=steps).encode(), "f")
    assert [(f.line, f.rule) for f in findings] == [(15, "step-count")]


@pytest.mark.deep
def test_twenty_thousand_steps_are_read():
    steps = "steps:\n" + "".join(f"  - {{step: s{n}, do: x}}\n" for n in range(20_000))
    assert len(read(steps=steps.rstrip()).entries) == 20_000
    more = steps + "  - {step: one-more, do: x}"
    assert [f.rule for f in read_procedure(whole(steps=more).encode(), "f")[1]] == ["step-count"]


# Whatever is written, it is read or refused -----------------------------------------------------------------

WORDS = st.sampled_from(
    [*KEYS, *STEP_KEYS, *sorted(RESERVED), "go on", "stop", "none", "1", "5 N·m", "a", "±5 %", ""]
)
SHAPES = st.recursive(
    WORDS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=4),
    max_leaves=25,
)


def flow(shape: object) -> str:
    if isinstance(shape, list):
        return "[" + ", ".join(map(flow, shape)) + "]"
    if isinstance(shape, dict):
        return "{" + ", ".join(f"{flow(key)}: {flow(value)}" for key, value in shape.items()) + "}"
    return "'" + str(shape).replace("'", "''") + "'"


def check(findings: list[Finding], read_source: object) -> None:
    assert (read_source is None) == any(f.grade == "error" for f in findings)
    for finding in findings:
        assert all(line == safe(line) for line in finding.text().split("\n"))


@settings(max_examples=80, deadline=None)
@given(
    st.sampled_from([*PARTS, "items", "conditions", "locations", "follow up", "standing", "tolerance"]),
    SHAPES,
)
def test_no_shape_makes_it_raise(part: str, shape: object):
    read_source, findings = read_procedure(
        whole(**{part.replace(" ", "_"): f"{part}: {flow(shape)}"}).encode(), "f"
    )
    check(findings, read_source)


@settings(max_examples=80, deadline=None)
@given(st.dictionaries(st.sampled_from(STEP_KEYS), SHAPES, max_size=5))
def test_no_step_makes_it_raise(keys: dict[str, object]):
    text = "steps: [" + flow({"step": "s", **keys}) + "]"
    read_source, findings = read_procedure(whole(steps=text).encode(), "f")
    check(findings, read_source)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=80))
def test_no_text_makes_it_raise(text: str):
    check(*reversed(read_procedure(text.encode("utf-8", "surrogatepass"), "f")))


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 700), st.text(st.sampled_from("\n :-#[]{}'\"ab,&*!|"), max_size=3))
def test_no_slip_of_the_keyboard_makes_it_raise(place: int, typed: str):
    sketch = (Path(__file__).parent / "sketch.yaml").read_text(encoding="utf-8")
    text = sketch[: place * 7] + typed + sketch[place * 7 :]
    check(*reversed(read_procedure(text.encode(), "f")))
