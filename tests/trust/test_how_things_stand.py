"""However a command ends: what it says of the files is true, judged by the files themselves."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NoReturn, TextIO

import pytest
from season_tables import house
from trust.killed_command import PLAN, WORTH, WRITING, fresh, line
from trust.small_folder import command, write_small

from harvestplan import disk
from harvestplan.commands import cli
from harvestplan.errors import HarvestPlanError
from harvestplan.outputs.calendar import publish
from harvestplan.outputs.calendar.server import ServerRefused

UNTOUCHED = "our files are as they were"
LINE = "2027-07-14 picked snap bean 5 lb #abcd"
NEW = ("new", "{}/new", "--yes")
READING = [(), ("forecast",), ("crops",), ("crops", "--json"), ("card",), ("--help",), ("schema",)]


def full() -> TextIO:
    """An output that takes nothing."""
    return open("/dev/full", "w", encoding="utf-8")  # noqa: PTH123 - closed by run


def closed() -> TextIO:
    """A pipe that nobody reads any more."""
    reader, writer = os.pipe()
    os.close(reader)
    return os.fdopen(writer, "w", buffering=1, encoding="utf-8")


def run(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    output: TextIO,
    words: list[str],
) -> tuple[int, str]:
    """Exit code and error output of a command line that prints to `output`."""
    with output, monkeypatch.context() as patch:
        patch.setattr(sys, "argv", ["harvestplan", *words])
        patch.setattr(sys, "stdout", output)
        with pytest.raises(SystemExit) as left:
            cli.main()
    return int(left.value.code or 0), capsys.readouterr().err


def files(folder: Path) -> dict[Path, bytes]:
    """What a person finds in a folder."""
    found = (path for path in folder.rglob("*") if path.is_file())
    return {path: path.read_bytes() for path in found if not path.name.startswith(".")}


def untold(before: dict[Path, bytes], folder: Path, told: str) -> Iterator[str]:
    """What was changed in the folder and is not told, or told and is not so."""
    after = files(folder)
    changed = [path for path in after if before.get(path) != after[path]]
    if changed and UNTOUCHED in told:
        yield f"{changed} are not as they were"
    for path in changed:
        if path.name == "diary.txt":
            lines = after[path].decode().splitlines()[len(before[path].splitlines()) :]
            yield from (each for each in lines if f"in the diary: {each}\n" not in told)
        elif f"{folder}/out." not in told:
            named = next((each for each in told.split("\n") if f"in {path.parent}: " in each), "")
            if path.name not in named:
                yield f"{path} is new"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
@pytest.mark.parametrize("output", [full, closed])
def test_what_was_written_is_told_where_the_answer_cannot_be(
    planned: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    output: Callable[[], TextIO],
) -> None:
    wrong = []
    for words in [*WRITING, WORTH, NEW]:
        folder = fresh(planned, tmp_path / "season")
        # One line typed by hand gets its code in passing: that is no news.
        disk.append(folder / "diary.txt", f"{LINE}\n")
        command(capsys, monkeypatch, "keep", "free", "2027-08-01", "--in", str(folder))
        before = files(folder)
        given = [w.format(folder) for w in words] if words == NEW else line(words, folder)
        code, told = run(monkeypatch, capsys, output(), words=given)
        if code != (1 if output is full else 0) or "our fault" in told:
            wrong.append(f"{words}: {code}, {told}")
        wrong += [f"{words}: {each}; told: {told}" for each in untold(before, folder, told)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
def test_where_nothing_was_written_that_is_told(
    planned: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = fresh(planned, tmp_path / "season")
    for words in READING:
        place = [] if words in (("--help",), ("schema",)) else ["--in", str(folder)]
        code, told = run(monkeypatch, capsys, full(), words=[*words, *place])
        assert code == 1, words
        assert told == (
            "This could not be printed: No space left on device.\nYour files are as they were.\n"
        ), words
        assert run(monkeypatch, capsys, closed(), words=[*words, *place]) == (0, ""), words


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
def test_a_process_that_cannot_print_ends_without_more_words(planned: Path, tmp_path: Path) -> None:
    """Python itself would add its own at the very end, and an exit code of its own; findings are
    an error that comes after something was printed."""
    folder = fresh(planned, tmp_path / "season")
    (folder / "household.toml").write_text(house("2027-06-01", "2027-08-31", "sun"), "utf-8")
    buffered = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    for words, code in ((["picked", "snap bean", "1 lb"], 1), (["check"], 4)):
        with Path("/dev/full").open("w") as output:
            ended = subprocess.run(
                [sys.executable, "-m", "harvestplan", *words, "--in", str(folder)],
                stdout=output,
                stderr=subprocess.PIPE,
                encoding="utf-8",
                timeout=60,
                env=buffered,
            )
        assert ended.returncode == code, ended.stderr
        assert "Exception ignored" not in ended.stderr, ended.stderr


def test_where_warnings_cannot_be_told_the_answer_tells_what_stands(
    planned: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = fresh(planned, tmp_path / "season")
    with closed() as nobody, monkeypatch.context() as patch:
        patch.setattr(sys, "argv", ["harvestplan", "picked", "pea", "5 lb", "--in", str(folder)])
        patch.setattr(sys, "stderr", nobody)
        with pytest.raises(SystemExit):
            cli.main()
    written = (folder / "diary.txt").read_text(encoding="utf-8").splitlines()[-1]
    assert capsys.readouterr().out.startswith(f"It is written in the diary: {written}\n")


@pytest.mark.parametrize(
    "raised",
    [
        KeyboardInterrupt(),
        SystemExit(130),
        MemoryError(),
        ImportError("failed to map"),
        OSError(5, "Input/output error"),
        ZeroDivisionError(),
        HarvestPlanError("Not so."),
    ],
    ids=lambda raised: type(raised).__name__,
)
def test_every_end_tells_what_stands(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    raised: BaseException,
) -> None:
    """A line, files, a whole plan and a server's calendar are told; the next command begins anew"""

    def write_and_fail() -> NoReturn:
        disk.append(tmp_path / "diary.txt", f"{LINE}\n")
        disk.write_atomic(tmp_path / "kitchen.toml", b"")
        raise raised

    def fail() -> NoReturn:
        raise raised

    monkeypatch.setattr(cli, "app", write_and_fail)
    code, _, told = command(capsys, monkeypatch)
    assert code != 0
    assert f"It is written in the diary: {LINE}\nNew in {tmp_path}: kitchen.toml;" in told
    assert UNTOUCHED not in told and "try again" not in told
    monkeypatch.setattr(cli, "app", fail)
    code, _, told = command(capsys, monkeypatch)
    assert LINE not in told and "New in" not in told


def test_a_plan_refused_after_it_was_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The evenings to hold are sought once the plan is there."""

    def refuse(*_: Any, **__: Any) -> NoReturn:
        raise HarvestPlanError("Not so.")

    folder = write_small(tmp_path / "season")
    monkeypatch.setattr(cli, "with_evenings_held", refuse)
    code, _, told = command(capsys, monkeypatch, *PLAN, "--in", str(folder))
    assert code == 1 and told.endswith(
        f"Not so.\nThe new plan with all its files is in {folder}/out.\n"
    )


class HalfServer:
    """A server that takes one entry and then no more."""

    url, taken = "https://cal.example/", 0

    def read(self, part: str) -> list[Any]:
        return []

    def create(self, name: str, data: bytes) -> None:
        self.taken += 1
        if self.taken > 1:
            raise ServerRefused("It is full.")


def test_a_calendar_published_in_part(
    planned: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = fresh(planned, tmp_path / "season")
    server = HalfServer()

    def publish_there() -> None:
        publish.publish(folder / "out", server)  # type: ignore[arg-type]

    monkeypatch.setattr(cli, "app", publish_there)
    _, _, told = command(capsys, monkeypatch)
    assert server.taken == 2
    assert "It is full." in told and "What the server took of the calendar stands there" in told
