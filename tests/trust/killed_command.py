"""A command killed at a change on disk, and what it leaves judged."""

from __future__ import annotations

import shutil
import signal
from pathlib import Path

from trust.forked import (
    killed_at,
    run,
)
from trust.judged_folder import judge_whole

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
    ("none", "yet", "beans-1", "--on", DAY),
    ("failed", "beans-1", "--on", DAY),
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
