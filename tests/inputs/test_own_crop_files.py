"""A household's own crop file with one thing wrong: told with its file, and what is wanted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from places import CROPS

from harvestplan.errors import FilesNeedMending
from harvestplan.kitchen.crop_library import load_library

VALUE = r" = \{.*?\}\s*\n(?=[a-z_]+ = |\[|\n)"
"""A figure over one or more lines."""
WRONG = [
    # (crop, pattern, in its place, words of the message)
    ("snap-bean", f"(?ms)^time{VALUE}", "", "blanch needs time"),
    ("snap-bean", f"(?ms)^ratio{VALUE}", "", "cool needs ratio"),
    ("snap-bean", r'(?m)^step = "blanch"$', 'step = "blnach"', 'Did you mean "blanch"?'),
    ("snap-bean", r'(?m)^step = "wash"$', 'step = "set up"', "not one of the allowed words"),
    ("snap-bean", r'(?m)^step = "wash"$', "step = 5", "Allowed are: wash, soak, trim, shell"),
    ("snap-bean", r'(?ms)^\[\[products\.steps\]\]\nstep = "blanch"\n.*?(?=^\[\[products)', "",
     "needs a blanch before it"),
    ("winter-squash", r'(step = "roast"\n(?:.*\n)*?)time = .*\n', r"\1", "roast needs time"),
    ("apple", r'(step = "dry"\n(?:.*\n)*?)tray_load = .*\n', r"\1", "dry needs"),
    ("apple", r'(step = "dry"\n(?:.*\n)*?)pause_limit = .*\n', r"\1", "pause_limit"),
    ("snap-bean", r"(?m)^weekly = .*$", 'weekly = { value = [0.5, 0.4], source = "memory", '
     "seen = false }", "sum to 1"),
    ("apple", r"(?m)^biofix = .*$", "", "biofix"),
    ("snap-bean", r"(?m)^usual = true$", "", "exactly one product"),
    ("snap-bean", r'(?m)^kind = "grown"$', 'kind = "wild"', "wild"),
    ("snap-bean", r'(?m)^kind = "grown"$', "kind = 5", "allowed words"),
    ("snap-bean", r"(?m)^water_share = \{", "water_share = { seem = true,", "seem"),
    ("snap-bean", r"(?m)^water_share = .*$", "water_share = 0.9", "water_share"),
    ("snap-bean", r"(?m)^water_share = .*$", "", "water_share"),
    ("snap-bean", r"(?m)^form = .*$", "form = 7", "form"),
    ("snap-bean", r'(?m)^form = "cut"$', "form = 'the \"good\" cut'", "double quote"),
    ("snap-bean", r'(?m)^form = "cut"$', 'form = " cut"', "blanks stand between words"),
    ("apple", r'(?m)^form = "dried.*$', 'form = "Sauce"', "a form of its own"),
    ("snap-bean", r"(?m)^name = .*$", 'name = "bean, snap"', "comma"),
    ("snap-bean", r"(?m)^name = .*$", 'name = "“good” bean"', "double quote"),
]  # fmt: skip


@pytest.mark.parametrize(("crop", "pattern", "instead", "words"), WRONG)
def test_a_slip_in_an_own_crop_file(
    tmp_path: Path, crop: str, pattern: str, instead: str, words: str
) -> None:
    text = (CROPS / f"{crop}.toml").read_text(encoding="utf-8")
    changed, count = re.subn(pattern, instead, text, count=1)
    assert count == 1
    (tmp_path / "crops").mkdir()
    path = tmp_path / "crops" / f"{crop}.toml"
    path.write_text(text, encoding="utf-8")
    load_library(tmp_path)
    path.write_text(changed, encoding="utf-8")
    with pytest.raises(FilesNeedMending) as refused:
        load_library(tmp_path)
    assert f"{crop}.toml" in str(refused.value) and words in str(refused.value)


def test_a_grown_crop_grows(tmp_path: Path) -> None:
    text = (CROPS / "dry-bean.toml").read_text(encoding="utf-8")
    (tmp_path / "crops").mkdir()
    changed = text.replace('kind = "bought"', 'kind = "grown"')
    (tmp_path / "crops" / "dry-bean.toml").write_text(changed, encoding="utf-8")
    with pytest.raises(FilesNeedMending, match="needs growth, picking and yields"):
        load_library(tmp_path)
