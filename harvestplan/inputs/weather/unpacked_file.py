"""Open a weather file from outside, packed or not, as tables of text: bounded before it is read."""

from __future__ import annotations

import bz2
import codecs
import gzip
import io
import lzma
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, TextIO

from harvestplan.bounded import UndecodableError, decode
from harvestplan.errors import FilesNeedMending, Flaw, printable

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer

LARGEST_FILE = 100_000_000
"""Bytes as the file lies there: all stations of a French department since 1950 take 30 million."""
LARGEST_UNPACKED = 500_000_000
LARGEST_WHOLE = 50_000_000
"""Bytes of what is read in one piece: a record of a hundred years takes a tenth."""
HEAD = 65_536
"""Bytes from which a format is recognised."""
LONGEST_LINE = 100_000
MOST_MEMBERS = 60
"""Files looked at in a zip archive."""
_OPENERS: dict[bytes, Callable[[Path, str], Any]] = {
    b"\x1f\x8b": gzip.open,
    b"BZh": bz2.open,
    b"\xfd7zXZ\x00": lzma.open,
}
_ZIP = b"PK\x03\x04"
_BROKEN = (EOFError, OSError, zlib.error, lzma.LZMAError, zipfile.BadZipFile, RuntimeError,
           NotImplementedError, ValueError)  # fmt: skip
_TAKE_LESS = "Ask for one station, for daily minimum and maximum, and for fewer years."


def refuse(file: str, message: str, hint: str = "") -> FilesNeedMending:
    """The error for a weather file that cannot be used as a whole."""
    return FilesNeedMending([Flaw(file, None, "", message=message, hint=hint)])


def lines_of(stream: TextIO) -> Iterator[str]:
    """The lines of a stream without their ends; one that is endless comes in parts."""
    while line := stream.readline(LONGEST_LINE):
        yield line.rstrip("\n")


@dataclass(frozen=True)
class TextTable:
    """One text in a file: the file itself, or a member of a zip archive.

    `head` is its beginning, up to 64 kB, from which its format is told.
    """

    path: Path
    member: str
    head: str
    encoding: str

    @property
    def name(self) -> str:
        """What it is called in messages."""
        return printable(f"{self.path.name}, {self.member}" if self.member else self.path.name)

    @contextmanager
    def text(self) -> Iterator[TextIO]:
        """The text as a stream, line ends as "\\n", letters that cannot be read replaced.

        Raises FilesNeedMending, also while it is read, where it is damaged or too large.
        """
        with _told(self.name), _stream(self.path, self.member) as raw:
            wrapped = io.TextIOWrapper(
                io.BufferedReader(_Bounded(raw, self.name)), self.encoding, errors="replace"
            )
            with wrapped:
                yield wrapped

    def whole(self) -> bytes:
        """All bytes at once. Raises FilesNeedMending where it is damaged or over 50 MB."""
        with _told(self.name), _stream(self.path, self.member) as raw:
            data = raw.read(LARGEST_WHOLE + 1)
        if len(data) > LARGEST_WHOLE:
            size = f"{LARGEST_WHOLE // 1_000_000} MB"
            raise refuse(self.name, f"This is over {size}, too large to read.", _TAKE_LESS)
        return data


def tables_in(path: Path) -> list[TextTable]:
    """The text of the file, or the texts in its zip archive.

    Raises FilesNeedMending for what cannot be opened, is damaged, too large or no text.
    """
    with _told(path.name):
        if not path.is_file():  # a pipe would keep us waiting
            raise refuse(path.name, "This file cannot be opened.")
        if path.stat().st_size > LARGEST_FILE:
            size = f"{LARGEST_FILE // 1_000_000} MB"
            raise refuse(path.name, f"This file is over {size}, too large to read.", _TAKE_LESS)
        with path.open("rb") as file:
            packed = file.read(len(_ZIP)) == _ZIP
        if not packed:
            return [_table(path, "")]
        with zipfile.ZipFile(path) as archive:
            names = [each.filename for each in archive.infolist() if not each.is_dir()]
        if len(names) > MOST_MEMBERS:
            hint = "Unpack it and name the files of your station alone."
            raise refuse(path.name, f"There are {len(names)} files in this archive.", hint)
        return [table for name in names if (table := _member(path, name)) is not None]


def _member(path: Path, name: str) -> TextTable | None:
    """The text of that name in the archive, or None for what is no text (a picture, a map)."""
    with _stream(path, name) as raw:
        if b"\0" in raw.read(200):
            return None
    return _table(path, name)


def _table(path: Path, member: str) -> TextTable:
    with _stream(path, member) as raw:
        data = raw.read(HEAD)
    encoding = _encoding(data)
    if encoding is None:
        try:
            decode(data, path.name)
        except UndecodableError as error:
            raise FilesNeedMending([error.flaw]) from None
        raise refuse(path.name, "This is no text.")
    head = codecs.getincrementaldecoder(encoding)("replace").decode(data)
    return TextTable(path, member, head.replace("\r\n", "\n").replace("\r", "\n"), encoding)


def _encoding(data: bytes) -> str | None:
    """UTF-8, or Latin-1 where it is not (older files of Canada); None for what is neither."""
    if b"\0" in data or data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None
    try:
        codecs.getincrementaldecoder("utf-8")().decode(data)
    except UnicodeDecodeError:
        return "iso-8859-1"
    return "utf-8-sig"


@contextmanager
def _stream(path: Path, member: str) -> Iterator[IO[bytes]]:
    """The bytes unpacked, as a stream."""
    with ExitStack() as stack:
        if member:
            archive = stack.enter_context(zipfile.ZipFile(path))
            yield stack.enter_context(archive.open(member))
            return
        with path.open("rb") as file:
            begin = file.read(6)
        opener = next((how for magic, how in _OPENERS.items() if begin.startswith(magic)), None)
        yield stack.enter_context(path.open("rb") if opener is None else opener(path, "rb"))


@contextmanager
def _told(name: str) -> Iterator[None]:
    """Says in plain words that a file cannot be unpacked or opened."""
    try:
        yield
    except PermissionError:
        raise refuse(name, "This file cannot be opened.") from None
    except _BROKEN:
        hint = "Fetch it once more, or unpack it yourself."
        raise refuse(name, "This file is damaged or cut short.", hint) from None


class _Bounded(io.RawIOBase):
    """Stops reading where more comes out than a weather file can hold."""

    def __init__(self, stream: IO[bytes], name: str) -> None:
        self._stream, self._name, self._left = stream, name, LARGEST_UNPACKED

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: WriteableBuffer) -> int:
        view = memoryview(buffer).cast("B")
        data = self._stream.read(len(view))
        self._left -= len(data)
        if self._left < 0:
            size = f"{LARGEST_UNPACKED // 1_000_000} MB"
            raise refuse(self._name, f"Unpacked, this is over {size}, too large.", _TAKE_LESS)
        view[: len(data)] = data
        return len(data)
