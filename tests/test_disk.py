"""Lines are added whole or not at all, and what stands in a file is said truly."""

from __future__ import annotations

import datetime as dt
import errno
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest

from harvestplan import disk, so_far
from harvestplan.errors import FilesNeedMending
from harvestplan.records import diary

OLD, LINES = "2027-07-01 ate dry bean 1 lb #aaaa\n", "2027-07-14 picked pea 5 lb #bbbb\n; ½ \n"
SYNC = os.fsync


def refusing(then: Callable[[], object] = lambda: None, times: int = 1) -> Callable[[int], None]:
    """A disk that cannot keep what it took, so many times; `then` is done meanwhile."""
    left = iter(range(times))

    def refuse(handle: int) -> None:
        if next(left, None) is None:
            SYNC(handle)
        else:
            then()
            raise OSError(errno.ENOSPC, "No space left on device")

    return refuse


@pytest.fixture
def path(tmp_path: Path) -> Path:
    (tmp_path / "season.toml").write_text('[household]\nname = "The Lane"\n', encoding="utf-8")
    (tmp_path / "diary.txt").write_text(OLD, encoding="utf-8")
    so_far.begin()
    return tmp_path / "diary.txt"


def test_what_is_added_is_there_and_told(path: Path) -> None:
    disk.append(path, LINES)
    assert path.read_text(encoding="utf-8") == OLD + LINES
    assert so_far.told().count("It is written in the diary: ") == 2


@pytest.mark.parametrize("error", [OSError(errno.EIO, "Input/output error"), KeyboardInterrupt()])
def test_what_cannot_be_kept_is_cut_back(
    path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    """The disk takes the bytes and then says no, or somebody stops the command just then."""

    def refuse(handle: int) -> None:
        monkeypatch.undo()
        raise error

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(type(error)):
        disk.append(path, LINES)
    assert path.read_text(encoding="utf-8") == OLD
    assert so_far.told() == ""


def test_a_new_file_that_cannot_be_kept_is_empty(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", refusing())
    with pytest.raises(OSError, match="No space left"):
        disk.append(tmp_path / "diary.txt", LINES)
    assert (tmp_path / "diary.txt").read_bytes() == b""


def test_what_another_program_wrote_meanwhile_is_not_cut_off(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def write_too() -> None:
        with path.open("a", encoding="utf-8") as other:
            other.write("2027-07-14 ate pea 1 lb\n")

    monkeypatch.setattr(os, "fsync", refusing(write_too))
    with pytest.raises(disk.Torn) as torn:
        disk.append(path, LINES)
    assert torn.value.left == LINES + "2027-07-14 ate pea 1 lb\n"
    assert path.read_text(encoding="utf-8") == OLD + torn.value.left


def test_what_cannot_be_cut_back_is_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither the line nor its end is kept: it is named as it stands, with the way out."""
    monkeypatch.setattr(os, "fsync", refusing(times=2))
    with pytest.raises(FilesNeedMending) as refused:
        diary.append_event(path.parent, "keep", "free 2027-07-20", on=dt.date(2027, 7, 14))
    told = str(refused.value)
    assert "cannot be written (No space left on device)" in told and "nothing" not in told
    assert re.search(
        r"\n    2027-07-14 keep free 2027-07-20 #\w{4}\n    Where .* in an editor", told
    )


def test_a_line_refused_is_not_in_the_diary(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", refusing())
    with pytest.raises(FilesNeedMending, match="nothing of this was written"):
        diary.append_event(path.parent, "keep", "free 2027-07-20", on=dt.date(2027, 7, 14))
    assert path.read_text(encoding="utf-8") == OLD


def test_a_file_is_told_once_it_is_in_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(source: Path, target: Path) -> NoReturn:
        raise OSError(errno.EIO, "Input/output error")

    so_far.begin()
    disk.write_draft(tmp_path / "draft", b"1")
    assert so_far.told() == ""
    disk.put(tmp_path / "draft", tmp_path / "a.txt")
    with monkeypatch.context() as patch, pytest.raises(OSError, match="Input/output"):
        patch.setattr(os, "replace", refuse)
        disk.write_atomic(tmp_path / "b.txt", b"2")
    disk.write_atomic(tmp_path / "c.txt", b"3")
    assert so_far.told() == f"New in {tmp_path}: a.txt, c.txt; all else there is as it was."
    so_far.note_folder(tmp_path)
    assert so_far.told() == f"The new plan with all its files is in {tmp_path}."
