"""What the review says of tools and readings: from runs that were really logged, by an invented toolbox."""

from pathlib import Path

import pytest

from runner.job import actions as a
from runner.joint.conformity import RULES
from runner.joint.sourced import FROM_MEMORY
from runner.joint.wrench import Certificate, Extension, Wrench
from runner.log.scan import scan_file
from runner.review.facts import Facts, facts_of
from runner.review.terminal import review_lines
from runner.run import Run
from tests.doubles import SetOutside
from tests.procedure.procedure_text import linked

JOB = """\
tolerance: {torque: ±4 %}
tools: [{name: torque wrench, covers: 5 to 200 N·m}]
items:
  bolts: {kind: fastener, count: 3, at start: started, tighten: [{torque: 12 N·m ±2 N·m}, {torque: 60 N·m}]}
steps:
  - {step: first, do: First., tightens: {bolts: stage 1}, tools: [torque wrench]}
  - {step: last, do: Last., tightens: {bolts: the rest}, tools: [torque wrench]}
"""
DIAL = Wrench(
    name="DW", serial="7", kind="dial", low="5", high="200", unit="N·m", length="400",
    certificate=Certificate(uncertainty="2"),
)  # fmt: skip
BARE = DIAL.model_copy(update={"certificate": None, "high": "100"})
CLICK = BARE.model_copy(update={"kind": "click", "high": "60", "graduation": "1", "unit": "N·m"})


class Bench:
    """A run that is really logged: `tighten` takes what is asked, click or a value."""

    def __init__(self, folder: Path, wrench: Wrench | None, *, unfit: bool = False) -> None:
        self.run = Run.begin(linked(JOB), SetOutside(), folder)
        self.do(a.Start, work_piece="T-1")
        if unfit:
            self.do(
                a.Deviate, kind="unfit tool", reason="no other", subject="tool:torque wrench", wrench=wrench
            )
        else:
            self.do(a.CountIn, tool="torque wrench", wrench=wrench, identity="W-1")
        while self.run.view.demand.kind == "prepare":
            key = self.run.view.demand.options[0].key
            kind = key.partition(":")[0]
            assert kind == "person", key
            self.do(a.MeetPrerequisite, key=key, value="Bo")

    def do(self, what: type[a.Action], /, **words: object) -> None:
        decision = self.run.decide(what(who="Ann", stamp=self.run.stamp(), **words))  # type: ignore[arg-type]
        assert decision.refusal is None, decision.refusal
        assert decision.entry is not None
        self.run.record(decision.entry)
        self.run.apply(decision.entry)

    def tighten(self, *raws: str) -> None:
        for raw in raws:
            now = self.run.view.demand
            words = {"item": now.subject, "stage": now.stage, "member": now.member}
            self.do(a.Tighten, **words, method="measured" if raw else now.methods[-1], raw=raw)

    def facts(self) -> Facts:
        self.run.close()
        assert self.run.path is not None
        return facts_of(scan_file(self.run.path))


def group(facts: Facts, name: str) -> list[str]:
    return [each.text for each in dict(facts.exceptions).get(name, ())]  # type: ignore[call-overload]


def test_a_reading_that_is_too_close_to_tell_is_told_with_its_uncertainty_and_band(tmp_path: Path) -> None:
    bench = Bench(tmp_path, DIAL)
    bench.tighten("12", "12.1", "11.9", "60", "58.5", "61")
    facts = bench.facts()
    (told,) = group(facts, "too close to tell")
    assert "58.5 N·m (band 57.6 to 62.4 N·m) with torque wrench DW 7" in told
    assert "too close to tell with this wrench (U = 1.17 N·m, k = 2)" in told
    # ISO 14253-1 and JCGM 106 are from memory (reference.md section 6, M), and the review says so.
    (rule,) = facts.judged
    assert rule.count(FROM_MEMORY) == len(RULES["U"]) == 2
    text = "\n".join(review_lines(facts))
    assert (
        text.index("too close to tell (1)")
        < text.index("How readings were judged")
        < text.index("in its order")
    )


def test_the_bare_band_is_told_once_for_each_tool(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BARE)
    bench.tighten("12", "12.1", "11.9", "60", "61", "60.5")
    facts = bench.facts()
    assert facts.judged == ("no certificate of DW 7 is known: the bare band decided",)
    assert group(facts, "too close to tell") == []


def test_a_value_surely_out_stands_under_deviations(tmp_path: Path) -> None:
    bench = Bench(tmp_path, DIAL)
    bench.do(a.Deviate, kind="out of band", reason="as it is", raw="5")
    told = group(bench.facts(), "deviations")
    assert len(told) == 2
    assert "5 N·m (band 10 to 14 N·m) with torque wrench DW 7; surely out of its band" in told[1]


def test_by_feel_is_an_open_point(tmp_path: Path) -> None:
    bench = Bench(tmp_path, DIAL)
    bench.do(a.Deviate, kind="by feel", reason="no room for the wrench")
    facts = bench.facts()
    (point,) = facts.open_points
    assert point.startswith("deviation, by feel (bolts number 1): no room for the wrench")
    assert "Open points\n  - deviation, by feel" in "\n".join(review_lines(facts))


@pytest.mark.parametrize(
    ("raws", "alike"),
    [
        (("60", "60", "60"), True),
        (("60", "60", "60.1"), False),
        (("60", "60"), False),  # the third has not been read yet
    ],
)
def test_one_number_read_at_every_fastener_of_a_stage_is_named(tmp_path: Path, raws, alike) -> None:
    bench = Bench(tmp_path, BARE)
    bench.tighten("12", "12.1", "11.9", *raws)
    said = [line for line in bench.facts().advice if "alike" in line]
    words = "bolts, stage 2: 60 N·m was read at every one of 3, alike to the last digit: was each one read?"
    assert said == ([words] if alike else [])


def test_a_wrench_that_clicks_is_alike_by_its_nature(tmp_path: Path) -> None:
    bench = Bench(tmp_path, CLICK)
    bench.tighten(*[""] * 6)
    assert not [line for line in bench.facts().advice if "alike" in line]


def test_what_a_correction_made_of_a_reading_counts(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BARE)
    bench.tighten("12", "12.1", "11.9", "60", "60", "60")
    key = next(key for key in bench.run.job.recorded if key.startswith("tighten last|"))
    bench.do(a.Correct, key=key, raw="61", reason="misread")
    assert not [line for line in bench.facts().advice if "alike" in line]


def test_what_was_set_is_compared_where_an_extension_stands_between(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BARE)
    bench.do(a.FitExtension, tool="torque wrench", extension=Extension(length="100"))
    bench.tighten("9.6", "9.6", "9.6")
    (said,) = [line for line in bench.facts().advice if "alike" in line]
    assert said.startswith("bolts, stage 1: 9.6 N·m was read at every one of 3")


def test_a_wrench_used_below_a_fifth_of_its_maximum_is_named(tmp_path: Path) -> None:
    # 20 % of maximum: ISO 6789:2003 test points (TS), US Army TM 1-1500-204-23-9 (TS); reference.md sections 5 and 6.
    bench = Bench(tmp_path, DIAL)
    bench.tighten("12", "12.1", "11.9", "60")
    (said,) = bench.facts().advice
    assert said.startswith(
        "DW 7 was used below 20 % of its maximum, 200 N·m, where its accuracy may not be vouched for"
    )
    assert said.endswith("lowest 11.9 N·m")
    assert said.count(",") == 5  # three entries, and not the one of 60 N·m


def test_just_a_fifth_of_the_maximum_is_not(tmp_path: Path) -> None:
    bench = Bench(tmp_path, CLICK)
    bench.tighten("")  # 12 of 60 N·m
    assert bench.facts().advice == ()


def test_a_wrench_used_after_its_calibration_was_due_is_named_once(tmp_path: Path) -> None:
    lapsed = BARE.model_copy(update={"due_on": "2026-01-31", "high": "60"})
    bench = Bench(tmp_path, lapsed, unfit=True)
    bench.tighten("12", "12.1")
    facts = bench.facts()
    (said,) = facts.advice
    assert said.startswith("DW 7 was used after its calibration was due on 2026-01-31: entries ")
    assert "deviation, unfit tool (torque wrench DW 7): no other" in group(facts, "deviations")[0]


def test_an_overdue_wrench_that_was_not_used_is_not(tmp_path: Path) -> None:
    lapsed = BARE.model_copy(update={"due_on": "2026-01-31"})
    assert Bench(tmp_path, lapsed, unfit=True).facts().advice == ()


def test_of_a_tool_that_is_in_no_toolbox_nothing_is_said(tmp_path: Path) -> None:
    bench = Bench(tmp_path, None)
    bench.tighten("12", "12.1", "11.9")
    facts = bench.facts()
    assert (facts.advice, facts.judged) == ((), ())


def test_where_an_entry_cannot_be_read_the_advice_ends_and_says_so(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BARE)
    bench.tighten("12", "12.1")
    log = bench.run._log
    assert log is not None
    log.append("noted", {"who": "Ann", "events": [{"kind": "from_the_future", "v": 9}]}, bench.run.stamp())
    (*_, said) = bench.facts().advice
    assert said.startswith("from entry ")
    assert said.endswith("on nothing was looked at: this program cannot read it")
