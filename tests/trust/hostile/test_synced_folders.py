"""Folders that a sync program tends: copies are named, nothing counts twice, a lost diary is asked
about."""

from __future__ import annotations

from pathlib import Path
from unittest import mock

from each_case import each
from trust.hostile.ending import contents, run
from trust.small_folder import GARDEN, write_small

from harvestplan import disk
from harvestplan.records.diary import read_diary

OWN = '2027-06-01 ate "dry bean, sealed" 1 #aaaa\n2027-06-02 picked snap bean 2 lb #bbbb\n'
MORE = OWN + "2027-06-03 picked snap bean 3 lb #cccc\n"
COPIES = (
    "diary (1).txt", "diary 2.txt", "diary-LAPTOP.txt", "diary_conflict-20270603-1200.txt",
    "diary.sync-conflict-20270603-120000-ABCDEFG.txt", "diary - Copy.txt", "diary copy.txt",
    "diary (conflicted copy 2027-06-03 120000).txt", "diary (Ada's conflicted copy).txt",
    "Diary (2).txt", "diary-DESKTOP-7QK2M.txt", "diary copy 2.txt",
)  # fmt: skip
DAY = ("--as-of", "2027-06-04")


@each("name", COPIES)
def test_a_copy_of_the_diary_is_told_and_counts_once(tmp_path: Path, name: str) -> None:
    folder = write_small(tmp_path / "season")
    (folder / "diary.txt").write_text(OWN, encoding="utf-8")
    (folder / name).write_text(MORE, encoding="utf-8")
    diary = read_diary(folder)
    assert [event.code for event in diary.events] == ["aaaa", "bbbb", "cccc"]
    assert any(name in warning for warning in diary.warnings)
    ended = run("picked", "snap bean", "1 lb", "--on", "2027-06-04", "--in", str(folder))
    assert ended.code == 0, ended
    written = (folder / "diary.txt").read_text(encoding="utf-8")
    assert written.count("#cccc") == 1 and len(written.splitlines()) == 4
    assert (folder / name).read_text(encoding="utf-8") == MORE


@each("name", ["diary-2026.txt", "diary 2026.txt", "diary.old.txt", "diary-garden.txt"])
def test_another_diary_is_told_and_not_read(tmp_path: Path, name: str) -> None:
    folder = write_small(tmp_path / "season")
    (folder / "diary.txt").write_text(OWN, encoding="utf-8")
    (folder / name).write_text("2026-06-03 picked snap bean 3 lb #dddd\n", encoding="utf-8")
    diary = read_diary(folder)
    assert [event.code for event in diary.events] == ["aaaa", "bbbb"]
    assert any(name in warning and "not read" in warning for warning in diary.warnings)


SEASON_COPIES = (
    "garden (1).toml", "garden 2.toml", "garden-LAPTOP.toml", "garden_conflict-20270603.toml",
    "garden.sync-conflict-20270603-120000-ABCDEFG.toml", "garden - Copy.toml", "garden copy.toml",
    "garden (conflicted copy 2027-06-03).toml", "garden (Ada's conflicted copy).toml",
)  # fmt: skip


@each("name", SEASON_COPIES)
def test_a_copy_of_a_season_file_is_told_and_not_counted(tmp_path: Path, name: str) -> None:
    folder = write_small(tmp_path / "season")
    (folder / name).write_text(GARDEN.replace("portions = 4", "portions = 5"), encoding="utf-8")
    ended = run("plan", "--quiet", *DAY, "--in", str(folder))
    assert ended.code == 3 and f"{name}: This is a copy of garden.toml" in ended.told, ended
    assert not (folder / "out").exists()


@each("name", ["garden 2.toml", "garden-NORTH.toml", "garden (2).toml", "orchard.toml"])
def test_a_second_garden_is_no_copy(tmp_path: Path, name: str) -> None:
    folder = write_small(tmp_path / "season")
    own = '[[planting]]\ncrop = "snap bean"\nrow = "5 m"\nsown = 2027-06-01\n'
    (folder / name).write_text(own, encoding="utf-8")
    ended = run("plan", "--quiet", *DAY, "--in", str(folder))
    assert ended.code == 0, ended


LINE = ("picked", "snap bean", "2 lb", "--on", "2027-06-01")
WITHOUT = (("plan", "--quiet", *DAY), ("stock", *DAY), ("forecast", *DAY), LINE, ("undo",),
           ("ate", "dry bean, sealed", "1", "--on", "2027-06-01"))  # fmt: skip


@each("words", WITHOUT)
def test_a_diary_that_is_gone_is_asked_about(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Nothing is planned or written without it, at once; an empty one says that there is none."""
    folder = write_small(tmp_path / "season")
    assert run(*LINE, "--in", str(folder)).code == 0
    (folder / "diary.txt").rename(tmp_path / "elsewhere")
    before = contents(folder, (".plan.lock",))
    with mock.patch.object(disk.time, "sleep", side_effect=AssertionError("waits for itself")):
        ended = run(*words, "--in", str(folder))
    assert ended.code == 3 and "There was a diary here" in ended.told, ended
    assert contents(folder, (".plan.lock",)) == before
    (folder / "diary.txt").touch()
    ended = run(*words, "--in", str(folder))
    assert ended.code in (0, 2) and "There was a diary" not in ended.told, ended


def test_who_takes_back_before_anything_was_written_begins_no_diary(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "season")
    assert run("undo", "--in", str(folder)).code == 2
    assert run("stock", *DAY, "--in", str(folder)).code == 0
