"""A real `kill -9`: a process of its own plays on with the run in its hand, and dies at any moment."""

import json
import os
import signal
import traceback
from contextlib import suppress

from runner.log.errors import Held
from runner.log.writer import Recorded
from runner.stamp import wall_from_iso
from tests.soak.driver import Driver
from tests.soak.watched import Watched

POSSIBLE = hasattr(os, "fork")
FAILED, ENDED = b"failed", b"ended"
MOST = 60
"""Turns that a child may play; it says as many empty lines at its end, so that nobody waits for more."""


def killed_by_the_system(driver: Driver) -> None:
    """Let a child play on, be refused the run meanwhile, kill the child after some entries, take the run up."""
    driver.files.strike = ""  # what was to happen to the parent's next write is not the child's
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        _be_the_child(driver, write)
    os.close(write)
    driver.run.close()
    with os.fdopen(read, "rb") as said:
        first = [said.readline() for _ in range(driver.dice.number(0, MOST // 2))]
        _refused_meanwhile(driver)
        os.kill(child, signal.SIGKILL)
        lines = [line for line in [*first, *said.readlines()] if line.endswith(b"\n")]
    _, status = os.waitpid(child, 0)
    assert not any(line.startswith(FAILED) for line in lines), b"".join(lines).decode()
    assert os.WIFSIGNALED(status), "the child was to be killed"
    driver.counts["kill -9 of a process"] += 1
    told = [line.split() for line in lines if line.strip() and not line.startswith(ENDED)]
    driver.heads.update({int(n): bytes.fromhex(head.decode()) for n, head in told})
    driver.counts["entries confirmed by processes that were killed"] += len(told)
    _set_clock(driver)
    driver.take_up(len(told), by_another=True)


def _be_the_child(driver: Driver, write: int) -> None:
    """Play, say what is confirmed, and wait for the end. Never returns."""

    def confirmed(recorded: Recorded) -> None:
        os.write(write, b"%d %s\n" % (recorded.n, recorded.head.hex().encode()))

    try:
        driver.run.told = confirmed
        for _ in range(MOST):
            if not driver.run.sealed:
                driver.turn()
        os.write(write, ENDED + b"\n" * MOST)
        signal.pause()
    except BaseException:
        # The child of a test must never go on with the test itself: it says what went wrong and is gone.
        os.write(write, FAILED + b" " + traceback.format_exc().replace("\n", " | ").encode() + b"\n" * MOST)
        signal.pause()
    finally:
        os._exit(3)


def _refused_meanwhile(driver: Driver) -> None:
    """While a process has the run in hand, no second one gets it."""
    try:
        Watched.resume(driver.path, driver.outside)
    except Held:
        driver.counts["second processes refused"] += 1
        return
    raise AssertionError("two processes had the run in hand")


def _set_clock(driver: Driver) -> None:
    """Time has passed meanwhile: the clock goes on from the last entry of the one that died."""
    for raw in reversed(driver.path.read_bytes().split(b"\n")[:-1]):
        with suppress(ValueError):
            line = json.loads(raw)
            driver.outside.wall_ms, driver.outside.mono_ms = wall_from_iso(line["utc"]), line["mono_ms"]
            return
