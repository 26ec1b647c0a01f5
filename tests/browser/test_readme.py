"""The README's pictures are there, small, told in words, and of the pages as they are now."""

from __future__ import annotations

import re
import struct
from pathlib import Path
from typing import Any

import pytest
from browser.pictures import FOLDER, PICTURES, WIDTH, shown, take
from places import ROOT

README = ROOT / "README.md"
LINK = re.compile(r"!\[(.+?)\]\((.+?)\)")


def size(data: bytes) -> tuple[int, int]:
    """Width and height of a PNG in px."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    return width, height


def test_each_picture_is_shown_once_with_words_for_it() -> None:
    shown = {target: words for words, target in LINK.findall(README.read_text(encoding="utf-8"))}
    assert sorted(shown) == sorted(f"demo/pictures/{name}" for name in PICTURES)
    assert all(len(words) > 40 for words in shown.values())
    assert sorted(path.name for path in FOLDER.iterdir()) == sorted(PICTURES)


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_small_and_as_wide_as_the_text(name: str) -> None:
    data = (FOLDER / name).read_bytes()
    assert len(data) < 150_000
    assert size(data)[0] == WIDTH


def test_what_the_pictures_show_is_still_there(browser: Any, tmp_path: Path) -> None:
    """Letters differ between machines, so heights only nearly agree."""
    with shown(tmp_path) as pages:
        for name, picture in PICTURES.items():
            now = size(take(browser, pages, picture))
            assert now[0] == WIDTH
            assert now[1] == pytest.approx(size((FOLDER / name).read_bytes())[1], rel=0.15), name


def test_the_commands_it_names_exist() -> None:
    from typer.main import get_command

    from harvestplan.commands.cli import app

    known = set(getattr(get_command(app), "commands", {}))
    text = README.read_text(encoding="utf-8")
    named = set(re.findall(r"(?:`|^    |bin/)harvestplan ([a-z][a-z-]*)", text, re.M))
    assert {"new", "plan", "book", "publish", "froze"} <= named
    assert named <= known
