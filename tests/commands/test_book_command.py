"""`harvestplan book`: the page for a day, sheets of labels, and what it says of a slip."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from outputs.paper.pages_read import read_page
from outputs.written_plans import make_plan
from places import DEMO
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.plan.file import plan_bytes


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The demo's household with a small plan of its own."""
    for path in (*DEMO.glob("*.toml"), *DEMO.glob("*.ics"), *DEMO.glob("*.csv")):
        shutil.copy(path, tmp_path)
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_bytes(plan_bytes(make_plan()))
    return tmp_path


def run(folder: Path, *words: str) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["book", "--in", str(folder), *words])
    return done.exit_code, " ".join(done.output.split())


def test_the_book_of_a_day(folder: Path) -> None:
    code, said = run(folder, "--as-of", "2027-11-09")
    assert (code, said) == (0, str(folder / "out" / "book.html"))
    page = read_page((folder / "out" / "book.html").read_bytes())
    assert "Seven days from Tue 9 November 2027," in page.text


def test_sheets_of_labels(folder: Path) -> None:
    words = ("--labels", "a4-3x7", "--start", "7", "--shift", "1.5 mm,-0.5 mm")
    assert run(folder, *words) == (0, str(folder / "out" / "labels" / "labels.html"))
    page = read_page((folder / "out" / "labels" / "labels.html").read_bytes())
    assert [len(sheet.all("div", "label")) for sheet in page.all("div", "sheet")] == [15, 15]
    assert page.all("div", "label")[0].attributes["style"] == "left:8.75mm;top:90.85mm"
    assert run(folder, "--test-page") == (0, str(folder / "out" / "labels" / "test-page.html"))
    assert not (folder / "out" / "book.html").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--labels", "a9"), "I do not know the labels"),
        (("--start", "40"), "count from 1 to 30"),
        (("--shift", "2 mm"), "to the right and down"),
        (("--on", "2027-12-24"), "No pouch is packed on Fri 24 December 2027."),
        (("--on", "31.11.2027"), "2027-05-15"),
    ],
)
def test_a_slip_is_exit_2_and_nothing_is_written(
    folder: Path, words: tuple[str, str], said: str
) -> None:
    code, output = run(folder, *words)
    assert code == 2
    assert said in output.replace("│", "")
    assert not (folder / "out" / "labels").exists()
