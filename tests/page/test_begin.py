"""A season begun in the browser: nothing is lost, nothing need be known, everything can change."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from page.served import Page

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library

SPRING = dt.date(2027, 4, 20)


@pytest.fixture
def begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    (tmp_path / "seasons").mkdir()
    monkeypatch.setenv("HARVESTPLAN_SEASONS", str(tmp_path / "seasons"))
    return Page(None, tmp_path / "keeps", SPRING)


def _add(page: Page, number: int, **typed: str) -> int:
    form = next(
        f for f in page.get(f"/begin/{number}").forms()
        if f.action == f"/begin/{number}" and typed.keys() <= f.fields.keys() | {"what"}
    )  # fmt: skip
    return page.send(form, what="add", **typed).status


def test_without_a_season_every_page_leads_to_the_choice(begun: Page) -> None:
    for path in ("/", "/store", "/files", "/plan"):
        told = begun.get(path)
        assert told.status == 303 and told.headers["location"] == "/seasons"
    assert "Begin a season" in begun.get("/seasons").words


def test_answers_are_kept_before_the_next_and_by_the_next_server(
    begun: Page, tmp_path: Path
) -> None:
    form = begun.get("/begin/1").form("/begin/1")
    begun.send(form, name="Three Elms", zone="Wien oder so")
    later = Page(None, tmp_path / "keeps", SPRING)
    assert 'value="Three Elms"' in later.get("/begin/1").text
    assert "Go on with the season you began" in later.get("/seasons").words


def test_what_cannot_be_read_is_told_beside_its_question(begun: Page) -> None:
    told = begun.send(begun.get("/begin/2").form("/begin/2"), last_frost="31 Junember")
    assert told.status == 422
    assert told.text.split('aria-invalid="true"')[0].rsplit("<input", 1)[1].count("last_frost")
    assert begun.send(begun.get("/begin/2").form("/begin/2"), last_frost="10 May").status == 200


def test_who_knows_nothing_gets_what_is_assumed(begun: Page, tmp_path: Path) -> None:
    for number in range(1, 6):
        page = begun.get(f"/begin/{number}")
        assert "If you do not know" in page.words
        assert begun.send(page.form(f"/begin/{number}")).status == 200
    last = begun.get("/begin/8")
    told = begun.send(last.form("/begin/8"))
    assert told.status == 422 and "a plan would put nothing by" in told.words
    assert begun.send(begun.get("/begin/8").form("/begin/8"), sure="yes").status == 200
    folder = tmp_path / "seasons" / "Kitchen and store 2027"
    season = load_season(folder, load_library(folder)).season
    assert season.machine is None and not season.want
    assert any(path.name.startswith("Open the season") for path in folder.iterdir())


def test_foods_by_any_name_with_amounts_that_fit(begun: Page, tmp_path: Path) -> None:
    begun.send(begun.get("/begin/3").form("/begin/3"), eaters="3", toil="5")
    for crop, size in (("courgettes", "4 plants"), ("green beans", "30 ft"), ("peaches", "1 tree")):
        assert _add(begun, 6, crop=crop, size=size) == 200, crop
    assert _add(begun, 6, crop="grean bean", size="3 ft") == 422
    assert _add(begun, 6, crop="tomato", size="many") == 422
    page = begun.get("/begin/7")
    assert "summer squash" in page.words and "snap bean, cut" in page.words
    suggested = [f for f in page.forms() if f.fields.get("product", "").startswith("snap bean")]
    # 12 portions a head for three, and no more than 30 ft of beans give.
    assert 1 <= int(suggested[0].fields["portions"]) <= 36
    begun.send(suggested[0], what="add")
    begun.send(suggested[0], what="add")
    begun.send(begun.get("/begin/8").form("/begin/8"), folder="Our summer")
    folder = tmp_path / "seasons" / "Our summer"
    season = load_season(folder, load_library(folder)).season
    assert [w.product for w in season.want] == ["snap bean, cut"]
    assert len(season.planting) == 3 and season.season.evening_is_worth == 5.0


@pytest.mark.parametrize(
    "name", ["../x", "/tmp/x", "a/b", "..", ".hidden", "C:\\x", "x" * 70, "a\0"]
)
def test_a_folder_is_made_among_ones_own_files_alone(
    begun: Page, tmp_path: Path, name: str
) -> None:
    form = begun.get("/begin/8").form("/begin/8")
    assert begun.send(form, folder=name, sure="yes").status == 422
    assert not list((tmp_path / "seasons").iterdir())


def test_a_season_that_is_there_is_not_written_over(begun: Page, tmp_path: Path) -> None:
    begun.send(begun.get("/begin/8").form("/begin/8"), folder="Here", sure="yes")
    before = (tmp_path / "seasons" / "Here" / "garden.toml").read_bytes()
    told = begun.send(begun.get("/begin/8").form("/begin/8"), folder="Here", sure="yes")
    assert told.status == 422 and "this name already" in told.words
    assert (tmp_path / "seasons" / "Here" / "garden.toml").read_bytes() == before


def test_days_and_amounts_in_peoples_own_words(begun: Page, tmp_path: Path) -> None:
    begun.send(begun.get("/begin/1").form("/begin/1"), measures="metric", zone="Europe/Vienna")
    told = begun.send(
        begun.get("/begin/2").form("/begin/2"),
        altitude="410", last_frost="15. Mai", start="1 May", end="31.10.",
    )  # fmt: skip
    assert told.status == 200, told.words
    begun.send(begun.get("/begin/4").form("/begin/4"), pot="8,5", power="2000", sealer="none")
    assert "Understood: 8.5 L" in begun.get("/begin/4").words
    assert _add(begun, 6, crop="courgettes", size="4 plants", begun="24 May") == 200
    assert _add(begun, 7, product="tomato sauce", portions="4", portion="0,5 l") == 200
    assert begun.send(begun.get("/begin/8").form("/begin/8"), folder="Words").status == 200
    folder = tmp_path / "seasons" / "Words"
    season = load_season(folder, load_library(folder)).season
    assert season.season.start == dt.date(2027, 5, 1)
    assert season.season.end == dt.date(2027, 10, 31)
    assert season.household.altitude == 410
    assert (season.pot[0].volume, season.pot[0].power) == (8500, 2000)
    assert season.planting[0].sown == dt.date(2027, 5, 24) or (
        season.planting[0].set_out == dt.date(2027, 5, 24)
    )
    assert season.want[0].portion.value == 500


def test_a_country_with_several_zones_offers_them(begun: Page) -> None:
    form = begun.get("/begin/1").form("/begin/1")
    asked = begun.send(form, zone="Australia")
    assert asked.status == 422 and 'value="zone=Australia/Sydney"' in asked.text
    begun.send(asked.form("/begin/1"), meant="zone=Australia/Sydney")
    assert 'value="Australia/Sydney"' in begun.get("/begin/1").text


def test_an_amount_that_may_be_two_is_asked_about_with_both(begun: Page) -> None:
    begun.send(begun.get("/begin/1").form("/begin/1"), measures="metric")
    asked = begun.send(begun.get("/begin/4").form("/begin/4"), pot="12,500 ml", power="1800")
    assert asked.status == 422
    assert 'value="pot=12500 ml"' in asked.text and 'value="pot=12.500 ml"' in asked.text
    assert asked.text.count('type="radio"') == 2 and "checked" not in asked.text
    told = begun.send(asked.form("/begin/4"), meant="pot=12500 ml")
    assert told.status == 200
    assert "Understood: 12500 ml = 12.5 L" in begun.get("/begin/4").words
