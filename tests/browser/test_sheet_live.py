"""The run sheet in use: timers, lateness, ticks and the screen, from a file and after a reload."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browser.saved_plan import demo_data, demo_folder, write_pages

Show = Callable[..., Any]
Pages = dict[str, Path]
NOON = dt.datetime(2027, 8, 21, 8, 0)


@pytest.fixture
def sheet(show: Show, pages: Pages) -> Any:
    return show(pages["sheet"])


def times(page: Any) -> list[str]:
    """The clock time that each step shows."""
    return [each.inner_text().strip() for each in page.locator("[data-step] .time").all()]


def minutes(words: str) -> int:
    clock, _, half = words.partition(" ")
    hour, minute = map(int, clock.split(":"))
    return 60 * (hour % 12 + (12 if half == "pm" else 0)) + minute


def stop_the_clock(page: Any) -> None:
    """From now on time goes on only when a test says so, however slow the machine is."""
    page.clock.install(time=NOON)
    page.clock.pause_at(NOON + dt.timedelta(seconds=1))
    page.reload()


def test_every_step_of_the_plan_is_there_in_order(sheet: Any) -> None:
    session = next(s for s in demo_data()["sessions"] if s["start"].startswith("2027-08-21"))
    tasks = sorted(session["tasks"], key=lambda task: (task["start"], task["end"], task["id"]))
    starts = [dt.datetime.fromisoformat(task["start"]) for task in tasks]
    assert [minutes(time) for time in times(sheet)] == [60 * s.hour + s.minute for s in starts]
    cycles = sum(task["settings"].get("cycles", 0) for task in tasks)
    assert cycles > 5
    told = [text for text in sheet.locator(".words").all_inner_texts() if text.startswith("Seal")]
    assert sum(int(text.partition(" cycle")[0].split()[-1]) for text in told) == cycles


def test_a_timer_counts_down_and_outlives_a_reload(sheet: Any) -> None:
    stop_the_clock(sheet)
    timer = sheet.locator(".timer[data-seconds='240']").first
    assert timer.inner_text() == "Start 4 min"
    timer.click()
    sheet.clock.fast_forward("01:00")
    assert timer.inner_text().startswith("3:00")
    sheet.reload()
    sheet.clock.fast_forward("00:30")
    assert timer.inner_text().startswith("2:30")
    sheet.clock.fast_forward("02:45")
    assert timer.inner_text().startswith("Over 0:15")
    assert "Time is up: Blanch" in sheet.locator("#said").inner_text()
    timer.click()
    sheet.reload()
    assert timer.inner_text() == "Start 4 min"


def test_two_timers_run_side_by_side(sheet: Any) -> None:
    stop_the_clock(sheet)
    first, second = (sheet.locator(".timer").nth(n) for n in (0, 1))
    first.click()
    sheet.clock.fast_forward("00:10")
    second.click()
    sheet.clock.fast_forward("00:10")
    lengths = [int(each.get_attribute("data-seconds")) for each in (first, second)]
    shown = [each.inner_text().partition(",")[0].split(":") for each in (first, second)]
    left = [60 * int(m) + int(s) for m, s in shown]
    assert left == [lengths[0] - 20, lengths[1] - 10]


def test_ten_minutes_late_moves_what_is_not_ticked(sheet: Any) -> None:
    planned = [minutes(time) for time in times(sheet)]
    boxes = sheet.locator("[data-step] label.tick")
    for number in range(3):
        boxes.nth(number).click()
    sheet.locator("#late").click()
    late = [*planned[:3], *(minute + 10 for minute in planned[3:])]
    assert [minutes(time) for time in times(sheet)] == late
    sheet.reload()
    assert [minutes(time) for time in times(sheet)] == late
    assert sheet.locator("input:checked").count() == 3
    assert sheet.locator("[aria-current=step]").get_attribute("data-step") == "3"
    sheet.locator("#back").click()
    assert [minutes(time) for time in times(sheet)] == planned
    assert sheet.locator("#back").is_disabled()


def test_it_works_where_nothing_can_be_kept(show: Show, pages: Pages) -> None:
    page = show(pages["sheet"])
    page.add_init_script(
        "Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } })"
    )
    page.reload()
    page.locator("#late").click()
    page.locator(".timer").first.click()
    page.locator("[data-step] label.tick").first.click()
    assert page.locator(".running").count() == 1
    assert page.said == []


def test_the_screen_stays_on_or_the_page_says_why_not(sheet: Any) -> None:
    sheet.locator("#awake").click()
    sheet.wait_for_function("document.getElementById('said').textContent !== ''")
    assert "screen" in sheet.locator("#said").inner_text()


def test_it_asks_the_device_to_stay_awake_again_after_a_reload(show: Show, pages: Pages) -> None:
    page = show(pages["sheet"])
    page.add_init_script(
        "window.locks = 0; Object.defineProperty(navigator, 'wakeLock', "
        "{ value: { request: async () => { window.locks += 1; return {}; } } })"
    )
    page.reload()
    page.locator("#awake").click()
    page.wait_for_function("window.locks == 1")
    assert "stays on" in page.locator("#said").inner_text()
    page.reload()
    page.wait_for_function("window.locks == 1")


def test_what_is_touched_is_large_at_any_width(sheet: Any) -> None:
    """64 px is about 17 mm; WCAG 2.2 asks for 24 px, and for 44 px at level AAA."""
    for width in (390, 768, 1280):
        sheet.set_viewport_size({"width": width, "height": 900})
        for target in sheet.locator("button:visible, label.tick").all()[:40]:
            box = target.bounding_box()
            assert box["width"] >= 63.9 and box["height"] >= 63.9


def test_it_can_be_worked_with_the_keyboard_alone(sheet: Any) -> None:
    sheet.locator("#late").focus()
    sheet.keyboard.press("Enter")
    assert sheet.locator(".shifted:visible").count() > 10
    sheet.locator("[data-step] input").first.focus()
    sheet.keyboard.press("Space")
    assert sheet.locator("input:checked").count() == 1


def test_it_ends_with_what_to_record(sheet: Any) -> None:
    session = next(s for s in demo_data()["sessions"] if s["start"].startswith("2027-08-21"))
    wanted = [
        f'harvestplan froze "{run["product"]}" {run["pouches"]} --on 2027-08-21'
        for run in session["runs"]
    ]
    chilled = {task["run"] for task in session["tasks"] if task["step"] == "chill"}
    wanted += [
        f'harvestplan reading "{run["product"]}" 41 F --on 2027-08-21'
        for run in session["runs"]
        if run["id"] in chilled
    ]
    assert sheet.locator("pre").all_inner_texts() == wanted
    last = sheet.locator("main section h2").last
    assert last.inner_text() == "When all is done"


def test_a_sheet_laid_out_again_begins_with_what_was_over_ticked(
    show: Show, tmp_path: Path
) -> None:
    data = demo_data()
    session = next(s for s in data["sessions"] if s["start"].startswith("2027-08-21"))
    ends = sorted((task["end"] for task in session["tasks"]), key=dt.datetime.fromisoformat)
    session["cut_at"] = ends[4]
    over = sum(end <= ends[4] for end in ends)
    page = show(write_pages(data, demo_folder(), tmp_path / "out")["sheet"])
    boxes = page.locator("[data-step] input")
    ticked = [box.is_checked() for box in boxes.all()]
    assert 5 <= sum(ticked) == over < len(ticked)
    first = ticked.index(True)
    page.locator("[data-step] .tick").nth(first).click()  # it was not over after all
    page.reload()
    assert not boxes.nth(first).is_checked()
    assert sum(box.is_checked() for box in boxes.all()) == over - 1
