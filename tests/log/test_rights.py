"""Whose folder and file it is: what a login without the right to write may do, and what is remarked."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from runner.log.errors import NotRecorded, Refused
from runner.log.scan import scan_file
from runner.log.writer import create, reopen
from tests.doubles import SetOutside
from tests.log.makelog import fill, start

NOBODY = 65_534


@pytest.fixture
def foreign() -> Iterator[Path]:
    """A folder with a log of three entries that this process may read and not write."""
    folder = Path(tempfile.mkdtemp())
    outside = SetOutside()
    with start(folder, outside) as writer:
        fill(writer, outside, 2)
    writer.path.chmod(0o444)
    folder.chmod(0o555)
    root = os.geteuid() == 0
    if root:  # the administrator is bound by no mode; another login is
        os.seteuid(NOBODY)
    try:
        yield folder
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o700)
        shutil.rmtree(folder)


def test_a_folder_that_may_not_be_written_is_read_and_every_act_is_refused(foreign: Path) -> None:
    path = foreign / "a.jsonl"
    before = path.read_bytes()
    assert (
        scan_file(path).summary() == f"OPEN: 3 entries, not sealed; it ends after line 3, byte {len(before)}."
    )
    with pytest.raises(Refused, match=r"cannot be opened for writing \(Permission denied\)"):
        reopen(path, SetOutside())
    with pytest.raises(NotRecorded, match=r"cannot be created \(Permission denied\)"):
        create(foreign, "b.jsonl", {}, SetOutside())
    with pytest.raises(NotRecorded, match="cannot be created"):
        create(foreign / "logs", "b.jsonl", {}, SetOutside())
    assert path.read_bytes() == before
    assert [each.name for each in foreign.iterdir()] == ["a.jsonl"]


def test_another_owner_is_remarked_and_the_run_goes_on(tmp_path: Path) -> None:
    if os.geteuid() != 0:
        pytest.skip("not run here: giving a file away needs the administrator (root)")
    outside = SetOutside()
    with start(tmp_path / "logs", outside) as writer:
        os.chown(writer.path, NOBODY, -1)
    with reopen(writer.path, outside)[0] as writer:
        assert writer.remarks == ("a.jsonl belongs to another login.",)
        fill(writer, outside, 1)
