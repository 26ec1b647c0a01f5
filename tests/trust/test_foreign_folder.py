"""A season folder from somebody else: hidden characters and links that would have written in a
shell's start file, emptied the store in the diary or steered the terminal."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from each_case import each
from places import CROPS
from trust.small_folder import command, write_small

from harvestplan.errors import FilesNeedMending
from harvestplan.kitchen.crop_library import load_library
from harvestplan.records.names import names_in

BEAN = (CROPS / "snap-bean.toml").read_text(encoding="utf-8")
DAY = ("--as-of", "2027-05-01")
ON = ("--on", "2027-07-14")
HIDDEN = {
    "a line for a shell": "x\ntouch PWNED #",
    "a line for the diary": "x\n2027-05-20 lost all\n",
    "escape codes": "x\x1b]0;owned\x07\x1b[2J",
    "an older escape code": "x\x9b2J",
    "writing turned round": "x\u202efdp",
    "a mark of direction": "x\u200f(y)",
    "an isolate": "x\u2067y",
    "a line separator": "x\u2028y",
    "a paragraph separator": "x\u2029y",
    "NEL": "x\x85y",
    "a tab": "x\ty",
    "a blank of no width": "x\u200by",
}
PLACES = {"name": r"name = .*", "also": r"also = .*", "form": r"form = .*"}
"""The line of each in a crop file, the first of its kind."""
LINKS = pytest.mark.skipif(sys.platform == "win32", reason="links need a right of their own here")


def basic(text: str) -> str:
    """A basic string in which every character is an escape that TOML has."""
    return '"' + "".join(f"\\U{ord(letter):08x}" for letter in text) + '"'


def foreign(folder: Path, place: str, text: str) -> Path:
    """The small season with a crop file of its own that says the text at the place."""
    write_small(folder)
    (folder / "crops").mkdir()
    said = {"name": '"lane bean"', "also": '"my bean"', "form": '"cut"'} | {place: basic(text)}
    own = BEAN
    for key, pattern in PLACES.items():
        line = f"{key} = [{said[key]}]" if key == "also" else f"{key} = {said[key]}"
        own = re.sub(f"(?m)^{pattern}$", line.replace("\\", r"\\"), own, count=1)
    (folder / "crops" / "own.toml").write_text(own, encoding="utf-8")
    return folder


@each("text", HIDDEN.values())
@each("place", ["name", "also", "form"])
def test_a_hidden_character_in_a_crop_file(tmp_path: Path, place: str, text: str) -> None:
    """The library and the quick reading of names refuse it, with its file, line and key."""
    folder = foreign(tmp_path / "season", place, text)
    for read in (load_library, names_in):
        with pytest.raises(FilesNeedMending) as refused:
            read(folder)
        (flaw,) = refused.value.flaws
        assert flaw.file == "crops/own.toml" and flaw.line and place in flaw.text
        assert flaw.message == f'"{place}" has a character in it that cannot be seen.'


@pytest.mark.parametrize(
    ("file", "written", "key"),
    [
        ("sources.toml", '[OWN]\ntitle = "x\\u001b[2J"\n', "title"),
        ("sources.toml", '["O\\u202eWN"]\ntitle = "x"\n', "O�WN"),
        ("own.toml", BEAN.replace('note = "', 'note = "\\u009b2J', 1), "note"),
        ("own.toml", BEAN.replace('note = "', 'note = "\u2028', 1), "note"),
        ("own.toml", BEAN + '\n[["ref\\u001b[2Jused"]]\nform = "raw"\n', "ref�[2Jused"),
    ],
)
def test_a_hidden_character_elsewhere_in_crops(
    tmp_path: Path, file: str, written: str, key: str
) -> None:
    (tmp_path / "crops").mkdir()
    (tmp_path / "crops" / file).write_text(written, encoding="utf-8")
    with pytest.raises(FilesNeedMending) as refused:
        load_library(tmp_path)
    told = str(refused.value)
    assert f'"{key}" has a character in it that cannot be seen' in told
    assert refused.value.flaws[0].line
    assert not re.search("[\x1b\x9b\u202e\u2028]", told)


@pytest.mark.parametrize(
    "name",
    [
        "purée d'été",
        "Ñandú",
        "かぼちゃ",
        "हिन्दी बीन",
        "क्\u200dष",
        "می\u200cخواهم",
        "🧑\u200d🌾 bean",
        "שעועית",
    ],
)
def test_letters_of_every_script_are_names(tmp_path: Path, name: str) -> None:
    folder = foreign(tmp_path / "season", "name", name)
    assert name in load_library(folder).crops
    assert name in names_in(folder).crops.values()


SHOWING = [
    ("crops",), ("crops", "my bean"), ("forecast", *DAY), ("card", "--all"), ("cautions",),
    ("settings",), ("stock", *DAY), ("plan", "--quiet", *DAY),
    ("picked", "my bean", "5 lb", *ON),
]  # fmt: skip


@pytest.mark.parametrize("name", ["a line for a shell", "a line for the diary", "escape codes"])
def test_no_command_takes_it(
    tmp_path: Path,
    name: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = foreign(tmp_path / "season", "name", HIDDEN[name])
    before = sorted(tmp_path.rglob("*"))
    for words in SHOWING:
        code, said, told = command(capsys, monkeypatch, *words, "--in", str(folder))
        assert code == 3, (words, said, told)
        assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", said + told), words
        assert "PWNED" not in said
    written = set(tmp_path.rglob("*")) - set(before)
    assert {path.name for path in written} <= {".plan.lock"}


@LINKS
def test_a_shells_start_file_gets_no_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A crop whose name is a command, reached by its other name, and a diary that is a link."""
    start = tmp_path / ".bashrc"
    start.write_text("# mine\n")
    for name in ("x\ntouch PWNED #", "lane bean"):
        folder = foreign(tmp_path / f"season of {name[0]}", "name", name)
        (folder / "diary.txt").symlink_to(start)
        words = ("picked", "green bean", "5 lb", *ON, "--in", str(folder))
        code, _, told = command(capsys, monkeypatch, *words)
        assert code == 3, told
        assert start.read_text() == "# mine\n"


@LINKS
@pytest.mark.parametrize("there", [True, False], ids=["a file", "nothing"])
@pytest.mark.parametrize("link", ["diary.txt", ".diary.lock", "diary (1).txt", ".plan.lock"])
def test_a_link_is_neither_written_nor_read(
    tmp_path: Path,
    link: str,
    there: bool,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With one that leads nowhere, too, no file is made there and nothing goes unread."""
    folder, target = write_small(tmp_path / "season"), tmp_path / ".profile"
    if there:
        target.write_text("; mine\n")
    (folder / link).symlink_to(target)
    writing = [("picked", "snap bean", "5 lb", *ON), ("undo",)]
    reading = [("stock", *DAY), ("plan", "--quiet", *DAY), ("forecast", *DAY)]
    asked = {".diary.lock": writing, ".plan.lock": reading[1:2]}.get(link, [*writing, *reading])
    for words in asked:
        code, said, told = command(capsys, monkeypatch, *words, "--in", str(folder))
        assert code == 3, (words, said, told)
        assert link in told and "This is a link" in told
    assert target.exists() == there
    assert not there or target.read_text() == "; mine\n"


@LINKS
@pytest.mark.parametrize("name", ["labels", "runsheets"])
def test_a_linked_folder_of_printed_sheets(
    tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_small(tmp_path / "season")
    here = ("--in", str(folder))
    assert command(capsys, monkeypatch, "plan", "--quiet", *DAY, *here)[0] == 0
    elsewhere = tmp_path / "elsewhere"
    (folder / "out" / name).rename(elsewhere)
    before = {path.name: path.read_bytes() for path in elsewhere.iterdir()}
    (folder / "out" / name).symlink_to(elsewhere)
    asked = [("plan", "--quiet", "--as-of", "2027-05-02")]
    asked += [("book", "--labels", "a4-3x7"), ("book", "--test-page")] if name == "labels" else []
    for words in asked:
        code, _, told = command(capsys, monkeypatch, *words, *here)
        assert code == 3 and "is a link" in told, (words, told)
    assert {path.name: path.read_bytes() for path in elsewhere.iterdir()} == before


@LINKS
def test_a_linked_out_is_refused_and_stays(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, shared = write_small(tmp_path / "season"), tmp_path / "shared"
    here = ("--in", str(folder))
    assert command(capsys, monkeypatch, "plan", "--quiet", *DAY, *here)[0] == 0
    (folder / "out").rename(shared)
    (folder / "out").symlink_to(shared)
    (shared / ".making-of").mkdir()
    (shared / ".letter.docx.tmp").write_text("half")
    before = {p: p.read_bytes() for p in shared.rglob("*") if p.is_file()}
    for words in (("plan", "--quiet", *DAY), ("book",), ("check",), ("publish", "--folder", "x")):
        code, _, told = command(capsys, monkeypatch, *words, *here)
        assert code == 3 and "is a link" in told, (words, told)
    assert {p: p.read_bytes() for p in shared.rglob("*") if p.is_file()} == before


@pytest.mark.parametrize("name", ["a;b", "a #abcd", "6 pouches", "5 lb", "a planting b", "a\\b"])
def test_a_name_that_looks_like_the_diarys_own_words(
    tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As crop and as planting: what was acknowledged is what the diary says when read again."""
    folder = foreign(tmp_path / "season", "name", name)
    both = "".join(
        f'[[planting]]\ncrop = {basic(name)}\nid = {basic(each)}\nrow = "5 m"\nsown = 2027-06-01\n'
        for each in (name, "a", "abcd", "b")
    )
    (folder / "more.toml").write_text(both, encoding="utf-8")
    for words in (
        ("picked", name, "5 lb", "--planting", name),
        ("picked", name, "2", "lb"),
        ("flowering", f'"{name}"'),
        ("emerged", f'"{name}"', "--planting", name),
        ("none", "yet", f'"{name}"'),
        ("failed", f'"{name}"', "--planting", name),
        ("lost", name, "1 lb"),
        ("froze", f"{name}, cut", "6 pouches of 12 oz"),
        ("ate", f"{name}, cut", "2"),
    ):
        code, said, told = command(capsys, monkeypatch, *words, *ON, "--in", str(folder))
        assert code == 0, (words, said, told)
        back = command(capsys, monkeypatch, "undo", "--json", "--in", str(folder))
        assert back[0] == 0, (words, back)
        assert said.split(" #")[-1].split()[0] in back[1], (words, said, back)


def test_what_would_read_back_otherwise_is_not_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_small(tmp_path / "season")
    for words in (
        ("setting", "dry bean, sealed", "pump-down 22 s; foamed"),
        ("setting", "dry bean, sealed", "pump-down\x1b[2J"),
        ("picked", "snap bean", "5 lb", "--planting", "a\u2028b"),
    ):
        code, said, told = command(capsys, monkeypatch, *words, *ON, "--in", str(folder))
        assert code == 2 and not said, (words, said, told)
        assert not (folder / "diary.txt").exists()


def test_a_line_separator_in_a_remark_hides_no_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_small(tmp_path / "season")
    text = '2027-06-01 ate "dry bean, sealed" 1 ; one\u20282027-06-02 lost all\x852027-06-02\n'
    (folder / "diary.txt").write_text(text, encoding="utf-8")
    code, said, told = command(
        capsys, monkeypatch, "stock", "--as-of", "2027-07-01", "--in", str(folder)
    )
    assert code == 0, told
    assert "spoil" not in said
