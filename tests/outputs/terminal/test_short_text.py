"""What stands within a terminal's screen of 24 lines and 80 columns, of the demo household."""

from __future__ import annotations

import datetime as dt

import pytest
from outputs.written_plans import make_library, make_plan, make_season, plan_data
from places import DEMO
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.outputs.cautions import CAUTIONS
from harvestplan.outputs.terminal.plan_changes import session_changes
from harvestplan.outputs.terminal.plan_short import plan_short
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


LAST = "77 files are in out: book.html is the season as a book."


def test_a_new_plan_tells_what_changed_within_the_screen() -> None:
    """Every session a day later, one without its first food: the counts and the first moves."""
    library, before = make_library(), make_plan()
    data = plan_data()
    for session in data["sessions"]:
        for key in ("start", "end", "window_start", "window_end"):
            date = dt.datetime.fromisoformat(session[key]) + dt.timedelta(days=1)
            session[key] = date.isoformat()
    after = make_plan(data=data)
    said = plan_short(after, make_season(), library, earlier=before, last=LAST).splitlines()
    assert len(said) < LINES and max(map(len, said)) < COLUMNS
    assert "Against the plan before: kept 0, moved 2" in " ".join(said)
    assert said[-1] == LAST
    whole = session_changes(before, after, make_season().household.measures).counts()
    for more in range(20):  # however little room there is, no sentence ends in the middle
        besides = "\n".join(["It rains."] * more)
        shown = plan_short(
            after, make_season(), library, earlier=before, besides=besides, last=LAST
        )
        assert whole in " ".join(shown.split()) or "Against" not in shown
    same = plan_short(before, make_season(), library, earlier=before, last=LAST)
    assert "All sessions are as they were in the plan before." in same
    assert "Against" not in plan_short(before, make_season(), library, last=LAST)


def test_a_plan_of_nothing_says_so() -> None:
    empty = plan_data() | {"sessions": [], "wants": [], "warnings": [], "proof": None}
    said = plan_short(make_plan(data=empty), make_season(), make_library(), last=LAST)
    assert "Put by: 0 portions planned, of 0 wanted." in said
    assert "No session lies ahead." in said and "Falls short" not in said


def test_many_warnings_are_counted_and_told_as_far_as_there_is_room() -> None:
    notes = [{"code": "files", "message": f"Warning {n}. " + "words " * 30} for n in range(12)]
    data = plan_data() | {"warnings": notes}
    said = plan_short(make_plan(data=data), make_season(), make_library(), last=LAST).splitlines()
    assert len(said) < LINES
    assert "12 warnings, in full in the book and with --all." in said
    assert "This is not all." in said


def test_in_summer_it_tells_what_is_ripe_and_what_is_over() -> None:
    """A silent diary: nothing counts as late, and what is past makes room for what comes."""
    lines = shown("forecast", "--as-of", "2027-07-25").splitlines()
    assert len(lines) <= LINES - 1 and max(map(len, lines)) < COLUMNS
    ripe = next(line for line in lines if line.startswith("Ready by now: "))
    over = next(line for line in lines if line.startswith("  Over: "))
    assert "summer squash" in ripe and "asparagus" in over
    assert not any("asparagus" in line for line in lines if line != over)
