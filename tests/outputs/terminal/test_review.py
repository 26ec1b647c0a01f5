"""Planned against real at the season's end, and sentences that follow from the figures."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import re
from pathlib import Path

import pytest

from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.new_season.starter import Answers, files_for
from harvestplan.outputs.terminal.review import Review, review_season
from harvestplan.outputs.terminal.review_text import review_json, review_short, review_text
from harvestplan.planning.look_back import days_seen, look_back, raw_put_by, written_out, yield_seen
from harvestplan.words import product_words

POUND = 453.59237
BEANS, TOMATO = "snap bean, cut", "tomato, purée"
AFTER = dt.date(2027, 12, 1)
DIARY = """\
2027-07-20 picked snap bean 4 lb
2027-07-27 picked snap bean 6 lb
2027-07-20 froze "snap bean, cut" 6 pouches of 12 oz, 2 failed seals, 95 minutes
2027-07-27 froze "snap bean, cut" 6 pouches of 12 oz, 2 failed seals, 95 minutes
2027-08-10 picked tomato 60 lb
2027-08-12 gave tomato 30 lb
2027-08-14 froze "tomato, purée" 10
2027-09-01 lost snap bean 1 lb
2027-10-01 ate "snap bean, cut" 3
2027-10-09 lost "snap bean, cut" 1
"""


def season_folder(path: Path, diary: str = DIARY, more: str = "") -> Path:
    path.mkdir(parents=True)
    for name, text in files_for(Answers.example(dt.date(2027, 1, 10))).items():
        (path / name).write_text(text, encoding="utf-8")
    with (path / "garden.toml").open("a", encoding="utf-8") as file:
        file.write(more)
    (path / "diary.txt").write_text(diary, encoding="utf-8")
    return path


def review(folder: Path, as_of: dt.date = AFTER) -> Review:
    return review_season(look_back(folder, as_of))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return season_folder(tmp_path_factory.mktemp("review") / "s")


def test_planned_is_the_forecast_of_the_first_day_and_real_the_diary(folder: Path) -> None:
    back = look_back(folder, AFTER)
    found = review_season(back)
    start = make_forecast(back.season, back.library, None, as_of=back.season.season.start)
    for planting, expected in zip(found.plantings, start.plantings, strict=True):
        assert planting.expected_first[1] == expected.first_pick_p50
        assert planting.expected_grams[1] == expected.total_g_p50
    bean, tomato = found.plantings
    assert (bean.first, tomato.first) == (dt.date(2027, 7, 20), dt.date(2027, 8, 10))
    assert bean.grams == pytest.approx(10 * POUND)
    beans = next(p for p in found.products if p.product == BEANS)
    assert (beans.wanted, beans.put_by, beans.eaten, beans.lost) == (20, 12, 3, 1)
    assert (beans.in_store, beans.failed, beans.minutes) == (8, 4, 190)
    assert beans.book_minutes is not None and 80 < beans.book_minutes < 190
    assert found.given == {"tomato": pytest.approx(30 * POUND)}
    assert found.lost == {"snap bean": pytest.approx(POUND)}


def test_what_follows_is_said_in_sentences(folder: Path) -> None:
    said = " ".join(review(folder).next_year)
    # Wanted 20, of which 8 are in store and 3 eaten.
    assert "9 portions of snap beans, cut are short" in said
    assert "as much" in said
    assert "Snap beans, cut takes you" in said and "from 2 evenings" in said
    # 4 of 26 seals; with the usual 5 in 100 that is 9 of 126, so 8 spares to a hundred.
    assert "4 seals of 26 failed, 15 in a hundred; 5 are usual. Buy 8 spare" in said
    assert "1 portion of snap beans, cut spoiled" in said
    assert "30 lb were given away or lost, and nothing you wanted is short" in said


def test_short_of_what_the_garden_gave_away_is_no_reason_to_sow_more(tmp_path: Path) -> None:
    diary = DIARY.replace('froze "tomato, purée" 10', 'froze "tomato, purée" 4')
    said = " ".join(review(season_folder(tmp_path / "s", diary)).next_year)
    assert "6 portions of tomato purée are short" in said
    assert "time or room lacked, not the garden" in said


def test_a_late_pick_is_told_with_the_days_to_reckon_with(tmp_path: Path) -> None:
    late = DIARY.replace("2027-07-20 picked", "2027-07-29 picked").replace(
        "2027-07-27 picked", "2027-08-05 picked"
    )
    folder = season_folder(tmp_path / "s", late)
    back = look_back(folder, AFTER)
    bean = back.plantings[0]
    # Sown on 15 May, first picked on 29 July.
    assert days_seen(bean) == 75
    said = " ".join(review_season(back).next_year)
    assert "Reckon with days_to_maturity = 75" in said
    a_year = dataclasses.replace(bean, first=dt.date(2027, 11, 1))
    assert days_seen(a_year) < 80  # a first pick in November was not the first


def test_unwritten_picks_are_not_taken_for_a_poor_harvest(tmp_path: Path) -> None:
    few = DIARY.replace("snap bean 4 lb", "snap bean 1 lb").replace(
        "snap bean 6 lb", "beans-x 1 lb"
    )
    few = "\n".join(line for line in few.splitlines() if "beans-x" not in line) + "\n"
    folder = season_folder(tmp_path / "s", few)
    back = look_back(folder, AFTER)
    assert raw_put_by(back, "snap bean") > 9 * POUND
    assert not written_out(back, "snap bean")
    said = " ".join(review_season(back).next_year)
    assert "write down every pick" in said
    assert "snap bean gave" not in said


def test_one_years_yield_moves_the_next_forecast_halfway(folder: Path) -> None:
    bean = look_back(folder, AFTER).plantings[0]
    expected = bean.expected.total_g_p50
    for picked, factor in ((0.81, 0.9), (1.21, 1.1), (1.0, 1.0), (0.01, 0.5**0.5), (9, 2**0.5)):
        year = dataclasses.replace(bean, picked=picked * expected)
        assert yield_seen(year) == pytest.approx(factor * expected)


def test_in_mid_season_it_says_so_and_judges_no_harvest(folder: Path) -> None:
    found = review(folder, dt.date(2027, 7, 21))
    assert not found.season_over
    assert found.plantings[1].first is None
    assert not any("gave" in said or "short" in said for said in found.next_year)
    text = review_text(found, "US")
    assert "so far" in text


def test_before_the_season_there_is_nothing_to_look_back_on(folder: Path) -> None:
    found = review(folder, dt.date(2027, 1, 2))
    assert "has not begun" in review_text(found, "US").splitlines()[0]


def test_an_empty_diary_is_no_news(tmp_path: Path) -> None:
    found = review(season_folder(tmp_path / "s", ""))
    assert found.next_year == ()
    assert "The diary is still empty" in review_text(found, "US")
    serviced = review(season_folder(tmp_path / "t", "2027-07-01 serviced sealer #a1f3\n"))
    assert "Nothing stands out" in review_text(serviced, "US")


def test_what_was_eaten_and_given_away_is_used(tmp_path: Path) -> None:
    """6 and 6 pouches put by, 3 eaten, 2 given away, 1 spoiled: 5 used, 6 left."""
    found = review(season_folder(tmp_path / "s", DIARY + f'2027-10-12 gave "{BEANS}" 2\n'))
    rows = [re.split(" {2,}", line) for line in review_text(found, "US").splitlines()]
    head = next(row for row in rows if row[0] == "Product")
    beans = dict(
        zip(head, next(row for row in rows if row[0] == product_words(BEANS)), strict=True)
    )
    assert (beans["Put by"], beans["Used"], beans["Left"]) == ("12", "5", "6")


def test_text_keeps_to_the_page_and_json_holds_the_same(folder: Path) -> None:
    found = review(folder)
    text = review_text(found, "US")
    assert max(map(len, text.splitlines())) <= 80
    assert "20 Jul" in text and "10 lb" in text
    data = json.loads(review_json(found))
    assert data["format"] == 1
    assert data["plantings"][0]["picked_grams"] == round(10 * POUND)
    assert data["products"][0]["failed_seals"] == 4
    assert data["next_year"] == list(found.next_year)
    assert data["evenings"] == {"planned": 0, "written": 0}


def test_a_screen_holds_the_short_review_and_what_to_do_comes_whole(folder: Path) -> None:
    found = review(folder)
    lines = review_short(found).splitlines()
    assert len(lines) <= 23 and max(map(len, lines)) < 80
    assert lines[-1] == "By planting and by product: harvestplan review --all"
    assert "Put by: 22 of 38 portions wanted." in lines
    assert "snap beans, cut 12 of 20" in " ".join(lines)
    many = dataclasses.replace(found, next_year=tuple(f"Sentence {n}. " * 9 for n in range(30)))
    said = review_short(many).splitlines()
    assert len(said) <= 23 and "There is more to learn." in said
    first, *_, last = [line for line in said if "Sentence" in line]
    assert first.startswith("- Sentence 0.") and last.endswith(".")


def test_a_review_of_nothing_is_short_as_well(folder: Path) -> None:
    none = dataclasses.replace(review(folder), products=(), plantings=(), next_year=())
    assert "Put by: 0 of 0 portions wanted." in review_short(none)
