"""Facts from logs that were really written: exceptions first, and nothing but the log is needed."""

import io
from pathlib import Path

import pytest

from runner.log.names import find_logs
from runner.log.record import Report
from runner.log.scan import scan_file
from runner.plain.console import Console
from runner.plain.session import Session
from runner.proof.prove import prove
from runner.review.facts import Facts, facts_of
from runner.review.terminal import review_lines
from runner.run import Run
from tests.doubles import SetOutside
from tests.plain.small_job import small_job
from tests.plain.test_session import RAISED, START, WHOLE
from tests.procedure.procedure_text import linked
from tests.proof.test_live import CAR


def logged(folder: Path, script: str, *, rehearsal: bool = False) -> Report:
    """Play a script into a log and scan it."""
    run = Run.begin(small_job(folder), SetOutside(), folder / "logs", rehearsal=rehearsal, bench="bench 3")
    Session(run, Console(io.StringIO(script), io.StringIO()), performer="Ann").play()
    run.close()
    (log,) = find_logs(folder / "logs")
    (folder / "small-job.yaml").unlink()
    return scan_file(log.path)


def group(facts: Facts, name: str) -> list[str]:
    return [each.text for each in dict(facts.exceptions).get(name, ())]  # type: ignore[call-overload]


def test_a_finished_run_tells_who_what_and_how_it_ended(tmp_path: Path) -> None:
    facts = facts_of(logged(tmp_path, WHOLE))
    heading = dict(facts.heading)
    assert facts.complete
    assert facts.outcome == "finished"
    assert heading["procedure"] == "Small job, revision 2"
    assert heading["work piece"].startswith("TR-17")
    assert heading["people"].startswith("Ann, Ben")
    assert heading["bench"] == "bench 3"
    assert "rehearsal" not in heading
    assert facts.conditions == (("support", "on wheels"),)
    assert facts.follow_ups == ("Re-torque the wheel bolts (50 km)",)
    assert [name for name, _ in facts.exceptions] == ["put off"]


def test_a_rehearsal_says_so(tmp_path: Path) -> None:
    assert "YES" in dict(facts_of(logged(tmp_path, START, rehearsal=True)).heading)["rehearsal"]


def test_exceptions_are_found_and_grouped(tmp_path: Path) -> None:
    script = (
        START
        + RAISED
        + ":take back\nit stays still\n\n\n\n\n44\n:deviate out of band: thread is worn; by Ben; = 33 N·m\n"
        + ":note x\n:pause tea\n"
    )
    facts = facts_of(logged(tmp_path, script))
    assert not facts.complete
    assert "taken back" in group(facts, "taken back")[0]
    assert any("44" in text for text in group(facts, "refused entries"))
    deviations = group(facts, "deviations")
    assert any("thread is worn" in text and "Ben" in text for text in deviations)
    assert any("thread is worn" in point for point in facts.open_points)
    assert any("tea" in text for text in group(facts, "pauses and handovers"))


def test_what_the_proof_answered_is_told_and_what_is_lost_comes_first(tmp_path: Path) -> None:
    procedure = linked(CAR)
    run = Run.begin(procedure, SetOutside(), tmp_path / "logs", gates=prove(procedure).gates)
    script = (
        "\nT-1\nBo\n\n\n\n:put off stiff\n\n:deviate not done: broke; by Chief\n:put off no wedge\n:quit\n"
    )
    Session(run, Console(io.StringIO(script), io.StringIO()), performer="Ann").play()
    run.close()
    (log,) = find_logs(tmp_path / "logs")
    facts = facts_of(scan_file(log.path))
    assert facts.exceptions[0][0] == "no way left"
    lost = "the proof answers: NO WAY LEFT: cap is still off at the end: nobody puts it back"
    (told,) = group(facts, "no way left")
    assert told.startswith(lost), "once, though the next answer names it again"
    answers = [each.text for each in facts.timeline if each.kind == "reproved"]
    assert len(answers) == 3
    assert answers[0] == (
        "the proof answers: everything that is open can still be closed; "
        'Unplug the lead.: before "Plug the lead in"'
    )
    assert answers[2].startswith(lost)


def test_the_timeline_keeps_order_time_person_and_place(tmp_path: Path) -> None:
    facts = facts_of(logged(tmp_path, WHOLE))
    assert [each.n for each in facts.timeline] == sorted(each.n for each in facts.timeline)
    torque = next(each for each in facts.timeline if each.kind == "tightened")
    assert (torque.who, torque.step) == ("Ann", "drain-torque")
    assert "30.2 N·m (band 28.8 to 31.2 N·m) with torque wrench TW-07" in torque.text
    release = next(each for each in facts.timeline if each.kind == "hold_released")
    assert release.who == "Ben"


def test_printing_puts_exceptions_before_the_timeline_and_is_safe(tmp_path: Path) -> None:
    typed = ":note a\x1b[2Jb\n:note c\u200fd\n"
    lines = review_lines(facts_of(logged(tmp_path, START + typed)))
    text = "\n".join(lines)
    assert text.index("Exceptions") < text.index("Everything in its order")
    assert "NOT FINISHED" in text
    assert "\x1b" not in text
    assert "U+001B (an escape character) is no letter or sign" in text
    assert "c<U+200F>d" in text


def test_the_same_slip_again_and_again_is_one_line_of_the_exceptions_and_all_of_them_in_order(
    tmp_path: Path,
) -> None:
    facts = facts_of(logged(tmp_path, START + RAISED + "\n\n\n\n" + "300 N·m\n" * 3 + "40\n"))
    lines = review_lines(facts)
    slips = [line for line in lines if "typed 300 N·m" in line]
    assert "(3 times, last at " in slips[0]
    assert "last at" not in "".join(slips[1:])
    assert len(slips) == 1 + 3, "one among the exceptions, three in their order"
    assert "  refused entries (4)" in lines


def test_clock_steps_and_scars_are_exceptions(tmp_path: Path) -> None:
    outside = SetOutside()
    run = Run.begin(small_job(tmp_path), outside, tmp_path / "logs")
    Session(run, Console(io.StringIO(START), io.StringIO()), performer="Ann").play()
    run.close()
    (log,) = find_logs(tmp_path / "logs")
    with log.path.open("ab") as file:
        file.write(b'{"data":{"torn')
    outside.set_wall(3_600_000)
    resumed = Run.resume(log.path, outside)
    Session(resumed, Console(io.StringIO("\n"), io.StringIO())).play()
    resumed.close()
    facts = facts_of(scan_file(log.path))
    assert "the wall clock was set" in group(facts, "clock")[0]
    assert "a crash left 14 bytes" in group(facts, "scars and unreadable entries")[0]


def test_an_entry_this_program_does_not_know_is_named_and_the_rest_is_told(tmp_path: Path) -> None:
    run = Run.begin(small_job(tmp_path), SetOutside(), tmp_path / "logs")
    Session(run, Console(io.StringIO(START), io.StringIO()), performer="Ann").play()
    log = run._log
    assert log is not None
    log.append("noted", {"who": "Ann", "events": [{"kind": "from_the_future", "v": 9}]}, run.stamp())
    run.close()
    facts = facts_of(scan_file(log.path))
    assert "from_the_future" in group(facts, "scars and unreadable entries")[0]
    assert any(each.kind == "started" for each in facts.timeline)


def test_a_file_without_a_header_has_no_facts(tmp_path: Path) -> None:
    path = tmp_path / "x.jsonl"
    path.write_text("nothing\n")
    with pytest.raises(ValueError, match="no facts"):
        facts_of(scan_file(path))


def test_a_header_of_an_unknown_form_is_still_told(tmp_path: Path) -> None:
    report = logged(tmp_path, START)
    assert report.header is not None
    report.header["procedure"]["version"] = 99
    facts = facts_of(report)
    assert dict(facts.heading)["procedure"] == "Small job, revision 2"
    assert facts.timeline
