"""plan.json as somebody else may have made it: read within limits, never let into a page raw."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from each_case import each, named
from trust.hostile.ending import contents, run
from trust.small_folder import write_small

SPRING = ("--as-of", "2027-05-01")
MARKUP = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'=cmd|' /C calc'!A0"
ABSURD = (10**18, -1, 1e308, 10**400, True, None, [], {}, "", "x" * 5000, "\u202egnp.exe",
          "a\x1b[2Jb", "0001-01-01", "9999-12-31", "0001-01-01T00:00:00+00:00",
          "9999-12-31T23:59:59+14:00", "2027-06-05T09:00:00", "../../etc/passwd")  # fmt: skip
COMMANDS = (("check",), ("book", *SPRING), ("stock", *SPRING), ("cautions",))
AWAY = "Move it away"


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_small(tmp_path_factory.mktemp("tampered") / "season")
    assert run("plan", "--quiet", *SPRING, "--in", str(folder)).code == 0
    return folder


def places(told: Any, place: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in the plan where a text, number or truth stands."""
    inner = told.items() if isinstance(told, dict) else enumerate(told)
    for key, each_one in inner:
        if isinstance(each_one, (dict, list)):
            yield from places(each_one, (*place, key))
        else:
            yield (*place, key)


def changed(told: Any, place: tuple[Any, ...], value: Any) -> Any:
    told = copy.deepcopy(told)
    inner = told
    for key in place[:-1]:
        inner = inner[key]
    inner[place[-1]] = value
    return told


def test_a_value_that_nobody_meant(planned: Path) -> None:
    """Two hundred of them, drawn; each command ends in a sentence, and the file stays."""
    path = planned / "out" / "plan.json"
    sound = path.read_bytes()
    told = json.loads(sound)
    every = list(places(told))
    draw = random.Random(7)
    for turn in range(200):
        place, value = draw.choice(every), ABSURD[turn % len(ABSURD)]
        text = json.dumps(changed(told, place, value))
        path.write_text(text, encoding="utf-8")
        with named(f"{place} = {str(value)[:40]}"):
            ended = run(*COMMANDS[turn % len(COMMANDS)], "--in", str(planned))
            assert "Move it away" in ended.told or ended.code in (0, 1, 3, 4), ended
            assert path.read_text(encoding="utf-8") == text
    path.write_bytes(sound)
    assert run("check", "--in", str(planned)).code == 0


def test_markup_in_every_text_reaches_no_page(planned: Path) -> None:
    """All texts of the plan at once, those aside that name what is known or tell kinds."""
    path = planned / "out" / "plan.json"
    sound = path.read_bytes()
    told = json.loads(sound)
    texts = [p for p in places(told) if p[-1] in ("message", "name", "id", "run", "lot", "item")]
    assert len(texts) > 10
    before, escaped = contents(planned / "out"), 0
    for place in texts[:: 1 + len(texts) // 40]:
        path.write_text(json.dumps(changed(told, place, MARKUP)), encoding="utf-8")
        with named(place):
            for words in (("book", *SPRING), ("book", "--labels", "a4-3x7")):
                run(*words, "--in", str(planned))
            pages = {
                name: data
                for name, data in contents(planned / "out").items()
                if name.endswith(".html") and data != before.get(name)
            }
            escaped += any(b"&lt;script&gt;" in bytes(data) for data in pages.values())
            for data in pages.values():
                assert b"<script>alert" not in bytes(data) and b"<img src=x" not in bytes(data)
    path.write_bytes(sound)
    assert escaped  # some of it is shown, as text


FILES = {
    "200 MB": b'{"format": 1, "x": "' + b"x" * 12_000_000 + b'"}',
    "deep lists": b'{"format": 1, "x": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
    "deep tables": b'{"x": ' * 500 + b"1" + b"}" * 500,
    "NaN": b'{"format": NaN}',
    "Infinity": b'{"format": 1, "x": [-Infinity]}',
    "a long number": b'{"format": ' + b"9" * 10_000 + b"}",
    "a lone surrogate": b'{"format": "\\ud800"}',
    "twice": b'{"format": 1}{"format": 1}',
    "Latin-1": '{"format": "é"}'.encode("latin-1"),
    "a byte order mark": b"\xef\xbb\xbf{}",
    "NUL": b"\0" * 1000,
    "a number": b"1",
    "null": b"null",
}
ALL = (*COMMANDS, ("plan", "--quiet", *SPRING), ("forecast", *SPRING), ("review",), (),
       ("power-cut", "3 h", "--on", "2027-06-01"),
       ("moved", "session", "2027-06-05", "09:00", "to", "2027-06-12", "10:00"))  # fmt: skip
BESIDE = ("plan.json", "forecast.json", "worth.json", "season-id.json", "published.json",
          "sessions.ics", "tasks.ics")  # fmt: skip


@each("name", BESIDE)
def test_a_file_of_ours_that_is_none(tmp_path: Path, name: str) -> None:
    """Whatever lies where a file of ours did: a sentence, or it is made anew."""
    folder = write_small(tmp_path / "season")
    assert run("plan", "--quiet", *SPRING, "--in", str(folder)).code == 0
    path = folder / "out" / name
    sound = path.read_bytes() if path.exists() else None
    for number, (kind, data) in enumerate(FILES.items()):
        for words in ALL[number % 3 :: 3]:
            path.write_bytes(data)
            with named(f"{kind}, {words}"):
                ended = run(*words, "--in", str(folder))
                if name == "plan.json" and words[:1] in (("check",), ("plan",), ("book",)):
                    assert ended.code == 3 and AWAY in ended.told, ended
                    assert path.read_bytes() == data
    path.unlink() if sound is None else path.write_bytes(sound)
