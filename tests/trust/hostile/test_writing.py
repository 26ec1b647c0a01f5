"""Writing where something is in the way: inside the folder, whole, and truly told."""

from __future__ import annotations

import errno
import itertools
import os
import sys
from pathlib import Path
from unittest import mock

import pytest
from each_case import each
from trust.hostile.ending import contents, run
from trust.small_folder import GARDEN, write_small

from harvestplan import disk
from harvestplan.outputs import write_all
from harvestplan.records import diary

LINKS = pytest.mark.skipif(sys.platform == "win32", reason="links need a right of their own here")
SPRING, LATER = ("--as-of", "2027-05-01"), ("--as-of", "2027-05-02")
UNDONE = ("plan.json", "book.html", "sessions.ics", "garden.ics", "shopping.ics", "tasks.ics",
          "shopping.csv", "shopping.md", "forecast.json", "labels/labels.html", "labels/bags.txt",
          "season-id.json")  # fmt: skip


def planned(folder: Path) -> Path:
    """A season planned, and wanting something else by now."""
    write_small(folder)
    assert run("plan", "--quiet", *SPRING, "--in", str(folder)).code == 0
    text = GARDEN.replace("portions = 4", "portions = 6")
    (folder / "garden.toml").write_text(text, encoding="utf-8")
    return folder


@each("nth", range(14))
def test_a_failure_at_any_file_leaves_the_old_whole(tmp_path: Path, nth: int) -> None:
    """The nth file cannot be brought to its place; those before it are put back."""
    folder = planned(tmp_path / "season")
    before = contents(folder / "out")
    real, brought = write_all.put, []

    def refuse(draft: Path, path: Path) -> None:
        brought.append(path)
        if len(brought) > nth:
            raise OSError(errno.EIO, os.strerror(errno.EIO), str(path))
        real(draft, path)

    with mock.patch.object(write_all, "put", refuse):
        ended = run("plan", "--quiet", *LATER, "--in", str(folder))
    assert ended.code == 1 and "our files are as they were" in ended.told, ended
    assert contents(folder / "out") == before


def test_where_no_second_names_are_known(tmp_path: Path) -> None:
    """As on a stick in an old format: kept as copies meanwhile."""
    folder = planned(tmp_path / "season")
    before = contents(folder / "out")
    refused = OSError(errno.EPERM, "no")
    with mock.patch.object(Path, "hardlink_to", side_effect=refused):
        with mock.patch.object(write_all, "sync_folder", side_effect=OSError(errno.EIO, "torn")):
            assert run("plan", "--quiet", *LATER, "--in", str(folder)).code == 1
        assert contents(folder / "out") != before
        assert run("plan", "--quiet", *LATER, "--in", str(folder)).code == 0
    assert not [name for name in contents(folder / "out") if name.startswith(".")]


@LINKS
@each(("name", "leads"), itertools.product(UNDONE, ("file", "nowhere")))
def test_a_linked_file_in_out_is_replaced_and_not_followed(
    tmp_path: Path, name: str, leads: str
) -> None:
    folder, target = planned(tmp_path / "season"), tmp_path / "mine.txt"
    if leads == "file":
        target.write_text("mine")
    if name != "plan.json" and name != "season-id.json":
        (folder / "out" / name).unlink()
        (folder / "out" / name).symlink_to(target)
    ended = run("plan", "--quiet", *LATER, "--in", str(folder))
    assert ended.code in (0, 3), ended
    assert target.exists() == (leads == "file")
    assert not target.exists() or target.read_text() == "mine"


SPOTS = ("out", "out/runsheets", "out/labels", *(f"out/{name}" for name in UNDONE), "diary.txt",
         ".diary.lock", ".plan.lock")  # fmt: skip
IN_THE_WAY = ("folder", "pipe", "loop", "link out")
COMMANDS = (("plan", "--quiet", *LATER), ("book",), ("picked", "snap bean", "1 lb"), ("stock",))


@LINKS
@each(("spot", "what"), itertools.product(SPOTS, IN_THE_WAY))
def test_whatever_is_in_the_way(tmp_path: Path, spot: str, what: str) -> None:
    """Every command ends in a sentence, and what lies outside the folder stays as it is."""
    folder, outside = planned(tmp_path / "season"), tmp_path / "outside"
    (outside / "inner").mkdir(parents=True)
    (outside / "mine.txt").write_text("mine")
    path = folder / spot
    if path.is_dir():
        path.rename(tmp_path / "taken away")
    path.unlink(missing_ok=True)
    if what == "folder":
        path.mkdir(parents=True)
    elif what == "pipe":
        os.mkfifo(path)
    else:
        path.symlink_to(path if what == "loop" else outside)
    before = contents(outside)
    for words in COMMANDS:
        on = () if words[0] in ("plan", "book") else ("--on", "2027-06-01")
        on = ("--as-of", "2027-06-01") if words[0] == "stock" else on
        if what == "pipe" and spot.endswith(".lock"):
            continue  # a lock is opened, never read: a pipe does for one
        run(*words, *on, "--in", str(folder))
    assert contents(outside) == before


def test_a_diary_that_an_editor_saves_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    """A line typed by hand has no code yet, so the next command mends the file."""
    folder = write_small(tmp_path / "season")
    (folder / "diary.txt").write_text("2027-06-01 picked snap bean 2 lb\n", encoding="utf-8")
    real = disk.write_atomic
    saved = "2027-06-01 picked snap bean 2 lb\n2027-06-02 picked snap bean 9 lb\n"

    def late(path: Path, data: bytes, was: bytes | None = None) -> None:
        path.write_text(saved, encoding="utf-8")
        real(path, data, was)

    with mock.patch.object(diary.disk, "write_atomic", late):
        ended = run("picked", "snap bean", "1 lb", "--on", "2027-06-03", "--in", str(folder))
    assert ended.code == 3 and "has just changed it" in ended.told, ended
    assert (folder / "diary.txt").read_text(encoding="utf-8") == saved
