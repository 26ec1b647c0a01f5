"""A household without a sealing machine, from the first question to the sheets of its season.

What is read is what it would read: nothing speaks of a machine, a bar or a vacuum that it has not.
"""

from __future__ import annotations

import html
import json
import re
import sys
from pathlib import Path

import pytest
from benchmarks.seasons import by_hand
from commands.at_a_terminal import talk

from harvestplan.commands.cli import main
from harvestplan.outputs.cautions import CAUTIONS, FREEZER_GLASS, SWELLING_FOOD

ANSWERS = [
    ("called", "The Lane"), ("Measures", "US"), ("Time zone", "chicago"),
    ("above the sea", "900 ft"), ("Latitude", ""), ("Last frost", "12 May"),
    ("First frost", "10-10"), ("begins", ""), ("ends", ""), ("People", "2"), ("practised", ""),
    ("evenings", "mon wed 6-9pm, sat 9:00-13:00"),
    ("at most", "3"),
    ("cooking pot", "16 qt"), ("burner", "3.2 kW"), ("stove", "gas"), ("the whole bag", "none"),
    ("freezer", "9 cu ft"), ("taken", ""),
    ("1:", "snap bean 40 ft"), ("sown on", ""), ("2:", "tomato 8 plants"), ("set out on", ""),
    ("3:", "strawberry 30 ft"), ("set out on", "20 April 2026"),
    ("4:", "winter squash 4 plants"), ("sown on", ""), ("5:", "onion 20 ft"),
    ("set out on", "20 April 2027"), ("6:", "cabbage 6 plants"), ("set out on", "1 May 2027"),
    ("7:", ""),
    ("1:", "snap bean 20 of 10 oz"), ("2:", "tomato, purée 10 of 2 cups"),
    ("3:", "strawberry 8 of 12 oz"), ("4:", "winter squash, soup 6 of 1 lb"),
    ("5:", "onion 6 of 8 oz"), ("6:", "cabbage 6 of 10 oz"), ("7:", ""),
]  # fmt: skip
NOT_HERE = r"(?i)pouch|vacuum|pump-down|\bbar\b|chamber|sealing|\bseal\b"
"""Words of a machine; "dry bean, sealed" would be a food's own name."""


def command(folder: Path, *words: str) -> int:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["harvestplan", *words, "--in", str(folder)])
        with pytest.raises(SystemExit) as left:
            main()
    return int(left.value.code or 0)


@pytest.fixture(scope="module")
def lane(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("new") / "lane"
    shown, code = talk(["new", str(folder), "--as-of", "2027-01-10"], ANSWERS)
    assert code == 0, shown
    assert "sealing bar" not in shown
    assert command(folder, "plan", "--quiet", "--as-of", "2027-04-28") == 0
    return folder


def read(path: Path) -> str:
    text = re.sub(r"(?s)<(style|script).*?</\1>", "", path.read_text(encoding="utf-8"))
    text = re.sub(r"\n[ \t]", "", text) if path.suffix == ".ics" else re.sub(r"<[^>]+>", " ", text)
    return " ".join(html.unescape(text).split())


def test_everything_wanted_is_put_by_and_sound(lane: Path) -> None:
    plan = json.loads((lane / "out" / "plan.json").read_bytes())
    assert all(want["short"] == 0 for want in plan["wants"]), plan["wants"]
    steps = {task["step"] for session in plan["sessions"] for task in session["tasks"]}
    assert "close" in steps and "seal" not in steps
    assert command(lane, "check") == 0


def test_nothing_speaks_of_a_machine(lane: Path) -> None:
    out = lane / "out"
    files = [path for path in out.rglob("*") if path.suffix in (".txt", ".html", ".ics", ".md")]
    assert len(files) > 10
    for path in files:
        # Charts show bars, and what stands on the chart's page says so.
        text = re.sub("the bar around it|figure on a bar", "", read(path))
        found = re.search(NOT_HERE, text)
        assert found is None, (path.name, text[max(0, found.start() - 60) : found.end() + 40])


def test_the_sheets_say_how_to_fill_and_to_close(lane: Path) -> None:
    sheets = " ".join(read(path) for path in sorted((lane / "out" / "runsheets").glob("*.txt")))
    for words in (
        "filled to 3 in below the top",
        "press the air out",
        "1 in of head space",
        "lids on tight",
        "mark the bags and boxes",
        "Quart boxes: ",
        "Write on the zip bags",
    ):
        assert words in sheets, words
    for caution in (SWELLING_FOOD, FREEZER_GLASS):
        assert caution.text in sheets


def test_its_own_cautions_stand_in_the_book(lane: Path) -> None:
    book = read(lane / "out" / "book.html")
    for caution in CAUTIONS:
        if "book" in caution.pages:
            assert caution.told(vacuum=False) in book, caution.hazard


def test_bags_and_boxes_are_bought(lane: Path) -> None:
    """Spares for zips that tear, none for boxes."""
    shopping = read(lane / "out" / "shopping.md")
    assert re.search(r"\d+ quart bags: \d+ needed with spares", shopping)
    assert re.search(r"(\d+) quart boxes: \1 needed, 0 in stock", shopping)


@pytest.mark.parametrize("word", ["card", "settings", "stock"])
def test_what_commands_say(lane: Path, word: str, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert command(lane, word) == 0
    said = capsys.readouterr().out.replace("There is no sealing machine", "")
    assert re.search(NOT_HERE, said) is None, said


def test_the_card_tells_minutes_by_hand(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert command(lane, "card", "--all") == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Zip bag: quart bag" in said and "closed by hand, 30 s each" in said
    assert "Box: quart box; closed by hand, 15 s each; 1 in of head space" in said


def test_next_year_s_kitchen_has_no_machine_either(lane: Path) -> None:
    following = lane.parent / "next"
    with pytest.MonkeyPatch.context() as patch:
        words = ["new", str(following), "--from", str(lane), "--as-of", "2027-12-01"]
        patch.setattr(sys, "argv", ["harvestplan", *words])
        with pytest.raises(SystemExit) as left:
            main()
    assert not left.value.code
    text = (following / "kitchen.toml").read_text(encoding="utf-8")
    assert 'kind = "none"' in text and "run_so_far" not in text


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_generated_households_can_make_their_food(seed: int) -> None:
    problem = by_hand(seed).problem()
    assert problem.season.machine is None and problem.kitchen.sealer is None
    assert len({option.demand for option in problem.options}) >= len(problem.demands) - 1
    assert all(demand.process.packing.pouch.by_hand for demand in problem.demands)
