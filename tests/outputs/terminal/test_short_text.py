"""What stands within a terminal's screen of 24 lines and 80 columns, of the demo household."""

from __future__ import annotations

import pytest
from places import DEMO
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.outputs.cautions import CAUTIONS

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
