"""What is printed: nothing in it steers a terminal, and what cannot be shown is written simply."""

from __future__ import annotations

import io
import json
import sys
import unicodedata
from pathlib import Path

import pytest
from test_new_command import talk

from harvestplan.cli import main
from harvestplan.terminal import Plain

TITLE = "\x1b]0;mine\x07"
"""Gives a terminal's window another title."""
RED, TURNED, NEXT_LINE = "\x1b[31m", "\u202e", "\x85"
STEERING = ("Cc", "Cf", "Cs", "Zl", "Zp")
"""Unicode's categories of controls, formats, halves of characters, and breaks."""
EVIL = TITLE + RED + TURNED + NEXT_LINE + "\r"


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
    shown, code = talk([word.replace("{}", str(folder)) for word in words], [])
    assert (code == 0) == (words[0] == "new")
    assert shown.strip() and "Traceback" not in shown and "our fault" not in shown
    assert not [c for c in shown if c not in "\n\t" and not c.isprintable()], ascii(shown)


def test_progress_and_answer_go_their_own_ways(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both pass the same filter, each to its own output, however often a command is run."""
    for _ in range(2):
        monkeypatch.setattr(sys, "argv", ["harvestplan", "crops", f"no{RED} such"])
        with pytest.raises(SystemExit):
            main()
        said = capsys.readouterr()
        assert said.out == "" and "\ufffd[31m such" in said.err
