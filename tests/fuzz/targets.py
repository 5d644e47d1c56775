"""What is done with one input, and what must be true of the answer."""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from runner.job.record import RecordError
from runner.log.scan import scan
from runner.procedure.link_whole import link
from runner.procedure.linked import LinkedError
from runner.procedure.reader import read_procedure
from runner.replaying import replay
from runner.review.facts import facts_of
from runner.review.terminal import review_lines
from runner.toolbox.reader import read_toolbox
from tests.hostile.strings import raw_controls

LIMIT_S = 1.0
"""Processor time that one input may take; the machine's other work does not count."""


class HangError(BaseException):
    """One input took longer than LIMIT_S. No reader catches it."""


def procedure(data: bytes) -> bool:
    """Read a procedure, and link one that is accepted."""
    source, findings = read_procedure(data, "fuzz.yaml")
    if source is not None:
        _, more = link(source, lambda path, mark: None)
        findings = [*findings, *more]
    else:
        assert any(each.grade == "error" for each in findings), "refused without a reason"
    for each in findings[:5]:
        assert each.line >= 1
        assert each.column >= 1
        assert not raw_controls(each.text()), each.rule
    return source is not None


def toolbox(data: bytes) -> bool:
    """Read a toolbox."""
    box = read_toolbox(data)
    for each in box.problems[:5]:
        assert each.line >= 1
        assert not raw_controls(each.text()), each.rule
    return not box.problems


def log(data: bytes) -> bool:
    """Scan a log, review what there is of it, and carry it on to the job it tells of."""
    report = scan(data)
    assert report.count == len(report.records)
    assert report.good_bytes <= len(data)
    assert (report.fault is not None) == (report.state in ("broken", "not a log"))
    assert not raw_controls(report.summary())
    if report.header is None:
        return False
    for line in review_lines(facts_of(report)):
        assert not raw_controls(line)
    try:
        replay(report)
    except (LinkedError, RecordError) as error:
        assert str(error)  # noqa: PT017 - any sentence will do, and the next input waits
    return report.state in ("open", "complete")


TARGETS: dict[str, Callable[[bytes], bool]] = {"procedure": procedure, "toolbox": toolbox, "log": log}


@contextmanager
def watched() -> Iterator[Callable[[], None]]:
    """Gives a function that starts the second anew; HangError is raised where one runs out."""
    if threading.current_thread() is not threading.main_thread():
        raise RuntimeError("hangs can be watched from the main thread only")

    def ring(number: int, frame: FrameType | None) -> None:
        raise HangError(f"longer than {LIMIT_S} s")

    before = signal.signal(signal.SIGVTALRM, ring)
    try:
        yield lambda: signal.setitimer(signal.ITIMER_VIRTUAL, LIMIT_S) and None
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)
