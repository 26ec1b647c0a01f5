"""Writing so that what was acknowledged is there after a crash, and no file is half written."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from io import FileIO
from pathlib import Path
from typing import BinaryIO

from harvestplan import so_far
from harvestplan.errors import FilesNeedMending, Flaw, HarvestPlanError

PATIENCE = 10.0
"""Seconds to wait for another command that is writing."""


class BusyError(HarvestPlanError):
    """Another command holds the diary."""


NO_LINK = getattr(os, "O_NOFOLLOW", 0)
"""Has the system itself refuse a link that was put there a moment ago; Windows knows no such."""


def refuse_link(path: Path) -> None:
    """Raises FilesNeedMending where `path` is a symbolic link, be it one that leads nowhere: a
    folder from somebody else must not have its lines written, or others' files read, elsewhere."""
    if path.is_symlink():
        message = "This is a link, which leads to another place."
        hint = "Move the link away, or put the file itself into the season folder."
        raise FilesNeedMending([Flaw(path.name, None, "", message=message, hint=hint)])


def lies_in(folder: Path, path: Path) -> bool:
    """Whether `path`, with all links followed, is inside `folder`; a link to itself is nowhere."""
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):
        return False


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Holds the lock file `path`, made if missing; a command that dies lets go of it.

    Raises BusyError where another command keeps it for ten seconds, FilesNeedMending where it is a
    link, OSError where the folder cannot be written.
    """
    refuse_link(path)
    handle = os.open(path, os.O_RDWR | os.O_CREAT | NO_LINK, 0o666)
    try:
        deadline = time.monotonic() + PATIENCE
        while not _grab(handle):
            if time.monotonic() > deadline:
                raise BusyError(
                    "Another command is writing the diary just now; nothing was written. "
                    "Try again in a moment."
                )
            time.sleep(0.01)
        yield
    finally:
        os.close(handle)


if sys.platform == "win32":
    import msvcrt

    def _grab(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _grab(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


class Torn(OSError):
    """A line was written in part and could not be taken out again; `left` stands there."""

    def __init__(self, cause: OSError, left: str) -> None:
        super().__init__(cause.errno, cause.strerror or str(cause))
        self.left = left


def make_empty(path: Path) -> None:
    """An empty file, where there is nothing of that name, not even a link."""
    with contextlib.suppress(FileExistsError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))


def append(path: Path, text: str) -> None:
    """Add `text` at the end of the file, in one write, synced to disk.

    Raises FilesNeedMending where the file is a link, OSError where it cannot be written; the file
    is then as it was (empty, if there was none), or Torn is raised.
    """
    refuse_link(path)
    fresh = not path.exists()
    data = text.encode("utf-8")
    with open(path, "a+b", buffering=0, opener=_no_link) as file:
        before = file.seek(0, os.SEEK_END)
        try:
            written = file.write(data)
            while written < len(data):
                written += file.write(data[written:])
            os.fsync(file.fileno())
        except BaseException:
            _cut_back(file, before, data)
            raise
    if fresh:
        sync_folder(path.parent)
    so_far.note_lines(text)


def _cut_back(file: FileIO, size: int, data: bytes) -> None:
    """Take out what of `data` arrived after the first `size` bytes; raises Torn."""
    arrived = data
    try:
        file.seek(size)
        arrived = file.read()
        if not data.startswith(arrived):
            raise OSError("another program wrote in it")
        file.truncate(size)
        os.fsync(file.fileno())
    except OSError as error:
        raise Torn(error, arrived.decode("utf-8", "replace")) from None


def _no_link(path: str, flags: int) -> int:
    return os.open(path, flags | NO_LINK, 0o666)


def write_atomic(path: Path, data: bytes, was: bytes | None = None) -> None:
    """Put `data` in `path` by way of a temporary file beside it, synced to disk; who may read the
    file stays as it is.

    Raises OSError where the folder is missing or cannot be written, and with `was` where the file
    says something else by now, as when an editor saved it meanwhile; then `path` is as it was.
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            _write_synced(file, data)
        temporary.chmod(path.stat().st_mode & 0o777 if path.exists() else _usual_mode())
        if was is not None and path.read_bytes() != was:
            raise OSError(errno.EBUSY, "another program has just changed it", str(path))
        put(temporary, path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def write_draft(path: Path, data: bytes) -> None:
    """Write a new file, synced to disk, that `put` brings to its place; OSError where it cannot."""
    with path.open("wb") as file:
        _write_synced(file, data)


def put(draft: Path, path: Path) -> None:
    """Bring a file to its place, over what is there; raises OSError where it cannot."""
    draft.replace(path)
    so_far.note_file(path.absolute())


def _write_synced(file: BinaryIO, data: bytes) -> None:
    file.write(data)
    file.flush()
    os.fsync(file.fileno())


def _usual_mode() -> int:
    """The mode an ordinary new file gets; temporary files are made private."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def sync_folder(folder: Path) -> None:
    """Have the names in the folder on disk, as far as the system can."""
    # Some systems cannot open or sync a folder; the file itself is safe by then.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
