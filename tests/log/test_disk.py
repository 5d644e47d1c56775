"""Real disks: full to every level, read-only, append-only, failing; a real limit on a file's size."""

import resource
import secrets
from pathlib import Path

import pytest

from runner.log.errors import NotRecorded
from runner.log.scan import scan_file
from tests.doubles import SetOutside
from tests.log.disk import inside
from tests.log.makelog import fill, start
from tests.log.tally import SHARE, Tally


def full_to_every_level(tally: Tally, kind: str, folder: Path, levels: int) -> None:
    seen = inside("full", kind, folder, tally.seed, levels, root=kind == "ext4")
    tally.add("fill levels", seen.pop("fill levels"))
    tally.also.update(seen)
    tally.close()
    assert tally.also["short writes"] > 0
    assert tally.also["refused in whole"] > 10
    assert tally.also["scars"] >= tally.also["short writes"]


def test_a_full_disk_in_memory(tmp_path: Path) -> None:
    full_to_every_level(Tally("full disk (tmpfs)", least=8, seed=12), "tmpfs", tmp_path, 8)


@pytest.mark.deep
@pytest.mark.parametrize("kind", ["tmpfs", "ext4"])
def test_a_full_disk_at_every_level(tmp_path: Path, kind: str) -> None:
    levels = int(86 * SHARE)
    tally = Tally(f"full disk ({kind})", least=levels, seed=secrets.randbelow(1_000_000))
    full_to_every_level(tally, kind, tmp_path, levels)


def test_a_read_only_folder_is_read_and_nothing_else(tmp_path: Path) -> None:
    assert inside("read-only", tmp_path) == {"read": 1, "refused": 2}


def test_the_append_only_attribute_is_enough_to_write_a_log(tmp_path: Path) -> None:
    seen = inside("append-only", tmp_path, root=True)
    assert seen == {"other acts refused by the system": 3, "recorded": 6, "scars": 1}


@pytest.mark.deep
@pytest.mark.parametrize(
    "options",
    ["-O ^has_journal --", "--", "-- ,data=journal", "-- ,data=writeback"],
    ids=lambda text: text[-9:],
)
def test_a_device_that_fails_below_the_file_system(tmp_path: Path, options: str) -> None:
    seen = inside("failing", tmp_path, *options.split(), root=True)
    print(f"\nfailing device, ext4 {options}: {seen}")
    assert seen["confirmed and found"] > 0
    lies = seen.get("syncs that answered and had not reached the medium", 0)
    assert lies <= (1 if "^has_journal" in options else 0)


def test_a_real_limit_on_the_files_size(tmp_path: Path) -> None:
    """The kernel itself cuts the write short, then refuses with EFBIG (setrlimit(2))."""
    outside = SetOutside()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    with start(tmp_path, outside) as writer:
        fill(writer, outside, 1)
        limit = writer.path.stat().st_size + 50
        answers = []
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, hard))
        try:
            for _ in range(3):
                try:
                    fill(writer, outside, 1)
                except NotRecorded as error:
                    answers.append(error)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert [error.may_retry for error in answers] == [True, True, True]
        assert "largest size" in str(answers[-1])
        fill(writer, outside, 1)
    report = scan_file(writer.path)
    assert [entry.kind for entry in report.records] == ["run", "reading", "scar", "reading"]
    assert report.scars[0].size == 50
