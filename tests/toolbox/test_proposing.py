"""Which of the shop's tools are proposed for those a procedure asks for, and what each is set to."""

from runner.joint.wrench import Wrench
from runner.toolbox.model import Toolbox
from runner.toolbox.proposing import proposals, torques
from tests.procedure.procedure_text import linked

JOB = """\
tolerance: {torque: ±4 %}
tools:
  - {name: torque wrench, covers: 20 to 150 N·m}
  - {name: feeler gauge, covers: 0.1 to 0.9 mm}
  - {name: hammer}
items:
  bolts: {kind: fastener, count: 4, tighten: [{torque: 25 N·m}, {torque: 60 N·m}, {angle: 90° ±5°}]}
  stud: {kind: fastener, tighten: [{torque: 140 N·m}]}
steps:
  - {step: out, do: Out., takes out: [bolts, stud]}
  - {step: in, do: In., starts: [bolts, stud]}
  - {step: first, do: First., tightens: {bolts: stages 1 to 2}, tools: [torque wrench]}
  - {step: turn, do: Turn., tightens: {bolts: the rest}}
  - {step: last, do: The stud., tightens: [stud], tools: [torque wrench]}
"""
DAY = "2026-11-26"
POUNDS = Wrench(name="LB", kind="click", low="10", high="110", unit="lbf·ft", graduation="1")
SHORT = Wrench(name="SH", kind="click", low="5", high="80", unit="N·m", graduation="1")
LATE = Wrench(name="LT", kind="dial", low="10", high="200", unit="N·m", due_on="2026-11-25")
TINY = Wrench(name="TY", kind="click", low="1", high="5", unit="N·m", graduation="0.1")
LEAVES = Wrench(name="LV", kind="gauge", low="0.05", high="1", unit="mm")
THICK = Wrench(name="TH", kind="gauge", low="0.5", high="1", unit="mm")


def _proposed(*wrenches: Wrench) -> list[tuple[str, str, str, bool]]:
    box = Toolbox(wrenches=wrenches)
    found = proposals(linked(JOB), box, DAY)
    return [(p.tool, p.wrench.name, p.words, bool(p.against)) for p in found]


def test_the_torques_of_a_tool_are_those_that_some_step_sets_on_it():
    stages = torques(linked(JOB), "torque wrench")
    assert [(stage.target, stage.unit) for stage in stages] == [("25", "N·m"), ("60", "N·m"), ("140", "N·m")]
    assert torques(linked(JOB), "hammer") == ()


def test_the_one_that_gives_every_torque_comes_before_one_that_gives_some_and_unfit_ones_last():
    # 25, 60 N·m as 18, 44 lbf·ft: common practice, no source. 140 N·m is 103.26 lbf·ft.
    assert _proposed(TINY, LATE, SHORT, POUNDS) == [
        (
            "torque wrench",
            "LB",
            "25 N·m: set 18 lbf·ft; 60 N·m: set 44 lbf·ft; 140 N·m: set 103 lbf·ft",
            False,
        ),
        ("torque wrench", "SH", "25 N·m; 60 N·m; not 140 N·m", False),
        ("torque wrench", "LT", "overdue since 2026-11-25 (else 25 N·m; 60 N·m; 140 N·m)", True),
        ("torque wrench", "TY", "covers 1 to 5 N·m only", True),
    ]


def test_a_gauge_is_proposed_by_its_range_and_a_tool_without_range_has_no_proposal():
    late = LEAVES.model_copy(update={"name": "LL", "due_on": "2026-11-25"})
    assert _proposed(THICK, late, LEAVES) == [
        ("feeler gauge", "LV", "0.05 to 1 mm", False),
        ("feeler gauge", "LL", "overdue since 2026-11-25", True),
    ]


def _for_stage(stage: str, *wrenches: Wrench) -> list[tuple[str, str, bool]]:
    job = linked(f"""\
tolerance: {{torque: ±4 %}}
tools: [{{name: torque wrench, covers: 20 to 150 N·m}}]
items: {{bolt: {{kind: fastener, at start: started, tighten: [{stage}]}}}}
steps: [{{step: tight, do: Tighten it., tightens: [bolt], tools: [torque wrench]}}]
""")
    return [
        (p.wrench.name, p.words, bool(p.against)) for p in proposals(job, Toolbox(wrenches=wrenches), DAY)
    ]


def test_a_tool_that_is_known_otherwise_than_the_stage_takes_is_never_the_best():
    """Issue 4: the best one for each torque is proposed; the gate takes no click where a value is to be measured."""
    clicks = Wrench(name="CL", kind="click", low="20", high="110", unit="N·m", graduation="1")
    reads = Wrench(name="EW", kind="electronic", low="5", high="200", unit="N·m", graduation="0.1")
    assert _for_stage("{torque: 60 N·m, method: measured}", clicks, reads) == [
        ("EW", "60 N·m", False),
        ("CL", "not 60 N·m measured", False),
    ]
    assert [name for name, *_ in _for_stage("{torque: 60 N·m, method: click}", reads, clicks)] == ["CL", "EW"]
    assert [name for name, *_ in _for_stage("{torque: 60 N·m}", reads, clicks)] == ["CL", "EW"]


def test_a_tool_whose_nearest_mark_lies_outside_the_band_is_never_the_best():
    coarse = Wrench(name="CO", kind="click", low="20", high="70", unit="N·m", graduation="5")
    fine = Wrench(name="FI", kind="click", low="20", high="400", unit="N·m", graduation="1")
    # 52 N·m: the nearest mark of the coarse one is 50, 3.8 % less; the other is set to 13 % of its maximum, the last
    # thing to take where anything else gives the torque.
    assert _for_stage("{torque: 52 N·m}", coarse, fine)[0] == ("CO", "52 N·m: set 50 N·m", False)
    assert _for_stage("{torque: 52 N·m ±2 %}", coarse, fine) == [
        ("FI", "52 N·m", False),
        ("CO", "not 52 N·m within its band", False),
    ]
