"""What stands within a terminal's screen of 24 lines and 80 columns, of the demo household."""

from __future__ import annotations

import pytest
from places import DEMO
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.outputs.cautions import CAUTIONS
from harvestplan.outputs.text_page import screenful, wrapped

LINES, COLUMNS = 24, 80


def shown(*words: str) -> str:
    done = CliRunner().invoke(app, [*words, "--in", str(DEMO)])
    assert done.exit_code == 0, done.output
    return done.stdout


@pytest.mark.parametrize(
    "words", [("forecast", "--as-of", "2027-05-01"), ("card",), ("cautions",)], ids=str
)
def test_a_screen_holds_it_and_it_says_where_the_rest_is(words: tuple[str, ...]) -> None:
    lines = shown(*words).splitlines()
    assert len(lines) <= LINES - 1  # the prompt takes one
    assert max(map(len, lines)) < COLUMNS
    assert f"harvestplan {words[0]} --all" in lines[-1]
    assert len(shown(*words, "--all").splitlines()) > 2 * LINES


def test_the_forecast_begins_with_what_comes_first() -> None:
    said = shown("forecast", "--as-of", "2027-05-01")
    assert said.index("asparagus") < said.index("strawberries") < said.index("tomatoes")


def test_no_hazard_of_every_kitchen_goes_unnamed() -> None:
    said = " ".join(shown("cautions").split())
    assert all(caution.hazard in said for caution in CAUTIONS)


def lines_of(entries: int, each: int) -> list[list[str]]:
    return [[f"entry {number}, line {line}" for line in range(each)] for number in range(entries)]


@pytest.mark.parametrize(("entries", "each"), [(0, 1), (23, 1), (24, 1), (200, 1), (9, 4), (3, 40)])
def test_a_screen_cuts_no_entry_in_two(entries: int, each: int) -> None:
    made = lines_of(entries, each)
    shown = screenful(made, "The rest stands elsewhere.", ["the end"])
    assert len(shown) <= LINES - 1 and shown[-2:].count("the end") == 1
    told = [line for line in shown if line.startswith("entry")]
    assert len(told) % each == 0
    assert told == [line for entry in made for line in entry][: len(told)]
    whole = len(told) == entries * each
    assert whole == ("The rest stands elsewhere." not in shown)
    assert whole or len(shown) > LINES - 3 - each  # as much as it holds


def test_no_line_breaks_inside_a_word() -> None:
    """A long path or address stays whole, to be copied."""
    words = "see " + "/somewhere/" + "long-name-" * 12 + " and more, non-stop, twenty-four hours"
    assert " ".join(line.strip() for line in wrapped(words)) == words
