"""A named pipe where a file should be: no command waits for somebody to write in it."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest
from trust.forked import run
from trust.small_folder import GARDEN, write_small

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="there are no named pipes here")

DAY = "2027-07-14"
DATED = ("--as-of", DAY)
SOME = [
    (),
    ("plan", "--quiet", *DATED),
    ("book", *DATED),
    ("forecast", *DATED),
    ("picked", "snap bean", "5 lb", "--on", DAY),
]
ALL = [
    *SOME,
    ("plan", "--quiet", *DATED, "--now", "09:30"),
    ("check",),
    ("stock", *DATED),
    ("review", *DATED),
    ("compare", "--worth", *DATED),
    ("moved", "session", "2027-06-05", "09:00", "to", "2027-06-12", "10:00"),
    ("power-cut", "30 h", "--on", DAY),
    ("undo",),
    ("publish", "--folder", "{}/shared"),
    ("crops", "dry bean"),
]
READ_BY = {
    "garden.toml": ALL, "diary.txt": ALL, "out/plan.json": ALL, "crops/zz.toml": SOME,
    "weather.csv": SOME, "family.ics": SOME, "diary (1).txt": SOME, "out/forecast.json": SOME,
    "out/worth.json": SOME, "out/sessions.ics": [*SOME, ("publish", "--folder", "{}/shared")],
    "out/tasks.ics": [("publish", "--folder", "{}/shared")], "out/shopping.csv": SOME[1:2],
    "out/book.html": SOME[1:3], ".plan.lock": SOME[1:2], ".diary.lock": SOME[-1:],
}  # fmt: skip
"""The files of a season folder, and commands that read or write each or might."""
NEEDED_BY = {"garden.toml": ("plan", "forecast", "stock", "review", "book"),
             "diary.txt": ("plan", "forecast", "stock", "review", "picked", "undo"),
             "weather.csv": ("plan", "forecast"), "family.ics": ("plan",),
             "crops/zz.toml": ("plan", "forecast", "picked"),
             "out/plan.json": ("plan", "check", "book")}  # fmt: skip
"""Commands that cannot do without the file, and so must refuse the pipe."""
LINKED = '\n[weather]\ndaily = "weather.csv"\n\n[calendars]\nbusy = ["family.ics"]\n'


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small season, planned, with every file of its out folder."""
    folder = write_small(tmp_path_factory.mktemp("planned") / "season")
    (folder / "diary.txt").write_text('2027-05-01 ate "dry bean, sealed" 1\n', encoding="utf-8")
    ended = run(["plan", "--quiet", "--as-of", "2027-05-01", "--in", str(folder)])
    assert ended.code == 0, ended.told
    return folder


def piped(planned: Path, folder: Path, name: str) -> Path:
    """A copy of the planned season in which a named pipe stands in place of the file `name`."""
    shutil.copytree(planned, folder)
    if name in ("weather.csv", "family.ics"):
        (folder / "family.ics").write_text("BEGIN:VCALENDAR\nEND:VCALENDAR\n", encoding="utf-8")
        (folder / "weather.csv").write_text("date,tmin_c,tmax_c\n2026-06-01,9,20\n", "utf-8")
        (folder / "garden.toml").write_text(GARDEN + LINKED, encoding="utf-8")
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.unlink(missing_ok=True)
    os.mkfifo(path)
    return path


@pytest.mark.parametrize("name", READ_BY)
def test_no_command_waits_for_a_pipe(planned: Path, tmp_path: Path, name: str) -> None:
    """Refused by name where the file is needed; `run` fails for what hangs."""
    for number, words in enumerate(READ_BY[name]):
        folder = tmp_path / str(number)
        path = piped(planned, folder, name)
        ended = run([*(word.format(folder) for word in words), "--in", str(folder)])
        assert "Traceback" not in ended.told and "our fault" not in ended.told, words
        if words and words[0] in NEEDED_BY.get(name, ()):
            assert ended.code == 3 and path.name in ended.told, (words, ended.told)
        else:
            assert ended.code in (0, 3, 4), (words, ended.told)


@pytest.mark.parametrize("name", list(READ_BY)[:7])
def test_a_new_folder_from_one_with_a_pipe(planned: Path, tmp_path: Path, name: str) -> None:
    piped(planned, tmp_path / "old", name)
    ended = run(["new", str(tmp_path / "new"), "--from", str(tmp_path / "old")])
    assert ended.code in (0, 3) and "Traceback" not in ended.told, ended.told
    assert not [path for path in (tmp_path / "new").rglob("*") if path.is_fifo()]
