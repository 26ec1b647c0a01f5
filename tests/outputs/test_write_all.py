"""The out folder: rebuilt whole, nothing outside it touched."""

from __future__ import annotations

import errno
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from outputs.written_plans import make_library, make_plan, make_season, plan_data

from harvestplan import so_far
from harvestplan.errors import FilesNeedMending
from harvestplan.outputs import write_all
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file import read_plan

NAMES = [
    "book.html",
    "garden.ics",
    "labels/2027-10-28.html",
    "labels/2027-11-09.html",
    "labels/bags.txt",
    "labels/labels.html",
    "labels/tally.html",
    "plan.json",
    "runsheets/2027-10-28.html",
    "runsheets/2027-10-28.txt",
    "runsheets/2027-11-09.html",
    "runsheets/2027-11-09.txt",
    "sessions.ics",
    "shopping.csv",
    "shopping.ics",
    "shopping.md",
    "tasks.ics",
]


def write(out: Path, data: dict[str, Any] | None = None) -> list[Path]:
    return write_outputs(make_plan(data=data), make_season(), make_library(), out=out)


def files(folder: Path) -> dict[str, bytes]:
    found = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def test_all_files(tmp_path: Path) -> None:
    written = write(tmp_path / "season" / "out")
    assert sorted(files(tmp_path / "season" / "out")) == NAMES
    assert sorted(path.relative_to(tmp_path / "season/out").as_posix() for path in written) == NAMES
    assert read_plan(tmp_path / "season/out/plan.json") == make_plan()


def test_again_gives_the_same_bytes(tmp_path: Path) -> None:
    write(tmp_path)
    first = files(tmp_path)
    write(tmp_path)
    assert files(tmp_path) == first


def test_the_calendar_remembers_what_it_replaces(tmp_path: Path) -> None:
    write(tmp_path)
    first = files(tmp_path)["sessions.ics"]
    write(tmp_path, plan_data() | {"made_at": "2027-10-26T08:00:00-06:00"})
    assert files(tmp_path)["sessions.ics"] == first


def test_stale_sheets_go_and_all_else_stays(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out)
    for name in ("runsheets/notes.txt", "labels/mine.txt", "runsheets/2027-11-09-2.txt"):
        (out / name).write_text("mine")
    (tmp_path / "garden.toml").write_text("mine")
    data = plan_data()
    data["sessions"].pop()
    write(out, data)
    left = set(files(out))
    assert "runsheets/2027-11-09.txt" not in left
    assert "runsheets/2027-11-09.html" not in left
    assert "runsheets/2027-11-09-2.txt" not in left
    assert "labels/2027-11-09.html" not in left
    assert {"runsheets/notes.txt", "labels/mine.txt", "runsheets/2027-10-28.txt"} <= left
    assert (tmp_path / "garden.toml").read_text() == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["garden.toml", "out"]


def test_a_failure_leaves_the_old_files(tmp_path: Path, monkeypatch: Any) -> None:
    write(tmp_path)
    first = files(tmp_path)

    def fail(path: Path, data: bytes) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(write_all, "write_draft", fail)
    data = plan_data()
    data["sessions"].pop()
    with pytest.raises(OSError, match="disk full"):
        write(tmp_path, data)
    assert files(tmp_path) == first


def changed_plan() -> dict[str, Any]:
    """A plan of which each file is another than before."""
    data = plan_data() | {"made_at": "2027-10-26T08:00:00-06:00"}
    data["sessions"].pop(0)
    return data


def test_a_folder_in_a_file_s_place_leaves_all_as_it_was(tmp_path: Path) -> None:
    """Wherever it is, it is found before the first file is replaced, and named."""
    write(tmp_path)
    written = write(tmp_path, changed_plan())
    names = sorted(path.relative_to(tmp_path).as_posix() for path in written)
    write(tmp_path)
    for name in names:
        (tmp_path / name).unlink()
        (tmp_path / name).mkdir()
        before = files(tmp_path)
        with pytest.raises(FilesNeedMending, match="folder where a file is needed") as refused:
            write(tmp_path, changed_plan())
        assert str(tmp_path / name) in str(refused.value), name
        assert files(tmp_path) == before, name
        (tmp_path / name).rmdir()
        write(tmp_path)


@pytest.mark.parametrize("name", ["labels", "runsheets"])
def test_a_folder_of_another_s_leaves_all_as_it_was(
    tmp_path: Path, monkeypatch: Any, name: str
) -> None:
    """Rights are played: whoever is root may write everywhere."""
    write(tmp_path)
    before = files(tmp_path)
    try_in = tempfile.TemporaryFile

    def refuse(dir: Path) -> Any:
        if dir.name == name:
            raise PermissionError(errno.EACCES, "Permission denied")
        return try_in(dir=dir)

    monkeypatch.setattr(tempfile, "TemporaryFile", refuse)
    with pytest.raises(FilesNeedMending, match="Permission denied") as refused:
        write(tmp_path, changed_plan())
    assert str(tmp_path / name) in str(refused.value)
    assert files(tmp_path) == before


def test_a_failure_between_two_files_is_told_as_it_is(tmp_path: Path, monkeypatch: Any) -> None:
    """After each number of files: those named are new, all others old, plan.json is the last."""
    move = os.replace
    for room in range(len(write(tmp_path, changed_plan()))):
        write(tmp_path)
        before = files(tmp_path)
        left = iter(range(room))

        def refuse(source: Path, target: Path, left: Iterator[int] = left) -> None:
            if next(left, None) is None:
                raise OSError(errno.EIO, "Input/output error")
            move(source, target)

        so_far.begin()
        monkeypatch.setattr(os, "replace", refuse)
        with pytest.raises(OSError, match="Input/output"):
            write(tmp_path, changed_plan())
        monkeypatch.undo()
        after = files(tmp_path)
        new = {tmp_path / name for name in after if after[name] != before.get(name)}
        assert told_new(so_far.told()) >= new
        assert len(told_new(so_far.told())) == room
        assert tmp_path / "plan.json" not in new
    assert room > 8


def told_new(told: str) -> set[Path]:
    """The files that the sentences name."""
    found = re.findall(r"New in (.+): (.+); all else there is as it was", told)
    return {Path(folder) / name for folder, names in found for name in names.split(", ")}


def test_a_folder_called_like_an_old_sheet_stays(tmp_path: Path) -> None:
    (tmp_path / "runsheets" / "2020-01-01.txt").mkdir(parents=True)
    write(tmp_path)
    assert (tmp_path / "runsheets" / "2020-01-01.txt").is_dir()
    assert (tmp_path / "plan.json").is_file()


def test_linked_runsheets_are_refused(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "2020-01-01.txt").write_text("mine")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "runsheets").symlink_to(elsewhere)
    with pytest.raises(FilesNeedMending, match="link"):
        write(tmp_path / "out")
    assert list(files(elsewhere)) == ["2020-01-01.txt"]


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    with pytest.raises(FilesNeedMending, match="folder is needed"):
        write(tmp_path / "out")
