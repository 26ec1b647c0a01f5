"""What is printed: nothing in it steers a terminal, and what cannot be shown is written simply."""

from __future__ import annotations

import datetime as dt
import io
import json
import sys
import unicodedata
from pathlib import Path

import pytest
from commands.at_a_terminal import talk
from places import CROPS

from harvestplan.commands.cli import main
from harvestplan.commands.plain_output import Plain
from harvestplan.new_season.starter import Answers, write_starter

TITLE = "\x1b]0;mine\x07"
"""Gives a terminal's window another title."""
RED, TURNED, NEXT_LINE = "\x1b[31m", "\u202e", "\x85"
STEERING = ("Cc", "Cf", "Cs", "Zl", "Zp")
"""Unicode's categories of controls, formats, halves of characters, and breaks."""
EVIL = TITLE + RED + TURNED + NEXT_LINE + "\r"


def command(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str
) -> tuple[int, str, str]:
    """Exit code, output and error output of a command line run in this process."""
    monkeypatch.setattr(sys, "argv", ["harvestplan", *words])
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    return int(left.value.code or 0), said.out, said.err


def printed(text: str, encoding: str = "utf-8", as_json: bool = False) -> str:
    """What arrives of it on an output of that encoding."""
    inner = io.TextIOWrapper(io.BytesIO(), encoding, newline="")
    stream = Plain(inner)
    stream.json = as_json
    assert stream.write(text) == len(text)
    stream.flush()
    return inner.detach().getvalue().decode(encoding)  # type: ignore[attr-defined, no-any-return]


def test_no_control_and_no_format_character_arrives() -> None:
    """Judged by Unicode's own categories; joiners are part of how some languages are spelt."""
    letters = [chr(n) for n in range(sys.maxunicode + 1)]
    unseen = [c for c in letters if unicodedata.category(c) in STEERING]
    kept = [c for c in unseen if c in printed(c)]
    assert kept == ["\t", "\n", "\u200c", "\u200d"]
    assert printed("".join(unseen)).count("\ufffd") == len(unseen) - 4
    assert printed(EVIL, "ascii").isprintable()


def test_what_can_be_seen_arrives_as_it_is() -> None:
    shown = "Zoë’s “Küche” ½ → 野菜 👩‍👩‍👧‍👦 می‌خواهم\n\t█ \u00a0 x\n"
    assert printed(shown) == shown


def test_json_loses_nothing() -> None:
    """Every character of a text comes back, also those that no terminal may get."""
    text = "".join(chr(n) for n in range(0xD800)) + EVIL + "👩‍👩 \U000e0001"
    written = json.dumps({"name": text}, ensure_ascii=False)
    for encoding in ("utf-8", "ascii", "cp1252", "cp437", "latin-1"):
        shown = printed(written, encoding, as_json=True)
        assert json.loads(shown) == {"name": text}, encoding
        unseen = {c for c in shown if unicodedata.category(c) in STEERING}
        assert unseen <= {"\u200c", "\u200d"}, encoding


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [
        ("ascii", """3 1/2 lb - "Kuche" 12 x 8 -> a... 72 F e m2 ?? 1/2"""),
        ("cp1252", "3½ lb – “Küche” 12 × 8 -> a… 72 °F é m² ?? ½"),
        ("latin-1", """3½ lb - "Küche" 12 × 8 -> a... 72 °F é m² ?? ½"""),
        ("cp437", """3½ lb - "Küche" 12 x 8 -> a... 72 °F é m² ?? ½"""),
    ],
)
def test_what_an_encoding_lacks_is_written_more_simply(encoding: str, shown: str) -> None:
    assert printed("3½ lb – “Küche” 12 × 8 → a… 72 °F é m² 野菜 ½", encoding) == shown


@pytest.mark.parametrize(
    "words",
    [
        ["--in", "{}"], ["plan", "--in", "{}"], ["check", "--in", "{}"], ["crops", EVIL],
        ["plan", "--as-of", EVIL], ["plan", "--seed", EVIL], [EVIL], ["plan", f"--{EVIL}"],
        ["picked", EVIL, "5 lb"], ["keep", "free", EVIL], ["undo", EVIL], ["compare", EVIL],
        ["book", "--labels", EVIL], ["publish", EVIL], ["new", "{}/new", "--yes"],
    ],
    ids=ascii,
)  # fmt: skip
def test_what_is_typed_steers_no_terminal(tmp_path: Path, words: list[str]) -> None:
    """At a terminal, where the library of the command line leaves colours as they are."""
    folder = tmp_path / f"garden {EVIL}"
    folder.mkdir()
    place = ["--in", "{}"] if words[0] in ("picked", "keep", "undo", "compare", "book") else []
    shown, code = talk([word.replace("{}", str(folder)) for word in [*words, *place]], [])
    assert (code == 0) == (words[0] == "new")
    assert shown.strip() and "Traceback" not in shown and "our fault" not in shown
    assert not [c for c in shown if c not in "\n\t" and not c.isprintable()], ascii(shown)


def test_progress_and_answer_go_their_own_ways(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both pass the same filter, each to its own output, however often a command is run."""
    for _ in range(2):
        _, said, told = command(capsys, monkeypatch, "crops", f"no{RED} such")
        assert said == "" and "\ufffd[31m such" in told


@pytest.mark.parametrize("place", ["crops/evil.toml", "more.toml", "out/plan.json"])
def test_what_files_hold_steers_no_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """A crop, a planting or a planned session from somebody else, shown or refused."""
    write_starter(tmp_path, Answers.example(dt.date(2027, 1, 1)))
    command(capsys, monkeypatch, "plan", "--as-of", "2027-05-01", "--in", str(tmp_path))
    crop = (CROPS / "rhubarb.toml").read_text(encoding="utf-8")
    planting = '[[planting]]\ncrop = "rhubarb"\nid = "rhubarb"\nplants = 2\nset_out = 2020-05-01\n'
    plan = (tmp_path / "out" / "plan.json").read_text(encoding="utf-8")
    text = {"crops/evil.toml": crop, "more.toml": planting, "out/plan.json": plan}[place]
    evil = "".join(f"\\u{ord(c):04x}" for c in EVIL)
    (tmp_path / place).parent.mkdir(exist_ok=True)
    for name in ("rhubarb", "snap bean"):
        text = text.replace(f'"{name}', f'"{name} {evil}')
    (tmp_path / place).write_text(text, encoding="utf-8")
    for words in ([], ["crops"], ["crops", f"rhubarb {EVIL}"], ["forecast"], ["check"], ["card"]):
        _, said, told = command(capsys, monkeypatch, *words, "--in", str(tmp_path))
        unseen = [c for c in said + told if unicodedata.category(c) in STEERING and c not in "\n\t"]
        assert said + told and not unseen, words
