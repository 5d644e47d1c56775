"""Power cuts of real file systems on a loop device, and the control that shows that the test can fail."""

import secrets
from pathlib import Path

import pytest

from tests.log.disk import inside
from tests.log.tally import SHARE, Tally


def cut_often(
    folder: Path, tally: Tally, kind: str, options: str, *, control: bool = False
) -> dict[str, int]:
    args = (kind, options, "control" if control else "real", folder, tally.seed, tally.least)
    seen = inside("power", *args, root=True)
    for sort in ("all there", "one more, found and not confirmed", "not started"):
        if sort in seen:
            tally.add(sort, seen.pop(sort))
    for sort in list(seen):
        if sort.startswith("lost: "):
            tally.add(sort, seen.pop(sort))
    tally.also.update(seen)
    tally.close()


def lost(tally: Tally) -> int:
    return sum(count for sort, count in tally.seen.items() if sort.startswith("lost: "))


def test_a_few_power_cuts_lose_nothing(tmp_path: Path) -> None:
    tally = Tally("power cut, ext4", least=4, seed=21)
    cut_often(tmp_path, tally, "ext4", "data=ordered")
    assert lost(tally) == 0


@pytest.mark.deep
@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("ext4", "data=ordered"),
        ("ext4", "data=writeback"),
        ("ext4", "data=journal"),
        ("ext4", "commit=1"),
        ("xfs", "defaults"),
        ("btrfs", "defaults"),
    ],
)
def test_power_cuts_lose_nothing(tmp_path: Path, kind: str, options: str) -> None:
    tally = Tally(f"power cut, {kind} {options}", least=int(50 * SHARE), seed=secrets.randbelow(1_000_000))
    cut_often(tmp_path, tally, kind, options)
    assert lost(tally) == 0
    assert tally.also["confirmed"] > tally.least


@pytest.mark.deep
def test_without_a_sync_the_same_cuts_lose_entries(tmp_path: Path) -> None:
    """The control: nearly every cut must lose something, or the test above has no teeth."""
    tally = Tally("power cut without a sync", least=int(50 * SHARE), seed=secrets.randbelow(1_000_000))
    cut_often(tmp_path, tally, "ext4", "data=ordered", control=True)
    assert lost(tally) > tally.least * 0.8
