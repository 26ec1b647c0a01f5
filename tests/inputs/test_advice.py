"""What an error advises is tried: written as it says, the line is no longer wrong."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library

LIBRARY = load_library()
SEASON = """\
[household]
name = "Test"
timezone = "America/New_York"
hands = 1
[season]
start = 2027-05-01
end = 2027-10-31
[[window]]
days = ["tue"]
start = 18:00
end = 21:00
[[pot]]
name = "kettle"
volume = "8 L"
power = "1.8 kW"
one_minute = false
[sealer]
kind = "none"
[[planting]]
crop = "snap bean"
row = "30 ft"
sown = 2027-05-15
[[want]]
product = "snap bean, cut"
portions = 20
portion = "12 oz"
priority = 1.5
"""
SLIPS = [
    "portions = twenty", "portions = two dozen", "hands = two", "start = 15.05.2027",
    "start = 5/14/2027", "sown = 15 May 2027", "sown = May 15, 2027", "portion = 12 oz",
    'portion = "12 oz', "crop = snap bean", 'crop = "tomato sauce"', 'product = "tomato sauce"',
    'product = "snap beans"', 'product = "green beans"', 'crop = "courgettes"', "one_minute = yes",
    "priority = 1,5", "start = 6pm", "end = 9 pm", 'volume = "8,5 L"', 'power = "1,8 kW"',
    'kind = "non"', 'timezone = "America/NewYork"', "volume: 8 L", 'portion = "12 ozz"',
]  # fmt: skip


def flaws(folder: Path, text: str) -> list[tuple[int | None, str]]:
    """Line and hint of each flaw."""
    (folder / "season.toml").write_text(text, encoding="utf-8")
    try:
        load_season(folder, LIBRARY)
    except FilesNeedMending as error:
        return [(flaw.line, flaw.hint) for flaw in error.flaws]
    return []


def advised(hint: str, line: str) -> list[str]:
    """The lines that a hint says to write."""
    key = line.partition(" = ")[0]
    if found := re.search(r"Write: (\w+) = (.+?)\.?$", hint):
        return [f"{found[1]} = {way}" for way in found[2].split(" or ")]
    if found := re.search(r'(?:Did you mean|Write) "([^"]+)"', hint):
        return [f'{key} = "{found[1]}"']
    return []


@pytest.mark.parametrize("slip", SLIPS)
def test_what_an_error_advises_is_right(slip: str, tmp_path: Path) -> None:
    assert not flaws(tmp_path, SEASON)
    key = re.split(r"\W", slip)[0]
    lines = SEASON.splitlines()
    place = max(n for n, line in enumerate(lines) if line.startswith(f"{key} ="))
    if key == "start" and "pm" not in slip:
        place = min(n for n, line in enumerate(lines) if line.startswith("start ="))
    lines[place] = slip
    found = [hint for line, hint in flaws(tmp_path, "\n".join(lines) + "\n") if line == place + 1]
    assert found, "the slip is not noticed"
    ways = advised(found[0], slip)
    assert ways, found[0]
    for way in ways:
        lines[place] = way
        left = [each for each in flaws(tmp_path, "\n".join(lines) + "\n") if each[0] == place + 1]
        assert not left, f"{slip}: {way} is refused as well: {left}"


def test_a_wrong_folder_says_so(tmp_path: Path) -> None:
    (tmp_path / "pyproject.toml").write_text('[tool.x]\ny = 1\n[project]\nname = "z"\n')
    with pytest.raises(FilesNeedMending, match="no season folder"):
        load_season(tmp_path, LIBRARY)


def test_a_file_with_a_second_ending_is_recognised(tmp_path: Path) -> None:
    (tmp_path / "garden.toml.txt").write_text("[[planting]]\n")
    with pytest.raises(FilesNeedMending, match=r'Rename it to "garden\.toml"'):
        load_season(tmp_path, LIBRARY)
    assert [hint for _, hint in flaws(tmp_path, SEASON) if "garden.toml" in hint]
