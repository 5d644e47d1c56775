"""A new run on a work piece that an earlier one left unfinished says so before step 1."""

from pathlib import Path

from runner.job import actions as a
from runner.run import Run
from tests.doubles import SetOutside
from tests.procedures.hand import loaded

WHEEL = loaded(Path(__file__).parents[1] / "procedures" / "wheel-change.yaml")


def begun(folder: Path, outside: SetOutside, work_piece: str = "T-1", **more: bool) -> Run:
    outside.pass_time(120_000)
    run = Run.begin(WHEEL, outside, folder, **more)
    start = a.Start(who="Ann", stamp=run.stamp(), work_piece=work_piece, counters=(("odometer", "12000"),))
    assert run.act(start) is None
    chosen = a.ChooseLocation(who="Ann", stamp=run.stamp(), name="corner", value="front left")
    assert run.act(chosen) is None
    return run


def abandon(run: Run) -> None:
    for _ in range(20):
        if run.sealed:
            break
        options = run.view.demand.options
        if run.view.demand.kind == "make safe":
            run.act(a.MakeSafe(who="Ann", stamp=run.stamp(), line=int(options[0].key[5:])))
        else:
            run.act(a.Seal(who="Ann", stamp=run.stamp(), outcome="abandoned", reason="it rains in"))
    run.close()


def told(run: Run) -> list[str]:
    return [option.label for option in run.view.demand.options if option.key.startswith("earlier:")]


def test_an_abandoned_run_is_told_and_confirmed_line_by_line(tmp_path: Path) -> None:
    outside = SetOutside()
    abandon(begun(tmp_path, outside))
    run = begun(tmp_path, outside, "t-1 ")
    lines = told(run)
    assert "was abandoned" in lines[0]
    assert "it rains in" in lines[0]
    assert any("support" in line for line in lines[1:])
    key = run.view.demand.options[0].key
    assert run.act(a.MeetPrerequisite(who="Ann", stamp=run.stamp(), key=key)) is None
    assert len(told(run)) == len(lines) - 1
    run.close()


def test_a_run_that_was_never_sealed_is_told(tmp_path: Path) -> None:
    outside = SetOutside()
    begun(tmp_path, outside).close()
    run = begun(tmp_path, outside)
    assert ["never sealed" in line for line in told(run)] == [True]
    run.close()


def test_other_work_pieces_and_rehearsals_say_nothing(tmp_path: Path) -> None:
    outside = SetOutside()
    abandon(begun(tmp_path, outside))
    other, rehearsal = begun(tmp_path, outside, "T-2"), begun(tmp_path, outside, rehearsal=True)
    assert told(other) == told(rehearsal) == []
    other.close()
    rehearsal.close()
