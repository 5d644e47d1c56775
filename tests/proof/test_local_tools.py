"""P18 and P20: every setting against the tools of its step."""

import pytest

from tests.proof.local_text import lines, told


def body(
    *, tools: str, stages: str = "[{torque: 120 N·m ±4 %}]", steps: str = "", named: str = "tools: [wrench], "
) -> str:
    steps = steps or f"  - {{step: tight, do: Tighten it., {named}tightens: [bolt]}}\n"
    return f"tools: {tools}\nitems: {{bolt: {{kind: fastener, at start: started, tighten: {stages}}}}}\nsteps:\n{steps}"


@pytest.mark.parametrize(
    ("covers", "fits"),
    [
        ("20 to 130 N·m", True),
        ("20 to 120 N·m", True),
        ("120 to 200 N·m", True),
        ("20 to 119.9 N·m", False),
        ("120.1 to 200 N·m", False),
        ("15 to 88 lbf·ft", False),
        ("15 to 89 lbf·ft", True),
    ],
)
def test_a_setting_inside_or_outside_the_range(covers: str, fits: bool):
    found = lines(body(tools=f"[{{name: wrench, covers: {covers}}}]"))
    message = (
        '4:12 tool-range: "bolt" gets 120 N·m, and no tool named in this step can be set to that:'
        f" wrench covers {covers}"
    )
    assert found == ([] if fits else [message])


def test_where_only_a_range_is_written_both_limits_count():
    stages = "[{torque: 95 to 110 N·m, method: measured}]"
    assert lines(body(tools="[{name: wrench, covers: 20 to 100 N·m}]", stages=stages)) == [
        '4:12 tool-range: "bolt" gets 95 to 110 N·m, and no tool named in this step can be set to that:'
        " wrench covers 20 to 100 N·m"
    ]
    assert lines(body(tools="[{name: wrench, covers: 95 to 110 N·m}]", stages=stages)) == []


def test_one_of_several_tools_is_enough_and_a_better_one_is_named():
    tools = "[{name: small, covers: 5 to 25 N·m}, {name: wrench, covers: 20 to 130 N·m}]"
    assert lines(body(tools=tools, named="tools: [small, wrench], ")) == []
    found = told(body(tools=tools, named="tools: [small], "))
    assert [one.rule for one in found] == ["tool-range"]
    assert found[0].mend == "name wrench in this step"


def test_every_stage_is_judged():
    tools = "[{name: wrench, covers: 40 to 130 N·m}, {name: gauge, covers: 0 to 60°}]"
    stages = "[{snug: by hand}, {torque: 20 N·m ±4 %}, {torque: 60 N·m ±4 %}, {angle: 90° ±5°}]"
    assert lines(body(tools=tools, stages=stages, named="tools: [wrench, gauge], ")) == [
        '4:12 tool-range: "bolt" gets 20 N·m, and no tool named in this step can be set to that:'
        " wrench covers 40 to 130 N·m",
        '4:12 tool-range: "bolt" gets 90°, and no tool named in this step can be set to that: gauge covers 0 to 60°',
    ]


def test_turns_are_angles():
    tools = "[{name: gauge, covers: 0 to 0.5 turn}]"
    for angle, number in (("90°", 0), ("270°", 1)):
        stages = f"[{{angle: {angle} ±5°, method: measured}}]"
        assert len(lines(body(tools=tools, stages=stages, named="tools: [gauge], "))) == number


def test_a_step_judges_the_stages_that_it_names():
    tools = "[{name: small, covers: 5 to 25 N·m}, {name: wrench, covers: 40 to 130 N·m}]"
    stages = "[{torque: 20 N·m ±4 %}, {torque: 120 N·m ±4 %}]"
    steps = (
        "  - {{step: first, do: One., tools: [{}], tightens: {{bolt: stage 1}}}}\n"
        "  - {{step: second, do: Two., tools: [{}], tightens: {{bolt: the rest}}}}\n"
    )
    assert lines(body(tools=tools, stages=stages, steps=steps.format("small", "wrench"))) == []
    assert [
        line.partition(",")[0]
        for line in lines(body(tools=tools, stages=stages, steps=steps.format("wrench", "small")))
    ] == [
        '4:12 tool-range: "bolt" gets 20 N·m',
        '5:12 tool-range: "bolt" gets 120 N·m',
    ]


def test_re_tightening_is_held_to_the_last_torque():
    stages = "[{torque: 20 N·m ±4 %}, {torque: 60 N·m ±4 %}, {angle: 90° ±5°}]"
    steps = "  - {step: check, do: Check it., tools: [wrench], re-tightens: [bolt]}\n"
    for covers, number in (("40 to 130 N·m", 0), ("20 to 50 N·m", 1)):
        text = body(tools=f"[{{name: wrench, covers: {covers}}}]", stages=stages, steps=steps)
        assert len(lines(text.replace("at start: started", "at start: untouched"))) == number


def test_a_step_that_names_no_tool():
    assert lines(body(tools="none", named="")) == [
        '4:12 no-tool: "bolt" gets 120 N·m, and this step names no tool for it'
    ]
    found = told(
        body(tools="[{name: gauge, covers: 0 to 360°}, {name: socket}]", named="tools: [gauge, socket], ")
    )
    assert [(one.rule, one.grade, one.mend) for one in found] == [
        ("no-tool", "warning", "add the tool under `tools`, with what it covers")
    ]


def test_the_wrench_that_the_bench_shows_counts_as_named():
    assert lines(body(tools="[{name: wrench, covers: 20 to 130 N·m}]", named="")) == []
    stages = "[{torque: 20 N·m ±4 %}, {torque: 120 N·m ±4 %}]"
    tools = "[{name: wrench, covers: 40 to 130 N·m}, {name: small, covers: 5 to 25 N·m}]"
    found = told(body(tools=tools, stages=stages, named=""))
    assert [(one.rule, one.message, one.mend) for one in found] == [
        ("no-tool", '"bolt" gets 20 N·m, and this step names no tool for it', "name small in this step")
    ]


@pytest.mark.parametrize(
    ("method", "needed"), [("", False), (", method: by mark", False), (", method: measured", True)]
)
def test_an_angle_by_a_mark_needs_no_tool(method: str, needed: bool):
    found = lines(body(tools="none", stages=f"[{{angle: 90° ±5°{method}}}]", named=""))
    assert found == (['4:12 no-tool: "bolt" gets 90°, and this step names no tool for it'] if needed else [])


def test_a_step_in_a_repeat_is_told_once():
    text = """\
locations: {side: [left, right]}
items: {bolt: {kind: fastener, each: side, at start: started, tighten: [{torque: 50 N·m ±4 %}]}}
steps: [{each: side, steps: [{step: tight, tightens: [bolt]}]}]
"""
    assert [(one.rule, one.node) for one in told(text)] == [("no-tool", "tight@left")]
