"""Files written whole or not at all and never over another, with each system call failing in turn."""

import errno
import os
import stat
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from runner.log.new_files import NewFile, write_new


def names(folder: Path) -> list[str]:
    return sorted(each.name for each in folder.iterdir())


def test_what_is_written_is_whole_and_the_owners_alone(tmp_path: Path) -> None:
    write_new(NewFile(tmp_path / "a", (b"one", b"", b"two")), NewFile(tmp_path / "b", (), mode=0o644))
    assert (tmp_path / "a").read_bytes() == b"onetwo"
    assert (tmp_path / "b").read_bytes() == b""
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o600
    assert names(tmp_path) == ["a", "b"]


@pytest.mark.parametrize("taken", ["a", "b"])
@pytest.mark.parametrize("what", ["file", "folder", "dangling link"])
def test_nothing_is_written_over(tmp_path: Path, taken: str, what: str) -> None:
    make: dict[str, Callable[[Path], object]] = {
        "file": lambda path: path.write_text("mine"),
        "folder": Path.mkdir,
        "dangling link": lambda path: path.symlink_to(tmp_path / "c"),
    }
    make[what](tmp_path / taken)
    with pytest.raises(FileExistsError) as caught:
        write_new(NewFile(tmp_path / "a", (b"1",)), NewFile(tmp_path / "b", (b"2",)))
    assert caught.value.filename == str(tmp_path / taken)
    assert names(tmp_path) == [taken]
    assert what != "file" or (tmp_path / taken).read_text() == "mine"


def test_a_name_taken_while_the_content_was_made_is_not_written_over(tmp_path: Path) -> None:
    def late() -> Iterator[bytes]:
        yield b"1"
        (tmp_path / "b").write_text("quicker")

    with pytest.raises(FileExistsError) as caught:
        write_new(NewFile(tmp_path / "a", (b"0",)), NewFile(tmp_path / "b", late()))
    assert caught.value.filename == str(tmp_path / "b")
    assert (tmp_path / "b").read_text() == "quicker"
    assert names(tmp_path) == ["b"]


def test_content_that_fails_leaves_nothing(tmp_path: Path) -> None:
    def broken() -> Iterator[bytes]:
        yield b"1" * 100_000
        raise ValueError("no more")

    with pytest.raises(ValueError, match="no more"):
        write_new(NewFile(tmp_path / "a", (b"0",)), NewFile(tmp_path / "b", broken()))
    assert names(tmp_path) == []


@pytest.mark.parametrize("call", ["open", "fsync", "link"])
@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EIO, errno.EPERM])
def test_every_call_that_fails_leaves_all_or_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, error: int
) -> None:
    """The n-th call fails, n = 1, 2, ... until everything goes well."""
    real, struck = getattr(os, call), 0
    for at in range(1, 20):
        done = 0

        def fails(*given: object, at: int = at, **named: object) -> object:
            nonlocal done
            done += 1
            if done == at:
                raise OSError(error, os.strerror(error))
            return real(*given, **named)

        folder = tmp_path / str(at)
        folder.mkdir()
        with monkeypatch.context() as patch:
            patch.setattr(os, call, fails)
            with suppress(OSError):
                write_new(NewFile(folder / "a", (b"0",)), NewFile(folder / "b", (b"1",)))
        if done < at:
            break
        struck += 1
        # After both are named only the folder is synced: what fails there takes nothing back.
        assert names(folder) in ([], ["a", "b"])
    assert struck >= 2
    assert names(folder) == ["a", "b"]
