"""Killed at any change on disk, starved, stopped, on a full disk: nothing half-written, no
acknowledged line lost, and the next command goes on."""

from __future__ import annotations

import os
import random
import signal
from pathlib import Path

import pytest
from each_case import each
from trust.forked import (
    Before,
    begin,
    end,
    full_disk,
    interrupted_in_solver,
    interrupted_reading,
    killed_at,
    run,
    starved,
)
from trust.judged_folder import judge_whole
from trust.killed_command import (
    DAY,
    PLAN,
    WORTH,
    WRITING,
    changes,
    events,
    fresh,
    kill_and_judge,
    line,
    texts,
)
from trust.seasons import write_season
from trust.small_folder import write_small

from harvestplan.kitchen.crop_library import load_library
from harvestplan.records.diary import read_diary

FIRST_LINE = ("froze", "dry bean, sealed", "1", "--on", "2027-06-02")


@pytest.mark.parametrize("words", WRITING, ids=" ".join)
def test_killed_at_a_change_on_disk(planned: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    """At the first, the last and two others; every one of them in the slow lane."""
    most = changes(planned, tmp_path / "season", words)
    assert most >= 3
    draw = random.Random(most)
    chosen = sorted({1, most, *draw.sample(range(1, most + 1), 2)})
    for at in chosen:
        assert kill_and_judge(planned, tmp_path / "season", words, at=at, with_what=signal.SIGKILL)


@each("at", range(1, 9))
def test_killed_at_the_very_first_line_the_next_one_is_written(tmp_path: Path, at: int) -> None:
    """A lock that is there before the diary would tell of a diary that is lost."""
    folder = write_small(tmp_path / "season")
    run([*FIRST_LINE, "--in", str(folder)], killed_at(folder, at))
    ended = run([*FIRST_LINE, "--in", str(folder)])
    assert ended.code == 0 and "There was a diary" not in ended.told, ended
    assert 1 <= len(read_diary(folder).events) <= 2


def test_the_next_plan_clears_away_what_a_killed_one_left(planned: Path, tmp_path: Path) -> None:
    """At changes all over the writing: a torn file may never wait for a later plan."""
    folder = tmp_path / "season"
    most = changes(planned, folder, PLAN)
    for at in {*range(1, most, most // 12), *range(most - 4, most + 1)}:
        ended = run(line(PLAN, fresh(planned, folder)), killed_at(folder, at))
        assert ended.code == -signal.SIGKILL
        assert run(line(PLAN, folder)).code == 0
        assert not list((folder / "out").rglob(".*"))


@pytest.mark.slow
def test_a_thousand_kills(planned: Path, tmp_path: Path) -> None:
    """Each command at each change on disk, killed and stopped by Ctrl-C; then again by chance."""
    most = {words: changes(planned, tmp_path / "season", words) for words in (*WRITING, WORTH)}
    cases = [
        (words, at, how)
        for words, count in most.items()
        for at in range(1, count + 1)
        for how in (signal.SIGKILL, signal.SIGINT)
    ]
    draw = random.Random(1)
    while len(cases) < 1000:
        words = draw.choice(WRITING)
        cases.append((words, draw.randint(1, most[words]), signal.SIGKILL))
    killed = 0
    for words, at, how in cases:
        killed += kill_and_judge(planned, tmp_path / "season", words, at=at, with_what=how)
    assert killed >= 900


def test_new_killed_leaves_whole_files_and_nothing_of_another(tmp_path: Path) -> None:
    (tmp_path / "season").mkdir()
    mine = tmp_path / "season" / "note.txt"
    mine.write_text("mine")
    whole = run(["new", str(tmp_path / "whole")], killed_at(tmp_path, 0))
    assert whole.code == 0 and whole.changes >= 3
    for at in range(1, whole.changes + 1):
        folder = tmp_path / "season"
        run(["new", str(folder)], killed_at(folder, at))
        for path in folder.glob("*.toml"):
            assert path.read_bytes() == (tmp_path / "whole" / path.name).read_bytes()
            path.unlink()
        assert mine.read_text() == "mine"


@pytest.mark.parametrize(
    "when",
    [
        interrupted_reading("garden.toml"),
        interrupted_reading("garden.toml", RuntimeError),
        interrupted_in_solver(),
    ],
    ids=["reading", "in a library", "solving"],
)
def test_ctrl_c_ends_planning_at_once_and_writes_nothing(tmp_path: Path, when: Before) -> None:
    """A season with much to do; left to itself the solver goes on with the next question."""
    day = write_season(tmp_path / "season", 11, load_library())
    ended = run(["plan", "--in", str(tmp_path / "season"), "--as-of", day.isoformat()], when)
    assert ended.code == 130
    assert "Stopped" in ended.told and "Traceback" not in ended.told
    assert not (tmp_path / "season" / "out" / "plan.json").exists()


@pytest.mark.parametrize("more", [3, 12, 40])
def test_want_of_memory_ends_in_a_sentence(planned: Path, tmp_path: Path, more: int) -> None:
    folder = fresh(planned, tmp_path / "season")
    before = (folder / "out" / "plan.json").read_bytes()
    ended = run(line(PLAN, folder), starved(more * 1_000_000))
    assert ended.code == 1
    assert "out of memory" in ended.told and "Close other programs" in ended.told
    assert "Traceback" not in ended.told
    assert (folder / "out" / "plan.json").read_bytes() == before
    judge_whole(folder / "out")


def test_a_disk_that_fills_in_the_middle_of_a_line(planned: Path, tmp_path: Path) -> None:
    """After every number of bytes the diary can take: the line is there, or nothing of it is."""
    words = ("picked", "snap bean", "5 lb", "--on", DAY)
    folder = fresh(planned, tmp_path / "season")
    assert run(line(words, folder)).code == 0  # the line typed by hand has its code from now on
    size, before = (folder / "diary.txt").stat().st_size, texts(folder)
    keep = (folder / "diary.txt").read_bytes()
    for room in (0, 1, 9, 12, 20, 30, 34, 300):
        (folder / "diary.txt").write_bytes(keep)
        ended = run(line(words, folder), full_disk(size + room))
        assert (ended.code == 0) == (room == 300)
        if ended.code:
            assert ended.code == 3 and "nothing of this was written" in ended.told
            assert (folder / "diary.txt").read_bytes() == keep
        assert run(line(words, folder)).code == 0
        after = texts(folder)
        assert after[: len(before)] == before and after[-1] == before[-1]
        assert len(after) >= len(before) + 1


def test_a_disk_that_fills_between_two_counts(planned: Path, tmp_path: Path) -> None:
    """Both are there or neither, after every number of bytes; also where the last is missing."""
    words = ("count", "snap bean, cut", "2", "dry bean, sealed", "1", "--on", DAY)
    folder = fresh(planned, tmp_path / "season")
    assert run(line(words, folder)).code == 0  # the line typed by hand has its code from now on
    keep, before = (folder / "diary.txt").read_bytes(), len(texts(folder))
    assert run(line(words, folder)).code == 0
    size = (folder / "diary.txt").stat().st_size
    for room in (*range(len(keep), size, 9), size - 1, size):
        (folder / "diary.txt").write_bytes(keep)
        ended = run(line(words, folder), full_disk(room))
        assert ended.code == (0 if room == size else 3), (room, ended.told)
        assert len(texts(folder)) == before + (2 if room == size else 0), room
        assert room == size or (folder / "diary.txt").read_bytes() == keep, room


def test_all_writing_commands_at_once(planned: Path, tmp_path: Path) -> None:
    folder = fresh(planned, tmp_path / "season")
    before = len(texts(folder))
    words = [each for each in WRITING if each[0] not in ("undo", "plan")]
    crowd = [begin(line(each, folder)) for each in (PLAN, *words, PLAN, *words)]
    ended = [end(*each) for each in crowd]
    assert {each.code for each in ended} == {0}, [each.told for each in ended if each.code]
    assert len(texts(folder)) == before + 2 * sum(map(events, words))
    judge_whole(folder / "out")


def test_a_clock_set_back_moves_nothing_that_is_done(planned: Path, tmp_path: Path) -> None:
    """Planned on a late day, then on an early one, as with a computer whose clock lost its time."""
    folder = fresh(planned, tmp_path / "season")
    late = run(["plan", "--quiet", "--as-of", "2027-07-20", "--in", str(folder)])
    assert late.code == 0, late.told
    early = run(["plan", "--quiet", "--as-of", "2027-03-01", "--in", str(folder)])
    assert early.code == 0, early.told
    judge_whole(folder / "out")
    assert run(["check", "--in", str(folder)]).code == 0
    back = run(["undo", "--in", str(folder)])
    assert back.code == 0 and "took back" in back.said


def test_files_from_the_future_are_read_like_others(planned: Path, tmp_path: Path) -> None:
    folder = fresh(planned, tmp_path / "season")
    for path in folder.rglob("*"):
        os.utime(path, (4_000_000_000, 4_000_000_000))
    assert run(line(PLAN, folder)).code == 0
    judge_whole(folder / "out")
