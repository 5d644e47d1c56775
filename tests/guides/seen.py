"""What a person sees and what is left behind: a job of `tests.job.bench_hand` on the screen, at keys, in a log."""

import io
from pathlib import Path

from runner.bench.page import page
from runner.bench.rows import texts
from runner.bench.stripe import WIDTH as STRIPE
from runner.log.record import Report
from runner.log.scan import scan_file
from runner.plain.console import Console
from runner.plain.session import Session
from runner.procedure.reader import read_procedure
from runner.review.facts import facts_of
from runner.review.terminal import review_lines
from runner.run import Run
from runner.stamp import Stamp
from tests.bench.hands import Hands
from tests.bench.samples import SampleRun
from tests.doubles import SetOutside
from tests.job.bench_hand import Hand
from tests.plain.memory_run import MemoryRun
from tests.procedures.hand import QuickFiles


def screen(hand: Hand, width: int = 80, height: int = 24) -> list[str]:
    """The rows of the bench as the job stands."""
    desk = Hands(SampleRun([hand.view])).desk
    return texts(page(desk.scene, width, height))


def shows(hand: Hand, words: str, width: int = 80, height: int = 24) -> bool:
    """Whether the bench shows these words beside its stripe, wherever its lines break."""
    rows = screen(hand, width, height)
    beside = [rows[0], *(row[STRIPE + 2 :] for row in rows[1:-1]), rows[-1]]
    return words in " ".join(" ".join(beside).split())


class Continued(MemoryRun):
    """A run that goes on from where a `Hand` left it, by the same clock."""

    def __init__(self, hand: Hand) -> None:
        super().__init__(hand.procedure, rehearsal=False)
        self.job = hand.job
        self.entries = list(hand.entries)
        self._clock = hand.clock

    def stamp(self) -> Stamp:
        return self._clock.now()


def at_keys(hand: Hand) -> tuple[Hands, Continued]:
    """The same job under keys: the bench over the real engine."""
    run = Continued(hand)
    return Hands(run), run  # type: ignore[arg-type]


def at_prompts(hand: Hand, script: str) -> tuple[str, Continued]:
    """What line mode prints while a script is typed into the same job."""
    run, out = Continued(hand), io.StringIO()
    Session(run, Console(io.StringIO(script), out), sleep=lambda _: None).play()
    return out.getvalue(), run


def log_of(hand: Hand, folder: Path, *, bench: str = "") -> Path:
    """The entries of a job in a log on disk, by the program's own writer."""
    return _written(hand, folder, bench).path or folder


def tag_of(hand: Hand, folder: Path) -> str:
    """The tag that hangs on the work when it is left."""
    return "\n".join(_written(hand, folder, "").make_safe_tag())


def _written(hand: Hand, folder: Path, bench: str) -> Run:
    outside = SetOutside(step_ms=0, files=QuickFiles())
    outside.boot = hand.entries[0].stamp.boot
    run = Run.begin(hand.procedure, outside, folder, bench=bench)
    for entry in hand.entries:
        run.record(entry)
        run.apply(entry)
    run.close()
    return run


def report_of(hand: Hand, folder: Path) -> Report:
    """The same, read back."""
    return scan_file(log_of(hand, folder))


def review(path: Path) -> str:
    """What `review` prints of a log."""
    return "\n".join(review_lines(facts_of(scan_file(path))))


def check(text: str) -> list[str]:
    """What the reader finds in a procedure, as it is printed."""
    _, found = read_procedure(text.encode(), "job.yaml")
    return [finding.text() for finding in found]
