"""What falls short and what would help, in the book's words, with where the page does it."""

from __future__ import annotations

import json
from pathlib import Path

from page.served import SATURDAY, Answer, Page

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.paper.printed import write_book
from harvestplan.outputs.remedy_words import remedy_lines
from harvestplan.plan.file import published_plan

REMEDIES = [
    {
        "change": "one more evening in the week of 6 September",
        "brings": [{"product": "apple, sauce", "portions": 5}],
        "worth": 4.5,
        "kind": "evening",
        "start": "2027-09-09T17:30:00-06:00",
        "end": "2027-09-09T20:45:00-06:00",
    },
    {
        "change": "30 minutes more on Tuesdays",
        "brings": [
            {"product": "kale, leaf", "portions": 3},
            {"product": "apple, sauce", "portions": -1},
        ],
        "worth": 2.0,
        "kind": "longer",
    },
    {
        "change": "1.8 cu ft more of chest",
        "brings": [{"product": "kale, leaf", "portions": 1}],
        "worth": 1.0,
        "kind": "room",
    },
]


def _helped(folder: Path) -> list[str]:
    """Puts the remedies into the written plan; its sentences on them."""
    path = folder / "out" / "plan.json"
    data = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps(data | {"remedies": REMEDIES}), encoding="utf-8")
    plan = published_plan(folder)
    assert plan is not None
    return remedy_lines(plan)


def _links(told: Answer, words: str) -> list[str]:
    """Where the links of this name lead."""
    parts = [part for part in told.text.split("<a ")[1:] if f">{words}</a>" in part]
    return [part.split('href="')[1].split('"')[0].replace("&amp;", "&") for part in parts]


def test_plan_and_season_tell_it_in_the_words_of_the_book(
    page: Page, folder: Path, tmp_path: Path
) -> None:
    lines = _helped(folder)
    plan, library = published_plan(folder), load_library(folder)
    assert plan is not None and len(lines) == 3
    season = load_season(folder, library).season
    written = write_book(plan, season, library, out=tmp_path, today=SATURDAY)
    book = Answer(200, {}, written.read_bytes())
    for path in ("/plan", "/season"):
        told = page.get(path)
        assert "What would help" in told.words and "What would help" in book.words
        for line in lines:
            assert line in told.words and line in book.words


def test_what_the_page_can_do_is_a_link_to_where_it_is_done(page: Page, folder: Path) -> None:
    _helped(folder)
    told = page.get("/plan")
    [evening] = _links(told, "Add this evening")
    [hours] = _links(told, "Change the hours")
    assert hours == "/files#window" and 'id="window"' in page.get("/files").text
    form = page.get(evening.partition("#")[0]).form("/season/evening")
    assert (form.fields["on"], form.fields["start"], form.fields["end"]) == (
        "2027-09-09", "17:30", "20:45",
    )  # fmt: skip
    page.send(form)
    extra = load_season(folder, load_library(folder)).season.extra_window[-1]
    assert (extra.date.isoformat(), f"{extra.start:%H:%M}") == ("2027-09-09", "17:30")


def test_a_link_that_names_no_evening_is_as_if_it_named_none(page: Page) -> None:
    usual = page.get("/season").form("/season/evening").fields["on"]
    for asked in ("on=<b>&start=1&end=2", "on=2027-02-30&start=18:00&end=20:00", "on=2027-09-09"):
        assert page.get(f"/season?{asked}").form("/season/evening").fields["on"] == usual
