"""The grammar of lines: every action can be typed, and no line at all ends line mode."""

import dataclasses
import hashlib
import io
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from runner.job import actions as a
from runner.job.demand import Demand, Option
from runner.joint.wrench import Extension
from runner.plain.answering import answer, enter_does
from runner.plain.commands import ROWS, command, help_lines
from runner.plain.console import Console
from runner.plain.deviating import deviation_clauses
from runner.plain.grammar import Typed, halves, parse_line, picked
from runner.plain.replies import Complaint, Moment, Reply, Show
from runner.plain.session import Ending, Session
from runner.safe_text import safe
from runner.stamp import Stamp
from runner.view import ConditionLine, ItemLine, OwedLine, View
from tests.plain.memory_run import MemoryRun
from tests.plain.small_job import small_job


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> MemoryRun:
    return MemoryRun(small_job(tmp_path_factory.mktemp("job")))


@pytest.fixture
def view(run: MemoryRun) -> View:
    return dataclasses.replace(
        run.view,
        conditions=(ConditionLine("support", "raised"),),
        owed=(
            OwedLine("put off x", "Tighten", "", "", "", "", "cued", True),
            OwedLine("extra 1", "Stud", "", "", "", "", "", True),
        ),
        items=(ItemLine("bolt@left", "bolt, left", "fastener", "out", "open", False),),
        tools=(("torque wrench", "TW-07"),),
        recorded=(("read x|tread|1", "tread 4.5 mm"),),
    )


def typed(view: View, line: str, demand: Demand | None = None) -> Reply:
    """What a line means with a demand on the screen."""
    shown = view if demand is None else dataclasses.replace(view, demand=demand)
    parsed = parse_line(line)
    moment = Moment(shown, parsed.name or "Ann", STAMP, by_name=bool(parsed.name))
    return command(parsed.text, moment) if parsed.command else answer(parsed, moment)


STAMP = Stamp(0, 0, 0, "boot")
LINES = (
    Option("tool:torque wrench", "torque wrench"),
    Option("line:0", "Nothing left"),
    Option("person:checker", "checker"),
)
YES_NO = (Option("whole", "whole"), Option("torn", "torn"))
TIGHT = Demand("tighten", "Tighten", subject="bolt@left", stage=2, member=3, methods=("click", "measured"))


def of(what: type[a.Action], who: str = "", **fields: Any) -> a.Action:
    """An action as a line should make it; who is Ann where nothing else is said."""
    return what(who=who, stamp=STAMP, **fields)


PREPARE = Demand("prepare", "", options=LINES)
CLOSING = Demand("close out", "", options=LINES)
CUE = Demand("cue", "", options=(Option("put off x", "Tighten"),))
STOP = Demand("stop", "")
COMPARE = Demand("reconfirm", "", options=YES_NO)
SAFE = Demand("make safe", "", options=LINES[1:2])
SEAL = Demand("seal", "", options=(Option("finished", "finished"),))
CASES: tuple[tuple[str, Demand | None, a.Action], ...] = (
    ("TW-07", PREPARE, of(a.CountIn, tool="torque wrench", identity="TW-07")),
    ("3 = Ben", PREPARE, of(a.MeetPrerequisite, key="person:checker", value="Ben")),
    (":ready checker = Ben", PREPARE, of(a.MeetPrerequisite, key="person:checker", value="Ben")),
    (":count in torque wrench = TW-8", None, of(a.CountIn, tool="torque wrench", identity="TW-8")),
    ("", CLOSING, of(a.CountOut, tool="torque wrench")),
    (":count out torque wrench", None, of(a.CountOut, tool="torque wrench")),
    ("2 = a rag", CLOSING, of(a.CloseOut, line=0, text="a rag")),
    (
        "2",
        Demand("choose", "", subject="side", options=YES_NO),
        of(a.ChooseLocation, name="side", value="torn"),
    ),
    ("", Demand("acknowledge", "", index=1), of(a.Acknowledge, notice=1)),
    ("T-7", Demand("new part", "", subject="bolt@left"), of(a.ConfirmPart, item="bolt@left", number="T-7")),
    ("", Demand("act", "", index=2), of(a.Do, act=2)),
    ("done", Demand("confirm", ""), of(a.Do, act=None)),
    ("", TIGHT, of(a.Tighten, item="bolt@left", stage=2, member=3, method="click")),
    ("61,5 Nm", TIGHT, of(a.Tighten, item="bolt@left", stage=2, member=3, method="measured", raw="61,5 Nm")),
    ("by mark", TIGHT, of(a.Tighten, item="bolt@left", stage=2, member=3, method="by mark")),
    ("4.5", Demand("reading", "", subject="tread", unit="mm"), of(a.Read, name="tread", raw="4.5")),
    (":read tread = 4.5", STOP, of(a.Read, name="tread", raw="4.5")),
    ("WHOLE", Demand("look", "", options=YES_NO), of(a.Look, label="whole")),
    (":look torn", STOP, of(a.Look, label="torn")),
    ("2", Demand("question", "", options=YES_NO), of(a.Answer, label="torn")),
    (":answer torn", STOP, of(a.Answer, label="torn")),
    (":put off part not here yet", None, of(a.PutOff, reason="part not here yet")),
    (":take up 1", None, of(a.TakeUp, key="put off x")),
    ("", CUE, of(a.TakeUp, key="put off x")),
    (":pass by 1: not yet", None, of(a.PassBy, key="put off x", reason="not yet")),
    (":pass by no room", CUE, of(a.PassBy, key="put off x", reason="no room")),
    ("release seen", Demand("hold", ""), of(a.Release, released=True, said="seen")),
    (":refuse low", Demand("hold", ""), of(a.Release, released=False, said="low")),
    (
        ":deviate by feel: no room; by Ben; = 40 N·m; about 2",
        None,
        of(a.Deviate, kind="by feel", reason="no room", authority="Ben", raw="40 N·m", subject="2"),
    ),
    (
        ":deviate not available: lost; about checker",
        PREPARE,
        of(a.Deviate, kind="not available", reason="lost", subject="person:checker"),
    ),
    (":deviate late: rain; about 1", None, of(a.Deviate, kind="late", reason="rain", subject="put off x")),
    (
        ":not applicable bolt, left: no such bolt",
        None,
        of(a.NotApplicable, subject="bolt@left", reason="no such bolt"),
    ),
    (":not applicable no undertray", None, of(a.NotApplicable, subject="", reason="no undertray")),
    (
        ":correct 1 = 5.4 mm: misread",
        None,
        of(a.Correct, key="read x|tread|1", raw="5.4 mm", reason="misread"),
    ),
    (":take back too soon", None, of(a.TakeBack, reason="too soon")),
    (":reopen 1: Started: thread", None, of(a.Reopen, item="bolt@left", state="started", reason="thread")),
    (":extra stud broken", None, of(a.ExtraWork, text="stud broken")),
    (":extra done 2: new stud", None, of(a.ExtraWorkDone, key="extra 1", said="new stud")),
    (":found Support = on wheels", None, of(a.FoundCondition, name="support", value="on wheels")),
    (":note dry", None, of(a.Note, text="dry")),
    ("as Ben :note dry", None, of(a.Note, text="dry", who="Ben")),
    ("", Demand("wait", "", until_ms=5), of(a.LetTimePass)),
    (":time not yet", None, of(a.LetTimePass, says="not yet")),
    (
        ":tool torque wrench = TW-9: dropped",
        None,
        of(a.ChangeTool, tool="torque wrench", identity="TW-9", reason="dropped"),
    ),
    (
        ":fit extension 2 in at 30° on torque wrench",
        None,
        of(a.FitExtension, tool="torque wrench", extension=Extension(length="50.8", angle="30")),
    ),
    (":take off extension", None, of(a.FitExtension, tool="torque wrench")),
    (":pause lunch", None, of(a.Pause, note="lunch")),
    ("", Demand("resume", ""), of(a.Resume)),
    (":resume", None, of(a.Resume)),
    (":differs 2", COMPARE, of(a.Reconfirm, key="torn", as_recorded=False)),
    ("", COMPARE, of(a.Reconfirm, key="whole")),
    (":hand over Cleo: plate next", None, of(a.HandOver, to="Cleo", note="plate next")),
    ("Cleo", Demand("handover", "", role="Cleo"), of(a.AcceptHandover, who="Cleo")),
    (":accept Cleo", None, of(a.AcceptHandover, who="Cleo")),
    (":take over Cleo: Ann is gone", None, of(a.TakeOverAlone, reason="Ann is gone", who="Cleo")),
    ("as Cleo: :take over Ann is gone", None, of(a.TakeOverAlone, reason="Ann is gone", who="Cleo")),
    ("1", SAFE, of(a.MakeSafe, line=0)),
    (":make safe 1", SAFE, of(a.MakeSafe, line=0)),
    ("seal", SEAL, of(a.Seal, outcome="finished")),
    (":abandon rain", None, of(a.Seal, outcome="abandoned", reason="rain")),
)


@pytest.mark.parametrize(
    ("line", "demand", "wanted"), CASES, ids=[f"{type(case[2]).__name__} {n}" for n, case in enumerate(CASES)]
)
def test_a_line_is_an_action(view: View, line: str, demand: Demand | None, wanted: a.Action) -> None:
    made = typed(view, line, demand)
    assert isinstance(made, a.Action), made
    assert made.who == (wanted.who or "Ann")
    assert made.seen == view.seq
    assert dataclasses.replace(made, who="", seen=None) == dataclasses.replace(wanted, who="")


def test_every_action_can_be_typed() -> None:
    """Start is asked by its own prompts; everything else stands in the table above."""
    reached = {type(wanted) for _, _, wanted in CASES} | {a.Start}
    assert reached == {
        each for each in vars(a).values() if isinstance(each, type) and issubclass(each, a.Action)
    } - {a.Action}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (":note", "Write it so: :note TEXT"),
        (":deviate", "KIND is one of: out of band, by feel"),
        (":deviate magic: because", "KIND is one of"),
        (":deviate by feel: ; by Ben", "Write it so"),
        (":correct 9 = 1: x", "No entry has that key"),
        (":correct 1 = 4.5", "Write it so"),
        (":reopen 7: out: x", "No item has that name"),
        (":reopen 1: out", "Write it so"),
        (":found colour = red", "Conditions: support"),
        (":tool hammer = x: y", "Tools: torque wrench"),
        (":take up 9", "Nothing owed has that name"),
        (":extra done 9", "No extra work"),
        (":seal", "There is nothing to seal yet"),
        (":time", "Write it so"),
        (":frobnicate", "There is no command"),
        (":", "There is no command"),
        (":hand over", "Write it so"),
        (":take over Ann went home", "Write it so"),
        (":abandon", "Write it so"),
        ("what", "Nothing is to be typed here but a command"),
    ],
)
def test_what_cannot_be_meant_says_how_to_write_it(view: View, line: str, said: str) -> None:
    reply = typed(view, line, Demand("blocked", "Not yet"))
    assert isinstance(reply, Complaint)
    assert said in reply.text


def test_enter_never_chooses_an_answer_value_or_seal(view: View) -> None:
    for kind in (
        "question",
        "look",
        "reading",
        "second reading",
        "hold",
        "seal",
        "choose",
        "doubt",
        "handover",
    ):
        demand = Demand(kind, "", subject="x", options=YES_NO)  # type: ignore[arg-type]
        assert enter_does(demand) == ""
        assert isinstance(typed(view, "", demand), Complaint)


def test_a_measured_stage_is_not_answered_by_enter(view: View) -> None:
    demand = dataclasses.replace(TIGHT, methods=("measured",), big="60 N·m")
    assert enter_does(demand) == ""
    assert isinstance(typed(view, "", demand), Complaint)


def test_a_photo_is_read_and_hashed(view: View, tmp_path: Path) -> None:
    picture = tmp_path / "seal.jpg"
    picture.write_bytes(b"light")
    demand = Demand("reading", "", subject="seal", unit="photo")
    made = typed(view, str(picture), demand)
    assert isinstance(made, a.Read)
    assert made.raw == f"{picture} {hashlib.sha256(b'light').hexdigest()}"
    assert isinstance(typed(view, str(tmp_path / "gone.jpg"), demand), Complaint)
    assert isinstance(typed(view, str(tmp_path), demand), Complaint)


@pytest.mark.parametrize(
    ("line", "parsed"),
    [
        ("  4.5 mm ", Typed("4.5 mm")),
        ("= :x", Typed(":x", literal=True)),
        (":note as Ben: x", Typed("note as Ben: x", command=True)),
        ("as Ben: 4.5", Typed("4.5", "Ben")),
        ("AS Ben Lo: :note x", Typed("note x", "Ben Lo", command=True)),
        ("as Ben :note x", Typed("note x", "Ben", command=True)),
        ("as Ben: = as", Typed("as", "Ben", literal=True)),
        ("ask the boss", Typed("ask the boss")),
        ("", Typed("")),
    ],
)
def test_a_line_is_taken_apart(line: str, parsed: Typed) -> None:
    assert parse_line(line) == parsed


def test_words_come_before_numbers_when_picking() -> None:
    options = (Option("2", "two"), Option("b", "three"))
    assert picked("2", options) is options[0]
    assert picked(" B ", options) is options[1]
    assert picked("3", options) is None
    assert picked("0", options) is None
    assert picked("¹", options) is None


def test_clauses_need_a_reason_before_them() -> None:
    assert deviation_clauses("worn; by hand of Ann; = 3 mm") == ("worn", "hand of Ann", "3 mm", "")
    assert deviation_clauses("by the book") == ("by the book", "", "", "")
    assert deviation_clauses("a; b; about 3") == ("a; b", "", "", "3")
    assert halves("a", ":") == ("a", "")


def test_help_shows_each_command_once_and_topics_exist(view: View) -> None:
    text = "\n".join(help_lines())
    for row in ROWS:
        assert text.count(f"  {row.usage}") >= 1
    for row in ROWS[:11]:
        assert isinstance(typed(view, f":{row.words}"), Show)


LINE = st.one_of(
    st.text(st.characters(exclude_categories=("Cs",)), max_size=30),
    st.sampled_from(
        ["", "1", "2", "click", "seal", "release x", "Ben", "none", "it stays still", "30", "4.5 mm", "="]
    ),
    st.builds(
        lambda row, rest: f":{row.words} {rest}",
        st.sampled_from([row for row in ROWS if row.words != "quit"]),
        st.sampled_from(["", "1", "1: out: x", "x", "1 = 30 N·m: y", "by feel: x; by Ben", "Ben: x"]),
    ),
)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(LINE, max_size=40))
def test_no_lines_at_all_end_line_mode_with_an_error(lines: list[str]) -> None:
    """Whatever is typed, the session ends sealed or left, and only printable text was written."""
    run = MemoryRun(_JOB)
    script = "Ann\nTR-17\n1 km\n" + "\n".join(line.replace("\n", " ") for line in lines) + "\n"
    out = io.StringIO()
    ending = Session(run, Console(io.StringIO(script), out), sleep=lambda s: None).play()
    assert ending in (Ending.LEFT, Ending.SEALED)
    written = set(out.getvalue()) - {"\n"}
    assert written == set(safe("".join(written)))


with tempfile.TemporaryDirectory() as _folder:
    _JOB = small_job(Path(_folder))
