"""Repeats, choices, guards and ways: which nodes there are and where each leads."""

from procedure_text import graph, linked

SIDES = "locations: {side: [left, right]}\n"
CHOSEN = "locations: {side: {choose at start: [left, right]}}\n"
SUPPORT = """
conditions:
  support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}
"""


def lines(text):
    return [line.strip() for line in text.strip().splitlines()]


def drawn(body, **used):
    return graph(linked(body, **used)).splitlines()


def test_a_repeat_is_written_out_in_the_order_written():
    assert drawn(
        SIDES + "steps: [{each: side, steps: [{step: a, do: A}, {step: b, do: B}]}, {step: c, do: C}]"
    ) == lines("""
        a@left -> b@left
        b@left -> a@right
        a@right -> b@right
        b@right -> c
        c -> end""")


def test_nested_repeats_join_their_places_with_a_point():
    procedure = linked("""
locations: {side: [left, right], bolt: [1, 2]}
steps: [{each: side, steps: [{each: bolt, steps: [{step: a, do: A}]}]}]""")
    assert [node.id for node in procedure.nodes] == ["a@left.1", "a@left.2", "a@right.1", "a@right.2"]
    assert procedure.nodes[1].place == "left.2"


def test_a_chosen_location_guards_every_node_of_its_repeat():
    procedure = linked(
        CHOSEN
        + """
items: {lead: {kind: connection, each: side}}
steps: [{each: side, steps: [{step: a, disconnects: [lead]}]}, {step: b, connects: [lead]}]"""
    )
    assert graph(procedure).splitlines() == lines("""
        a@left [side=left ? a@right] -> a@right
        a@right [side=right ? b] -> b
        b -> end""")
    assert [(choice.name, choice.values, choice.location) for choice in procedure.choices] == [
        ("side", ("left", "right"), True)
    ]
    assert [test.values for item in procedure.items for test in item.exists] == [("left",), ("right",)]
    assert [act.item for act in procedure.by_id["b"].acts] == ["lead@left", "lead@right"]


def test_only_for_a_location_makes_no_node_elsewhere():
    assert drawn(
        SIDES
        + """
steps: [{each: side, steps: [{step: a, do: A, only for: {side: left}}, {step: b, do: B}]}]"""
    ) == lines("""
        a@left -> b@left
        b@left -> b@right
        b@right -> end""")


def test_only_for_stands_on_the_repeat_itself_too():
    assert drawn(SIDES + "steps: [{each: side, only for: {side: right}, steps: [{step: a, do: A}]}]") == [
        "a@right -> end"
    ]


def test_only_for_a_variant_is_a_choice_on_each_node_of_a_part():
    assert drawn("""
variants: {brakes: [discs, drums]}
steps:
  - {only for: {brakes: drums}, steps: [{step: a, do: A}, {step: b, do: B}]}
  - {step: c, do: C, only for: {brakes: [discs, drums]}}""") == lines("""
        a [brakes=drums ? b] -> b
        b [brakes=drums ? c] -> c
        c [brakes=discs/drums ? end] -> end""")


def test_only_for_a_chosen_location_outside_its_repeat_is_a_choice():
    assert drawn(CHOSEN + "steps: [{step: a, do: A, only for: {side: left}}, {step: b, do: B}]") == lines("""
        a [side=left ? b] -> b
        b -> end""")


def test_a_condition_guards_a_part_once_at_its_head():
    """A step inside that changes the condition cannot make the rest of the part vanish."""
    procedure = linked(
        SUPPORT
        + """
steps:
  - only if: {support: on wheels}
    steps: [{step: a, do: A, sets: {support: raised}}, {step: b, do: B}]
  - {step: c, do: C}"""
    )
    assert graph(procedure).splitlines() == lines("""
        part:0 [support=on wheels ? c] -> a
        a -> b
        b -> c
        c -> end""")
    assert procedure.nodes[0].joint == "part: only if support is on wheels"
    assert procedure.first == "part:0"


def test_a_step_is_guarded_by_an_earlier_answer_at_its_own_place():
    assert drawn(
        SIDES
        + """
steps:
  - {each: side, steps: [{step: boot, ask: It is, answers: {whole: go on, torn: go on}}]}
  - {each: side, steps: [{step: grease, do: G, only if: {boot: [torn]}}]}"""
    )[2:] == lines("""
        grease@left [boot@left=torn ? grease@right] -> grease@right
        grease@right [boot@right=torn ? end] -> end""")


def test_the_name_of_a_sorted_band_is_an_answer():
    procedure = linked(
        """
steps:
  - step: gap
    read: {what: Gap, name: gap, unit: mm, sorted: {at most 0.05 mm: go on, above: go on}}
  - {step: skim, do: Skim it., only if: {gap-wide: above}}""".replace("step: gap\n", "step: gap-wide\n")
    )
    assert procedure.by_id["skim"].guard[0].values == ("above",)


def test_ways_nest_and_rejoin_in_the_authors_order():
    procedure = linked("""
steps:
  - step: boot
    ask: The boot is
    answers:
      torn:
        - {step: out, do: Take it out.}
        - {step: new, ask: Fits, answers: {well: go on, badly: [{step: file, do: File it.}]}}
      whole: go on
      gone: stop
  - {step: grease, do: Grease it.}""")
    assert graph(procedure).splitlines() == lines("""
        boot -> torn: out | whole: grease | gone: stop
        out -> new
        new -> well: grease | badly: file
        file -> grease
        grease -> end""")


def test_a_way_ends_with_stop():
    assert drawn("""
steps:
  - {step: a, ask: A, answers: {bad: [{step: tag, do: Tag it.}, stop], good: go on}}
  - {step: b, do: B}""") == lines("""
        a -> bad: tag | good: b
        tag -> stop:2
        stop:2 -> stop: stop
        b -> end""")


def test_a_way_that_only_stops_needs_no_joint():
    assert drawn("steps: [{step: a, ask: A, answers: {bad: [stop], good: go on}}]") == [
        "a -> bad: stop | good: end"
    ]


def test_a_way_back_keeps_its_limit_and_what_then():
    procedure = linked("""
steps:
  - {step: a, do: A}
  - step: b
    ask: B
    answers:
      again: {again: a, at most: 3, then: {again: b, at most: 1, then: [{step: c, do: C}]}}
      good: go on
  - {step: d, do: D}""")
    way = procedure.by_id["b"].answers[0]
    assert (way.to, way.limit.at_most, way.limit.then.to) == ("a", 3, "b")
    assert (way.limit.then.limit.at_most, way.limit.then.limit.then.to) == (1, "c")
    assert way.limit.id != way.limit.then.limit.id


def test_a_way_back_after_nested_steps_is_a_joint_with_one_way():
    procedure = linked("""
steps:
  - step: a
    ask: A
    answers: {bad: [{step: fix, do: Fix it.}, {again: a, at most: 2, then: stop}], good: go on}""")
    assert graph(procedure).splitlines() == lines("""
        a -> bad: fix | good: end
        fix -> again:2
        again:2 -> again: a: a (at most 2, then stop)""")
    assert procedure.by_id["again:2"].joint == "again: a, at most 2 times"


def test_a_way_back_stays_at_its_place():
    procedure = linked(
        SIDES
        + """
steps:
  - {step: start, do: S}
  - each: side
    steps:
      - {step: a, do: A}
      - step: b
        ask: B
        answers:
          once: {again: a, at most: 2, then: stop}
          all: {again: start, at most: 2, then: stop}
          ok: go on
"""
    )
    assert [way.to for way in procedure.by_id["b@right"].answers] == ["a@right", "start", "end"]


def test_limits_have_ids_of_their_own():
    procedure = linked(
        SIDES
        + """
steps:
  - each: side
    steps:
      - step: a
        ask: A
        answers: {refused: {again: a, at most: 2, then: stop}, ok: go on}
        hold point: {released by: checker, asks: Right?, if refused: {again: a, at most: 2, then: stop}}
        in time: {from: z, within: 1 min, too late: {again: a, at most: 2, then: stop}}
""".replace("  - each", "  - {step: z, do: Z}\n  - each")
    )
    ids = [way.limit.id for node in procedure.nodes for way in node.exits if way.limit]
    assert len(ids) == 6
    assert len(set(ids)) == 6


def test_refused_and_too_late_stop_unless_a_way_is_written():
    procedure = linked("""
steps:
  - {step: a, do: A}
  - step: b
    do: B
    hold point: {released by: checker, asks: Right?}
    in time: {from: a, within: 10 min, too late: [{step: c, do: C}]}""")
    node = procedure.by_id["b"]
    assert (node.hold.refused.label, node.hold.refused.to) == ("refused", "stop")
    assert (node.in_time.late.label, node.in_time.late.to) == ("too late", "c")
    assert procedure.by_id["c"].next == "end"


def test_a_sorted_reading_carries_the_ways():
    procedure = linked("""
steps:
  - step: a
    read:
      what: Runout
      name: runout
      unit: mm
      sorted: {at most 0.05 mm: go on, up to 0.10 mm: [{step: skim, do: Skim it.}], above: stop}
  - {step: b, do: B}""")
    sorting = procedure.by_id["a"].readings[0].sorting
    assert [(s.exit.label, s.exit.to, s.band.high if s.band else None) for s in sorting] == [
        ("at most 0.05 mm", "b", "0.05"),
        ("up to 0.10 mm", "skim", "0.1"),
        ("above", "stop", None),
    ]


def test_guards_of_a_repeat_are_read_outside_it():
    assert (
        drawn(
            SIDES
            + """
steps:
  - {step: ask, ask: Both?, answers: {yes: go on, no: go on}}
  - {each: side, only if: {ask: yes}, steps: [{step: a, do: A}]}
  - {step: b, do: B}"""
        )[1]
        == "part:1 [ask=yes ? b] -> a@left"
    )


def test_standing_notices_cover_the_text_from_and_to():
    procedure = linked(
        SIDES
        + """
standing:
  - {warning: {hazard: a, consequence: b, avoid: c}, from: b, to: e}
  - {notice: {hazard: d, consequence: e, avoid: f}, from: a, to: b}
steps:
  - {step: a, do: A}
  - {each: side, steps: [{step: b, ask: B, answers: {x: [{step: d, do: D}], y: go on}}]}
  - {step: e, do: E}
  - {step: f, do: F}"""
    )
    assert {node.id: node.standing for node in procedure.nodes} == {
        "a": (1,), "b@left": (0, 1), "d@left": (0,), "b@right": (0, 1), "d@right": (0,), "e": (0,), "f": (),
    }  # fmt: skip
