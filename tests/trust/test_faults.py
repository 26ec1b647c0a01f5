"""Kills, crowds, full disks and torn files: out/ is whole, and what goes wrong is said plainly."""

from __future__ import annotations

import contextlib
import errno
import io
import multiprocessing
import os
import random
import resource
import sys
import time
from collections.abc import Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NoReturn

import pytest
from trust.judged_folder import judge_whole
from trust.small_folder import GARDEN, command, write_small

from harvestplan import disk
from harvestplan.commands import cli
from harvestplan.outputs import write_all
from harvestplan.planning import lock

SPRING = "2027-05-01"
MODULES = ["harvestplan.planning.make", "harvestplan.outputs.write_all", "harvestplan.commands.cli"]
FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(MODULES)


def plan_and_tell(folder: Path, about: Connection, largest: int | None = None) -> None:
    """The plan command in a process of its own; it says when it begins to write, then its words."""
    write = write_all.write_outputs

    def told(*arguments: Any, **more: Any) -> list[Path]:
        about.send("writing")
        if largest is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))
        return write(*arguments, **more)

    vars(write_all)["write_outputs"] = told
    sys.argv = ["harvestplan", "plan", "--in", str(folder), "--as-of", SPRING]
    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
        try:
            cli.main()
        except SystemExit as left:
            about.send((left.code or 0, said.getvalue()))


def start(folder: Path, largest: int | None = None) -> tuple[Any, Connection]:
    mine, theirs = FORKS.Pipe(duplex=False)
    process = FORKS.Process(target=plan_and_tell, args=(folder, theirs, largest))
    process.start()
    theirs.close()
    return process, mine


def finish(process: Any, about: Connection) -> tuple[int, str]:
    """Exit code and error output of a command that runs to its end."""
    heard: Any = "writing"
    while heard == "writing":
        heard = about.recv()
    code, said = heard
    process.join()
    return int(code), str(said)


def test_a_command_killed_while_it_writes_leaves_whole_files(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "season")
    first, about = start(folder)
    assert about.recv() == "writing"
    began = time.monotonic()
    assert finish(first, about)[0] == 0
    lasts = time.monotonic() - began
    draw = random.Random(1)
    for turn in range(20):
        garden = GARDEN.replace("portions = 4", f"portions = {5 + turn % 3}")
        (folder / "garden.toml").write_text(garden, encoding="utf-8")
        process, about = start(folder)
        assert about.recv() == "writing"
        time.sleep(draw.random() * lasts)
        process.kill()
        process.join()
        judge_whole(folder / "out")
    last, about = start(folder)
    assert finish(last, about)[0] == 0
    judge_whole(folder / "out")
    assert not [path.name for path in (folder / "out").iterdir() if path.name.startswith(".")]


def test_two_commands_at_once_both_end_well(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "season")
    pairs = [start(folder) for _ in range(2)]
    assert [finish(process, about)[0] for process, about in pairs] == [0, 0]
    judge_whole(folder / "out")


def test_who_waits_too_long_is_told_that_another_command_is_at_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_small(tmp_path / "season")
    monkeypatch.setattr(disk, "PATIENCE", 0.1)
    monkeypatch.setattr(lock, "TURNS", 2)
    with lock.planning_alone(folder, print):
        code, _, told = command(capsys, monkeypatch, "plan", "--in", str(folder), "--as-of", SPRING)
    assert code == 3
    assert told.count("waiting for it") == 2
    assert "another command is still planning" in told
    assert not (folder / "out").exists()
    code, _, told = command(capsys, monkeypatch, "plan", "--in", str(folder), "--as-of", SPRING)
    assert code == 0, told


def test_a_disk_that_takes_no_more_is_said_plainly(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "season")
    assert finish(*start(folder))[0] == 0
    before = (folder / "out" / "plan.json").read_bytes()
    (folder / "garden.toml").write_text(GARDEN.replace("portions = 4", "portions = 6"))
    code, told = finish(*start(folder, largest=900))
    assert code == 1
    assert "computer refused" in told and "Traceback" not in told and "our fault" not in told
    assert (folder / "out" / "plan.json").read_bytes() == before
    judge_whole(folder / "out")
    assert not [path.name for path in (folder / "out").iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS, errno.ENOSPC, errno.EIO])
def test_what_the_disk_refuses_is_said_plainly(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    number: int,
) -> None:
    folder = write_small(tmp_path / "season")

    def refuse(path: Path, data: bytes) -> NoReturn:
        raise OSError(number, os.strerror(number), str(path))

    monkeypatch.setattr(write_all, "write_draft", refuse)
    code, _, told = command(capsys, monkeypatch, "plan", "--in", str(folder), "--as-of", SPRING)
    assert code == 1
    assert os.strerror(number) in told
    assert "Traceback" not in told and "our fault" not in told


def test_a_folder_where_nothing_can_be_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_small(tmp_path / "season")

    @contextlib.contextmanager
    def refuse(path: Path) -> Iterator[None]:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        yield

    monkeypatch.setattr(lock, "locked", refuse)
    code, _, told = command(capsys, monkeypatch, "plan", "--in", str(folder), "--as-of", SPRING)
    assert code == 3
    assert str(folder) in told and "nothing can be written here" in told


@pytest.mark.parametrize("name", ["out", "out/runsheets", "out/labels"])
def test_a_file_where_a_folder_is_needed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    folder = write_small(tmp_path / "season")
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_text("mine")
    code, _, told = command(capsys, monkeypatch, "plan", "--in", str(folder), "--as-of", SPRING)
    assert code == 3, told
    assert str(path) in told and path.read_text() == "mine"


UNUSABLE = {
    "empty": b"",
    "torn": b'{"format": 1, "made_at": "2027-0',
    "a list": b"[]",
    "a later format": b'{"format": 2}',
    "no format": b'{"version": 1}',
    "a wrong kind": b'{"format": 1, "sessions": 7}',
    "UTF-16": '{"format": 1}'.encode("utf-16"),
    "not text": bytes(range(256)),
    "deep": b"[" * 200_000,
    "a huge number": b'{"format": ' + b"9" * 5000 + b"}",
}


@pytest.mark.parametrize("words", [["plan"], ["check"], ["book"], []], ids=str)
@pytest.mark.parametrize("name", UNUSABLE)
def test_an_unusable_plan_is_named_with_the_way_out(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: list[str],
    name: str,
) -> None:
    folder = write_small(tmp_path / "season")
    path = folder / "out" / "plan.json"
    path.parent.mkdir()
    path.write_bytes(UNUSABLE[name])
    code, _, told = command(capsys, monkeypatch, *words, "--in", str(folder))
    assert code == 3, told
    assert str(path) in told and "Move it away" in told and "harvestplan plan" in told
    assert path.read_bytes() == UNUSABLE[name]
    assert [each.name for each in path.parent.iterdir()] == ["plan.json"]


@pytest.mark.parametrize("name", ["sessions.ics", "tasks.ics", "forecast.json", "book.html"])
@pytest.mark.parametrize("data", [b"", b"BEGIN:VCALENDAR\r\nBEGIN:VEV", bytes(range(256))], ids=len)
def test_torn_files_beside_a_plan_are_written_anew(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    data: bytes,
) -> None:
    folder = write_small(tmp_path / "season")
    words = ("--quiet", "--in", str(folder), "--as-of", SPRING)
    assert command(capsys, monkeypatch, "plan", *words)[0] == 0
    (folder / "out" / name).write_bytes(data)
    code, _, told = command(capsys, monkeypatch, "plan", *words)
    assert code == 0, told
    judge_whole(folder / "out")
