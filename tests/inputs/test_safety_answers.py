"""Who asks for what nobody should make gets the reason, a way out and the source, wherever a
product is named. The reasons are those of the National Center for Home Food Preservation and of
extension services; each names its source."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from each_case import each
from inputs.season_folder import SOUND, write
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.errors import FilesNeedMending, HarvestPlanError
from harvestplan.inputs.safety_answers import ANSWERS, safety_answer
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season.read_answers import wanted

LIBRARY = load_library()
ASKED = [
    # (what is asked, words of the reason, words of the way out)
    ("garlic in oil", "under oil", "4 days"),
    ("roasted peppers in olive oil", "under oil", "4 days"),
    ("garlic confit", "under oil", "freeze it"),
    ("basil oil", "under oil", "freeze it"),
    ("canned beans", "low in acid", "pressure canner"),
    ("home-canned green beans", "low in acid", "pressure canner"),
    ("Home Canned Corn", "low in acid", "freeze it"),
    ("carrots in jars", "low in acid", "tested process"),
    ("beets, bottled", "low in acid", "tested process"),
    ("tomato, jarred", "border", "lemon juice"),
    ("canned salsa", "border", "freeze"),
    ("passata in bottles jarred", "border", "freeze"),
    ("pumpkin butter, canned", "mashed", "cubes alone"),
    ("squash purée in jars", "mashed", "freeze the purée"),
    ("canned peaches", "no canning", "freeze or dry"),
    ("strawberry jam in jars", "no canning", "tested process"),
    ("beef stew in mason jars", "pressure canner", "freeze"),
    ("canned tuna", "pressure canner", "freeze"),
    ("pickled eggs at room temperature", "yolk", "refrigerator"),
    ("pickled eggs", "yolk", "refrigerator"),
    ("canned butter", "no tested process", "freeze butter"),
    ("banana bread in a jar", "moist and low in acid", "freeze"),
    ("vacuum-packed raw mushrooms", "fresh mushrooms", "trays first"),
    ("shiitake, sealed", "fresh mushrooms", "trays first"),
    ("canned chanterelles", "pressure canner", "freeze or dry"),
    ("vacuum sealed garlic", "raw garlic", "trays first"),
    ("onion, raw, vacuum", "raw garlic and onions", "trays first"),
    ("brie, vacuum packed", "listeria", "within a week"),
    ("bean sprouts", "salmonella", "cook"),
    ("alfalfa sprouts, frozen", "salmonella", "cook"),
    ("beef jerky", "dryer does not kill", "160 °F"),
    ("dried chicken", "dryer does not kill", "165 °F"),
    ("smoked salmon, vacuum packed", "do not preserve", "5 days"),
    ("home-made salami", "nitrite", "freeze"),
    ("mince, sealed for the fridge", "2 days", "freeze"),
    ("chicken breast, vacuum packed, chilled", "2 days", "freeze"),
    ("steak at room temperature", "none on the shelf", "freeze"),
    ("baked potatoes in foil", "potatoes", "4 days"),
    ("lentil soup at room temperature", "room temperature", "freeze"),
    ("pea purée for the pantry", "room temperature", "freeze"),
]
UNASKED = (
    "snap bean, cut", "winter squash, soup", "salmon", "garlic, chopped", "beef, portioned",
    "bottle gourd", "peanut butter", "pickles", "sanp bean", "dried apple", "rice on the shelf",
    "cantaloupe", "oilseed rape", "brussels sprouts", "eggplant, sliced", "jargonelle pear",
    "candied orange", "sunflower seed", "tinder fungus", "bread", "potato, cubes", "", ",",
)  # fmt: skip


@pytest.mark.parametrize(("name", "why", "instead"), ASKED)
def test_why_what_instead_and_who_says_so(name: str, why: str, instead: str) -> None:
    answer = safety_answer(name)
    assert answer is not None
    said = answer.sentence(name)
    assert why in answer.why
    assert instead in answer.instead
    assert f'"{name}" is not put by here: ' in said
    assert re.search(r"Source: [A-Z]", said)
    assert said.endswith("Your local food-safety authority has the last word.")


@each("name", UNASKED)
def test_what_may_be_asked_for_gets_no_answer(name: str) -> None:
    # Of fungi raw and sealed something is said; of their mere name nothing.
    assert safety_answer(name) is None


def test_no_name_of_the_library_is_answered() -> None:
    names = [n for crop in LIBRARY.crops.values() for n in (crop.name, *crop.also)]
    answered = [name for name in (*names, *LIBRARY.product_names()) if safety_answer(name)]
    # Who says "sprouts" may mean those of Brussels, and is understood before he is answered.
    assert answered == ["sprouts"]
    assert LIBRARY.find_crop("sprouts") is not None


def test_every_answer_is_given_once_at_least_and_cites_what_is_listed() -> None:
    given = {answer.asked for name, _, _ in ASKED if (answer := safety_answer(name))}
    assert given == {answer.asked for answer in ANSWERS}
    for answer in ANSWERS:
        assert set(answer.sources) <= set(LIBRARY.sources)


def test_a_name_of_any_length_is_answered_quickly_or_not_at_all() -> None:
    assert safety_answer("a " * 50_000 + "canned") is None
    assert safety_answer("canned " * 50_000) is not None


# Wherever a product is named


@pytest.mark.parametrize("name", [name for name, _, _ in ASKED if '"' not in name][::4])
def test_in_the_season_file(name: str, tmp_path: Path) -> None:
    text = SOUND.replace('product = "snap bean"', f'product = "{name}"')
    write(tmp_path, season=text)
    done = CliRunner().invoke(app, ["plan", "--in", str(tmp_path), "--as-of", "2027-07-01"])
    assert isinstance(done.exception, FilesNeedMending)
    (flaw,) = done.exception.flaws
    assert flaw.message.startswith(f'"{name}" is not put by here: ')
    assert "Instead: " in flaw.hint and "Source: " in flaw.hint
    assert flaw.line is not None


def test_of_what_is_bought(tmp_path: Path) -> None:
    write(tmp_path, season=SOUND.replace('item = "pear"', 'item = "bean sprouts"'))
    done = CliRunner().invoke(app, ["plan", "--in", str(tmp_path), "--as-of", "2027-07-01"])
    assert isinstance(done.exception, FilesNeedMending)
    assert "salmonella" in str(done.exception)


@pytest.mark.parametrize(
    "words",
    [
        ["froze", "garlic in oil", "3"],
        ["froze", '"garlic in oil"', "3"],
        ["froze", "snap", "bean", "canned", "6"],
        ["ate", "pickled eggs at room temperature", "1"],
        ["gave", "home-canned green beans", "2"],
        ["lost", "vacuum-packed raw mushrooms", "1"],
        ["count", "tomato, jarred", "4"],
        ["bought", "bean sprouts", "2 lb"],
    ],
)
def test_in_the_diary(words: list[str], tmp_path: Path) -> None:
    write(tmp_path, season=SOUND.replace('item = "pear"', 'item = "apple"'))
    done = CliRunner().invoke(app, [*words, "--in", str(tmp_path)])
    assert isinstance(done.exception, HarvestPlanError)
    said = str(done.exception)
    assert "is not put by here: " in said
    assert "Instead: " in said
    assert not (tmp_path / "diary.txt").exists()


def test_the_plain_food_is_still_understood(tmp_path: Path) -> None:
    write(tmp_path, season=SOUND.replace('item = "pear"', 'item = "apple"'))
    for line in (["froze", "garlic", "3"], ["froze", "snap bean", "6 pouches of 12 oz"],
                 ["picked", "tomato", "2 lb"], ["bought", "sprouts", "2 lb"]):  # fmt: skip
        done = CliRunner().invoke(app, [*line, "--in", str(tmp_path)])
        assert done.exit_code == 0, (line, done.exception)


@pytest.mark.parametrize("name", ["garlic in oil", "canned beans", "smoked trout, sealed"])
def test_under_crops(name: str, tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["crops", name, "--in", str(tmp_path)])
    assert isinstance(done.exception, FilesNeedMending)
    assert "is not put by here: " in str(done.exception)


def test_in_the_questions_of_a_new_season() -> None:
    for name in ("garlic in oil", "tomato, jarred", "canned beans"):
        with pytest.raises(Unclear, match=r"not put by here.*Instead"):
            wanted(f"{name}, 12 of 340 g", LIBRARY, "US", before=())


def test_in_what_would_be(tmp_path: Path) -> None:
    write(tmp_path, season=SOUND.replace('item = "pear"', 'item = "apple"'))
    change = "want.garlic in oil.portions=+3"
    done = CliRunner().invoke(
        app, ["compare", change, "--in", str(tmp_path), "--as-of", "2027-07-01"]
    )
    assert "is not put by here: botulinum" in str(done.exception)


def test_on_the_page_of_cautions(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["cautions", "--all", "--in", str(tmp_path)])
    text = " ".join(done.output.split())
    for answer in ANSWERS:
        assert answer.why in text
