"""Taps end in lines of the diary: once, told back, taken back, and not over another device's."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from page.served import SATURDAY, Page

from harvestplan.records.diary import read_diary
from harvestplan.records.events import Ate, Count, Froze, LabelsPrinted, Picked, PowerCut

CLOCK = re.compile(r"\b(\d{1,2}):(\d\d) (am|pm)")


def _minute(clock: tuple[str, str, str]) -> int:
    return int(clock[0]) % 12 * 60 + int(clock[1]) + 720 * (clock[2] == "pm")


def _lines(folder: Path) -> list[str]:
    path = folder / "diary.txt"
    return path.read_text(encoding="utf-8").splitlines() if path.exists() else []


def test_today_names_the_session_and_leads_to_its_sheet(page: Page) -> None:
    today = page.get("/")
    assert today.status == 200
    assert "Sat 28 August 2027" in today.words and "8:00 am to 12:26 pm" in today.words
    assert "Pick about 7 lb tomatoes" in today.words
    sheet = next(part for part in today.text.split('"') if part.startswith("/sheet/"))
    assert "Core and cut" in page.get(sheet).words


def test_what_was_eaten_is_a_line_and_is_told_back_with_a_way_back(
    page: Page, folder: Path
) -> None:
    form = page.get("/store").form("/store/gone", product="tomato, purée")
    told = page.send(form, verb="ate", portions="2")
    assert "Written down: ate &#34;tomato, purée&#34; 2 on Sat 28 August 2027" in told.words
    assert next(e for e in read_diary(folder).events if isinstance(e, Ate)).portions == 2
    back = page.send(told.form("/diary/back"))
    assert "Taken back." in back.words
    assert not read_diary(folder).events


def test_a_form_that_is_sent_twice_writes_one_line(page: Page, folder: Path) -> None:
    form = page.get("/store").form("/store/gone", product="tomato, purée")
    for _ in range(3):
        page.send(form, verb="ate", portions="1")
    assert len(_lines(folder)) == 1


def test_the_later_of_two_devices_is_told_and_asked(page: Page, folder: Path) -> None:
    first = page.get("/store").form("/store/count", product="tomato, purée")
    second = page.get("/store").form("/store/count", product="tomato, purée")
    page.send(first, counted="4")
    asked = page.send(second, counted="5")
    assert asked.status == 409 and "count &#34;tomato, purée&#34; 4" in asked.words
    assert len(_lines(folder)) == 1
    page.send(asked.form("/store/count"))
    counts = [e.portions for e in read_diary(folder).events if isinstance(e, Count)]
    assert counts == [4, 5]


def test_another_food_written_meanwhile_is_no_reason_to_ask(page: Page, folder: Path) -> None:
    first = page.get("/store").form("/store/gone", product="tomato, purée")
    second = page.get("/store").form("/store/gone", product="spinach, leaf")
    page.send(first, verb="ate", portions="1")
    assert page.send(second, verb="ate", portions="1").status == 200
    assert len(_lines(folder)) == 2


def test_what_is_no_number_is_told_at_its_field(page: Page, folder: Path) -> None:
    form = page.get("/store").form("/store/gone", product="tomato, purée")
    told = page.send(form, verb="ate", portions="two")
    assert told.status == 422
    assert told.text.count('aria-invalid="true"') == 1
    assert 'value="two"' in told.text
    assert not _lines(folder)


def test_a_power_cut_is_told_of_in_the_store(page: Page, folder: Path) -> None:
    form = page.get("/store").form("/store/power")
    told = page.send(form, what="cut", hours="30", door="opened")
    assert [e.hours for e in read_diary(folder).events if isinstance(e, PowerCut)] == [30.0]
    assert "power" in told.words


def test_all_is_lost_only_after_a_tick(page: Page, folder: Path) -> None:
    form = page.get("/store").form("/store/power")
    assert page.send(form, what="all").status == 422
    assert not _lines(folder)


def test_the_end_of_an_evening_is_one_tap(page: Page, folder: Path) -> None:
    uid = page.get("/").text.split("/sheet/")[1].split('"')[0]
    sheet = page.get(f"/sheet/{uid}")
    form = sheet.form(f"/sheet/{uid}/record")
    assert [v for k, v in form.fields.items() if k.startswith("pouches")] == ["2", "8", "7"]
    page.send(form, failed0="1", pouches1="4", read0="41 F")
    frozen = [e for e in read_diary(folder).events if isinstance(e, Froze)]
    assert [e.portions for e in frozen] == [2, 4, 7]
    assert frozen[0].failed == 1 and all(e.date == SATURDAY for e in frozen)
    again = page.send(form)
    assert again.status in (200, 409)
    assert len([e for e in read_diary(folder).events if isinstance(e, Froze)]) == 3


def test_ticks_and_timers_are_shared_and_survive_the_server(
    page: Page, folder: Path, tmp_path: Path
) -> None:
    uid = page.get("/").text.split("/sheet/")[1].split('"')[0]
    action = f"/sheet/{uid}/set"
    told = page.send(page.get(f"/sheet/{uid}").form(action), set="s0:1")
    assert 'id="s0" class="done"' in told.text
    other = Page(folder, tmp_path / "keeps")
    assert 'id="s0" class="done"' in other.get(f"/sheet/{uid}").text
    late = page.send(told.form(action), set="late:10")
    assert "8:20 am" in told.words and "8:20 am" not in late.words
    page.send(late.form(action), set="s0:0")
    assert 'id="s0" class="done"' not in page.get(f"/sheet/{uid}").text
    assert page.send(late.form(action), set="s0:9").status == 422


def test_a_pick_eight_days_after_sowing_is_asked_about_and_not_refused(
    working: Page, folder: Path
) -> None:
    page = working
    form = page.get("/garden").form("/garden/picked", planting="beans-2")
    doubt = page.send(form, amount="2", amount_unit="lb", on="2027-06-16")
    assert doubt.status == 409 and "Is it so all the same?" in doubt.words
    assert not _lines(folder)
    page.send(doubt.form("/garden/picked"))
    picks = [e for e in read_diary(folder).events if isinstance(e, Picked)]
    assert [(e.planting, e.date.isoformat()) for e in picks] == [("beans-2", "2027-06-16")]


def test_decimal_commas_are_as_good_as_points(page: Page, folder: Path) -> None:
    form = page.get("/garden").form("/garden/picked", planting="tomato")
    page.send(form, amount="2,5", amount_unit="lb")
    picks = [e for e in read_diary(folder).events if isinstance(e, Picked)]
    assert [round(e.amount.value) for e in picks] == [1134]  # 2.5 avoirdupois pounds in g


def test_a_choice_changes_no_other_field_than_one_that_was_sent(page: Page, folder: Path) -> None:
    form = page.get("/garden").form("/garden/picked", planting="beans-2")
    for meant in ("code=abcdefgh", "token=x", "sure=yes", "amount", "=3 lb"):
        sent = page.send(form, amount="2", amount_unit="lb", meant=meant)
        assert sent.status in (200, 409), meant
    assert len([e for e in read_diary(folder).events if isinstance(e, Picked)]) == 1


@pytest.mark.parametrize(
    ("planting", "amount", "unit", "grams"),
    [
        ("beans-2", "8,5", "oz", 8.5 * 28.349523125),
        ("beans-2", "half a pound", "kg", 226.8),
        ("beans-2", "2 1/2", "lb", 2.5 * 453.59237),
        ("corn-1", "a dozen ears", "lb", 12 * 265),
    ],
)
def test_amounts_in_peoples_own_words(
    page: Page, folder: Path, planting: str, amount: str, unit: str, grams: float
) -> None:
    form = page.get("/garden").form("/garden/picked", planting=planting)
    assert page.send(form, amount=amount, amount_unit=unit).status == 200
    (picked,) = (e for e in read_diary(folder).events if isinstance(e, Picked))
    assert picked.amount.value == pytest.approx(grams, rel=0.03)


def test_days_in_peoples_own_words(page: Page, folder: Path) -> None:
    form = page.get("/garden").form("/garden/picked", planting="beans-2")
    assert page.send(form, amount="2", amount_unit="lb", on="yesterday").status == 200
    (picked,) = (e for e in read_diary(folder).events if isinstance(e, Picked))
    assert picked.date == SATURDAY - dt.timedelta(days=1)
    asked = page.send(form, amount="2", amount_unit="lb", on="5/8")
    assert asked.status == 422 and asked.text.count('type="radio"') == 2


def test_labels_are_told_to_be_printed_by_a_tap(page: Page, folder: Path) -> None:
    more = page.get("/more")
    assert 'href="/labels/2027-08-28.html"' in more.text
    told = page.send(more.form("/more/printed", day="2027-08-28"))
    assert "Written down: printed labels 2027-08-28" in told.words
    assert [e.day for e in read_diary(folder).events if isinstance(e, LabelsPrinted)] == [SATURDAY]
    again = page.get("/more")
    assert "They are printed." in again.words
    assert 'name="day" value="2027-08-28"' not in again.text
