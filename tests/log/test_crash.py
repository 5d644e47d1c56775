"""Crashes on a medium in memory: after every system call, with everything the medium may then hold."""

import errno
import secrets
from collections import Counter
from random import Random

import pytest

from runner.log.errors import Latched, LogError, NotRecorded
from runner.log.scan import scan
from runner.log.writer import create, reopen
from tests.doubles import SetOutside
from tests.log.crashes import Said, again, crashes, judge, notes, scripted
from tests.log.medium import FOLDER, PATH, Medium
from tests.log.tally import SHARE, Tally


def crash_after_every_call(tally: Tally, seeds: range, step: int) -> Counter[str]:
    """Judge every `step`-th image of every crash point; how they were found."""
    found: Counter[str] = Counter()
    for seed in seeds:
        draw = Random(seed)
        for medium, said in crashes(seed):
            for sort, image in list(medium.images(draw))[draw.randrange(step) :: step]:
                loose = sort == "garbage" and b"\n" in (image or b"")[len(medium.durable or b"") :]
                found[judge(image, said, may_be_broken=loose)] += 1
                tally.add(sort)
    return found


def test_whatever_a_crash_leaves_the_run_goes_on() -> None:
    tally = Tally("crash after every call", least=700, seed=5)
    found = crash_after_every_call(tally, range(5, 7), 7)
    tally.close()
    assert {"prefix", "length first", "lost sectors", "garbage", "no file"} <= set(tally.seen)
    assert {"open", "torn", "sealed", "not started"} <= set(found)


@pytest.mark.deep
def test_whatever_a_crash_leaves_the_run_goes_on_in_full() -> None:
    first = secrets.randbelow(1_000_000)
    tally = Tally("crash after every call", least=int(20_000 * SHARE), seed=first)
    seed = first
    while tally.total < tally.least:
        crash_after_every_call(tally, range(seed, seed + 1), 1)
        seed += 1
    tally.close()


def crash_twice(tally: Tally, seed: int, share: int, step: int) -> None:
    """Every call of the recovery of each `share`-th image of a run loses its power too."""
    draw = Random(seed)
    for medium, said in crashes(seed):
        if not said.started:
            continue
        for sort, image in list(medium.images(draw, garbage=0))[draw.randrange(share) :: share]:
            again(
                image or b"",
                said,
                draw,
                lambda second, _, sort=sort: tally.add(f"{sort}, then {second}"),
                step,
            )


def test_a_crash_inside_the_recovery_is_recovered_from() -> None:
    tally = Tally("second crash inside the recovery", least=700, seed=8)
    crash_twice(tally, 8, 611, 9)
    tally.close()
    assert {"prefix, then prefix", "prefix, then length first"} <= set(tally.seen)


@pytest.mark.deep
def test_a_crash_inside_the_recovery_is_recovered_from_in_full() -> None:
    first = secrets.randbelow(1_000_000)
    tally = Tally("second crash inside the recovery", least=int(100_000 * SHARE), seed=first)
    seed = first
    while tally.total < tally.least:
        crash_twice(tally, seed, 97, 1)
        seed += 1
    tally.close()


def test_without_a_sync_the_same_test_finds_entries_lost() -> None:
    """The control: a writer whose syncs do nothing must be caught, or the test above has no teeth."""
    lost = whole = 0
    for seed in range(4):
        medium = Medium()
        medium.lying = True
        said = scripted(medium, seed)
        medium_after = Medium(medium.durable)
        assert said.notes == [0, 1, 2, 3, 4]
        try:
            judge(medium_after.durable, said)
        except (AssertionError, LogError):
            lost += 1
        else:
            whole += 1
    assert (lost, whole) == (4, 0)


@pytest.mark.parametrize("error", [errno.EIO, errno.ENOSPC, errno.EDQUOT])
def test_after_a_failed_sync_only_the_medium_is_believed(error: int) -> None:
    """The pages of a failed sync are marked clean: the cache shows an entry that the medium never got."""
    for keeps_cache in (False, True):
        medium, said = Medium(), Said(True)
        medium.failing = {3: error}
        medium.keeps_cache = keeps_cache
        outside = SetOutside(files=medium)
        with create(FOLDER, PATH.name, {}, outside) as writer:
            said.note(writer, 0, 5, outside)
            with pytest.raises(NotRecorded) as refused:
                writer.append("note", {"number": 1}, outside.now())
            assert not refused.value.may_retry
            with pytest.raises(Latched):
                writer.append("note", {"number": 2}, outside.now())
        assert notes(scan(medium.cached or b"")) == [0, 1], "the cache shows it as written"
        with reopen(PATH, outside)[0] as writer:
            said.note(writer, 3, 5, outside)
        if keeps_cache:  # the control: without dropping the cache a lie is taken up
            assert notes(scan(medium.cached or b"")) == [0, 1, 3]
            assert scan(medium.durable or b"").state == "broken"
        else:
            assert medium.cached == medium.durable
            assert notes(scan(medium.durable or b"")) == [0, 3]
