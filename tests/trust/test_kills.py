"""Killed at any change on disk, starved, stopped, on a full disk: nothing half-written, no
acknowledged line lost, and the next command goes on."""

from __future__ import annotations

import os
import random
import shutil
import signal
from pathlib import Path

import pytest
from forked import (
    Before,
    begin,
    end,
    full_disk,
    interrupted_after,
    interrupted_in_solver,
    killed_at,
    run,
    starved,
)
from seasons import write_season
from small_folder import GARDEN, write_small
from test_faults import judge_whole

from harvestplan.kitchen.library import load_library
from harvestplan.records.diary import read_diary

DAY = "2027-07-14"
DIARY = """\
2027-07-01 picked snap bean 1 lb
; a remark
2027-07-02 froze "snap bean, cut" 3 #a1f3
2027-07-03 ate "snap bean, cut" 1 #a1f4
"""
BEANS = '[[planting]]\ncrop = "snap bean"\nid = "beans-1"\nrow = "5 ft"\nsown = 2027-06-01\n'
PLAN = ("plan", "--quiet", "--as-of", "2027-05-01")
WRITING = [
    PLAN,
    ("book", "--as-of", DAY),
    ("book", "--labels", "a4-3x7"),
    ("book", "--test-page"),
    ("publish", "--folder", "{}/shared"),
    ("picked", "snap bean", "5 lb", "--on", DAY),
    ("flowering", "beans-1", "--on", DAY),
    ("emerged", "beans-1", "--on", DAY),
    ("froze", "dry bean, sealed", "2", "--on", DAY),
    ("ate", "snap bean, cut", "1", "--on", DAY),
    ("gave", "snap bean", "1 lb", "--on", DAY),
    ("lost", "snap bean, cut", "1", "--on", DAY),
    ("count", "snap bean, cut", "2", "--on", DAY),
    ("count", "snap bean, cut", "2", "dry bean, sealed", "1", "--on", DAY),
    ("bought", "dry bean", "8 lb", "--on", DAY),
    ("lost", "all", "--on", DAY),
    ("power-cut", "30 h", "--on", DAY),
    ("serviced", "sealer", "--on", DAY),
    ("moved", "session", "2027-06-05", "09:00", "to", "2027-06-12", "10:00"),
    ("keep", "free", "2027-06-12"),
    ("setting", "dry bean, sealed", "pump-down", "22 s", "held", "--on", DAY),
    ("undo", "a1f3"),
    ("undo",),
]
"""Every command that writes in a season folder, but the next, which takes longer."""
WORTH = ("compare", "--worth", "--as-of", "2027-05-01")
NO_EVENT = ("plan", "book", "publish", "compare")


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small season with a diary, planned, to be copied."""
    folder = write_small(tmp_path_factory.mktemp("planned") / "season")
    (folder / "garden.toml").write_text(GARDEN + BEANS, encoding="utf-8")
    (folder / "diary.txt").write_text(DIARY, encoding="utf-8")
    assert run([*PLAN, "--in", str(folder)]).code == 0
    return folder


def fresh(planned: Path, folder: Path) -> Path:
    """A copy of the planned folder in which a command has something to change."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(planned, folder)
    garden = (folder / "garden.toml").read_text(encoding="utf-8")
    (folder / "garden.toml").write_text(garden.replace("portions = 4", "portions = 6"), "utf-8")
    return folder


def line(words: tuple[str, ...], folder: Path) -> list[str]:
    return [*(word.format(folder) for word in words), "--in", str(folder)]


def events(words: tuple[str, ...]) -> int:
    """How many lines the command adds to the diary, undo aside."""
    several = words[0] == "count" and "dry bean, sealed" in words
    return 0 if words[0] in NO_EVENT else 1 + several


def texts(folder: Path) -> list[str]:
    return [event.text for event in read_diary(folder).events]


def judge_after(folder: Path, before: list[str], words: tuple[str, ...]) -> None:
    """What stood stands, what is there is whole, and the next commands go on."""
    judge_whole(folder / "out")
    after = texts(folder)
    if words[0] != "undo":
        assert after[: len(before)] == before and len(after) - len(before) in (0, events(words))
    for path in ("household.toml", "kitchen.toml"):
        assert (folder / path).read_bytes() == (folder.parent / "kept" / path).read_bytes()
    kept = len(after)
    again = run(["picked", "snap bean", "2 lb", "--on", DAY, "--in", str(folder)])
    assert again.code == 0, again.told
    assert len(texts(folder)) == kept + 1
    if (folder / "shared" / "sessions.ics").exists():
        text = (folder / "shared" / "sessions.ics").read_text(encoding="utf-8")
        assert text.endswith("END:VCALENDAR\n")


def kill_and_judge(
    planned: Path, folder: Path, words: tuple[str, ...], at: int, with_what: signal.Signals
) -> bool:
    """Whether the command was killed before it was done; judged in either case."""
    fresh(planned, folder)
    kept = folder.parent / "kept"
    if not kept.exists():
        shutil.copytree(planned, kept)
    before = texts(folder)
    ended = run(line(words, folder), killed_at(folder, at, with_what))
    acknowledged = ended.code == 0
    if acknowledged and words[0] != "undo":
        assert len(texts(folder)) == len(before) + events(words)
    if with_what == signal.SIGINT and not acknowledged:
        assert ended.code == 130 and "Traceback" not in ended.told
    judge_after(folder, before, words)
    return not acknowledged


def changes(planned: Path, folder: Path, words: tuple[str, ...]) -> int:
    """How many changes on disk the command makes when nobody kills it."""
    ended = run(line(words, fresh(planned, folder)), killed_at(folder, 0))
    assert ended.code == 0, ended.told
    return ended.changes


@pytest.mark.parametrize("words", WRITING, ids=" ".join)
def test_killed_at_a_change_on_disk(planned: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    """At the first, the last and two others; every one of them in the slow lane."""
    most = changes(planned, tmp_path / "season", words)
    assert most >= 3
    draw = random.Random(most)
    chosen = sorted({1, most, *draw.sample(range(1, most + 1), 2)})
    for at in chosen:
        assert kill_and_judge(planned, tmp_path / "season", words, at, signal.SIGKILL)


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
    cases = [(words, at, how) for words, count in most.items() for at in range(1, count + 1)
             for how in (signal.SIGKILL, signal.SIGINT)]  # fmt: skip
    draw = random.Random(1)
    while len(cases) < 1000:
        words = draw.choice(WRITING)
        cases.append((words, draw.randint(1, most[words]), signal.SIGKILL))
    killed = 0
    for words, at, how in cases:
        killed += kill_and_judge(planned, tmp_path / "season", words, at, how)
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
    "when", [interrupted_after(0.05), interrupted_in_solver()], ids=["reading", "solving"]
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
    """After every number of bytes the diary can take: the line is there, or refused and mended."""
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
            assert ended.code == 3 and "cannot be written" in ended.told
        assert run(line(words, folder)).code == 0
        after = texts(folder)
        assert after[: len(before)] == before and after[-1] == before[-1]
        assert len(after) >= len(before) + 1


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
