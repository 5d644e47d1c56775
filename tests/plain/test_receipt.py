"""The receipt code at a hold point: who releases can write down what was released, on the bench and by lines."""

import io
from pathlib import Path

from runner.bench.page import page
from runner.bench.rows import text_of
from runner.bench.scene import Scene
from runner.bench.theme import UNICODE, Look
from runner.log.line import receipt
from runner.log.scan import scan_file
from runner.outside import Outside
from runner.plain.console import Console
from runner.plain.session import Session
from runner.run import Run
from tests.plain.small_job import small_job
from tests.plain.test_session import RAISED, START

TO_THE_HOLD_POINT = START + RAISED + "\n\n\n\n30.2\n\n\n\n:quit\n"


def test_a_hold_point_shows_the_receipt_code_of_the_record_so_far(tmp_path: Path) -> None:
    run = Run.begin(small_job(tmp_path), Outside(), tmp_path / "logs")
    out = io.StringIO()
    Session(run, Console(io.StringIO(TO_THE_HOLD_POINT), out), performer="Ann").play()
    assert run.view.demand.kind == "hold", out.getvalue()
    assert run.path is not None
    code = receipt(scan_file(run.path).head)
    assert f"receipt code, for the job sheet: {code}\nName of checker" in out.getvalue()
    rows = page(Scene(view=run.view, look=Look(UNICODE)), 80, 24)
    assert code in "\n".join(text_of(row) for row in rows)
    run.close()


def test_no_other_demand_shows_one(tmp_path: Path) -> None:
    run = Run.begin(small_job(tmp_path), Outside(), tmp_path / "logs")
    assert run.view.receipt == ""
    out = io.StringIO()
    Session(run, Console(io.StringIO(START + RAISED + ":quit\n"), out), performer="Ann").play()
    assert run.view.receipt == ""
    assert "job sheet" not in out.getvalue()
    run.close()
