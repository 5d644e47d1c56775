"""The one small object through which clock, identities and files enter the program; tests replace it.

What each system promises for `Files.fdatasync`:

- Linux: `fdatasync`, which reaches the medium as far as the file system and the drive are honest.
- macOS: `fcntl(F_FULLFSYNC)`; plain fsync there leaves data in the drive's cache (Apple, fsync(2)).
- Windows: `os.fsync`. A killed program loses nothing; power loss is not promised. Folder syncs do nothing.
"""

import os
import secrets
import shutil
import sys
import time
from pathlib import Path

from runner.stamp import Stamp

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_LOCKS = Path("/proc/locks")
_FAR_BYTE = 1 << 40
"""Windows locks bytes, not files: one byte that no log reaches stands for the whole file."""


class Files:
    """The system calls that the log uses, one method each, so that a test can make the n-th one fail.

    Every method raises OSError as the system does.
    """

    @property
    def sync_name(self) -> str:
        """The sync in use, as the log's header names it."""
        other = {"darwin": "F_FULLFSYNC", "win32": "fsync, power loss not promised"}
        return other.get(sys.platform, "fdatasync")

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        """Open `path`, never inherited by other programs and always in binary."""
        return os.open(path, flags | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0), mode)

    def write(self, fd: int, data: bytes) -> int:
        """One write; gives the number of bytes written, which may be fewer than asked."""
        return os.write(fd, data)

    def read(self, fd: int, size: int, offset: int) -> bytes:
        """Up to `size` bytes from `offset`; empty at the end of the file."""
        if sys.platform == "win32":
            os.lseek(fd, offset, os.SEEK_SET)
            return os.read(fd, size)
        else:  # noqa: RET505 - a type checker follows the branches of a platform, not an early return
            return os.pread(fd, size, offset)

    def fdatasync(self, fd: int) -> None:
        """Bring the file's bytes and length to the medium (see the module for what each system promises)."""
        if sys.platform == "darwin":
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)
        elif sys.platform == "win32":
            os.fsync(fd)
        else:
            os.fdatasync(fd)

    def fsync_dir(self, folder: Path) -> None:
        """Bring a folder's list of names to the medium."""
        if sys.platform != "win32":
            fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
            try:
                os.fsync(fd)
            finally:
                os.close(fd)

    def fstat(self, fd: int) -> os.stat_result:
        """What the open file is."""
        return os.fstat(fd)

    def stat(self, path: Path, *, follow: bool = False) -> os.stat_result:
        """What stands at `path`; a symbolic link is itself unless `follow`."""
        return os.stat(path, follow_symlinks=follow)

    def flock(self, fd: int) -> None:
        """Take the file's lock at once; BlockingIOError tells that somebody else has it.

        Where a file system knows no locks this raises OSError: two writers could not be told apart there.
        """
        if sys.platform == "win32":
            os.lseek(fd, _FAR_BYTE, os.SEEK_SET)
            try:
                msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
            except PermissionError as error:
                raise BlockingIOError(error.errno, error.strerror) from error
        else:
            # flock, not fcntl locks: those vanish when the process closes any other handle of the file.
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def lock_holder(self, fd: int) -> int | None:
        """The process that took the file's lock, where the system tells one (Linux); to be named, never decided by."""
        if sys.platform != "linux":
            return None
        info = self.fstat(fd)
        where = f"{os.major(info.st_dev):02x}:{os.minor(info.st_dev):02x}:{info.st_ino}"
        for line in _LOCKS.read_text(encoding="ascii", errors="replace").splitlines():
            # proc_locks(5): number, FLOCK, ADVISORY, WRITE, process, device and inode; who waits has "->" before FLOCK.
            fields = line.split()
            if fields[1:2] == ["FLOCK"] and fields[5:6] == [where] and fields[4].isdecimal():
                # 0 is a process that this one cannot see, as from within a container.
                return int(fields[4]) or None
        return None

    def fadvise(self, fd: int) -> None:
        """Drop cached pages of the file, so that the next read comes from the medium (Linux only)."""
        if sys.platform == "linux":
            os.posix_fadvise(fd, 0, 0, os.POSIX_FADV_DONTNEED)

    def close(self, fd: int) -> None:
        """Close the file; its lock goes with it."""
        os.close(fd)

    def mkdir(self, folder: Path) -> None:
        """Make one folder for the owner alone; FileExistsError if the name is taken."""
        os.mkdir(folder, 0o700)

    def free(self, folder: Path) -> int:
        """Bytes that are free to this login on the disk of a folder."""
        return shutil.disk_usage(folder).free

    def listdir(self, folder: Path) -> list[str]:
        """Names in the folder, sorted."""
        return sorted(os.listdir(folder))


class Outside:
    """Clock, identities and files of the real machine."""

    def __init__(self) -> None:
        self.files: Files = Files()
        self._boot = _boot_identity()

    def now(self) -> Stamp:
        """This moment."""
        wall_ms = time.time_ns() // 1_000_000
        offset_s = time.localtime(wall_ms // 1000).tm_gmtoff
        return Stamp(wall_ms, offset_s // 60, _running_ms(), self._boot)

    def new_id(self) -> str:
        """128 random bits as 32 hexadecimal letters."""
        return secrets.token_hex(16)

    def pause(self, ms: int) -> None:
        """Let that much time pass."""
        time.sleep(ms / 1000)

    def pid(self) -> int:
        """This process's number, by which a second one can be told who holds a run."""
        return os.getpid()


def _running_ms() -> int:
    """Milliseconds of the clock that also counts while the machine sleeps, where there is one."""
    if sys.platform == "win32":
        now_ns = time.monotonic_ns()
    elif sys.platform == "linux":
        now_ns = time.clock_gettime_ns(time.CLOCK_BOOTTIME)
    else:
        # On macOS this one counts sleep and time.monotonic() does not (Apple, clock_gettime(3)).
        now_ns = time.clock_gettime_ns(time.CLOCK_MONOTONIC)
    return now_ns // 1_000_000


def _boot_identity() -> str:
    """The kernel's boot identity, or one drawn for this process where the system tells none."""
    try:
        return _BOOT_ID.read_text(encoding="ascii").strip().replace("-", "")
    except (OSError, ValueError):
        return secrets.token_hex(16)
