"""The run sheet as a page: all of it readable without scripts, timers to the second, no outside."""

from __future__ import annotations

import re
from typing import Any

from outputs.paper.pages_read import Element, outside_references, read_page
from outputs.written_plans import make_library, make_plan, make_season, plan_data

from harvestplan.outputs.paper.runsheet import record_lines, runsheet_text, step_lines
from harvestplan.outputs.paper.runsheet_html import runsheet_html, sheet_lines, timer_seconds
from harvestplan.outputs.session_names import sheet_names


def sheet(number: int = 0, data: dict[str, Any] | None = None, **season: Any) -> bytes:
    session = make_plan(data=data).sessions[number]
    return runsheet_html(session, make_season(**season), make_library())


def steps(page: bytes) -> list[Element]:
    return [each for each in read_page(page).all("li") if "data-step" in each.attributes]


def without_script(page: bytes) -> str:
    return re.sub(rb"(?s)<script>.*</script>|<style>.*</style>", b"", page).decode()


def test_it_asks_nothing_of_the_outside_and_is_the_same_each_time() -> None:
    assert outside_references(sheet()) == [
        f"../book.html#s-{make_plan().sessions[0].uid}"
    ]  # beside it, in out/
    assert sheet() == sheet()


def test_every_step_is_there_without_scripts_clock_time_first() -> None:
    session, season, library = make_plan().sessions[0], make_season(), make_library()
    found = steps(sheet())
    told = step_lines(session, season, library)
    assert len(found) == len(told) == 10
    for step, (time, words, cautions) in zip(found, told, strict=True):
        assert step.text.startswith(time)
        assert words in step.text
        assert [each.text for each in step.all("span", "caution")] == [
            f"Take care: {caution}" for caution in cautions
        ]
        assert len([box for box in step.all("input") if box.attributes["type"] == "checkbox"]) == 1


def test_what_was_over_when_the_rest_was_laid_out_again_is_ticked() -> None:
    data = plan_data()
    session = data["sessions"][0]
    session["cut_at"] = sorted(task["end"] for task in session["tasks"])[3]
    page = sheet(data=data)
    ticked = [
        step.attributes["data-step"]
        for step in steps(page)
        if any("checked" in box.attributes for box in step.all("input"))
    ]
    text = runsheet_text(make_plan(data=data).sessions[0], make_season(), make_library())
    assert 0 < len(ticked) == text.count("[x]") < len(steps(page))
    (told,) = (line for line in text.splitlines() if line.startswith("Laid out again at"))
    assert told in read_page(page).text
    assert "checked" not in without_script(sheet()) and "Laid out" not in without_script(sheet())


def test_minutes_of_the_day_go_with_the_clock_times() -> None:
    lines = sheet_lines(make_plan().sessions[0], make_season(measures="metric"), make_library())
    for line in lines:
        assert line.time == f"{line.minute // 60:02d}:{line.minute % 60:02d}"


def test_timers_are_set_to_what_the_step_says() -> None:
    page = sheet()
    timers = {
        step.text.split()[2]: button
        for step in steps(page)
        for button in step.all("button", "timer")
    }
    assert {name: button.attributes["data-seconds"] for name, button in timers.items()} == {
        "Blanch": "180",
        "Cool": "180",
    }
    assert timers["Blanch"].text == "Start 3 min"
    assert all("hidden" in button.attributes for button in timers.values())
    roast = [b for step in steps(sheet(1)) for b in step.all("button") if "60" in str(b.attributes)]
    assert {button.attributes["data-seconds"] for button in roast} >= {"3600"}


def test_no_timer_for_what_is_too_short_or_unknown() -> None:
    data = plan_data()
    session = data["sessions"][0]
    told = (
        ("blanch", {}),
        ("roast", {"minutes": None}),
        ("cool", {"cool_s": 0}),
        ("cool", {"cool_s": 19}),
        ("cool", {"cool_s": 20}),
        ("simmer", {"minutes": 300}),
        ("chill", {"minutes": "ten"}),
        ("blanch", {"blanch_s": 90.4}),
        ("wash", {"minutes": 5}),
    )
    for task, (step, settings) in zip(session["tasks"], told, strict=False):
        task |= {"step": step, "settings": settings}
    tasks = make_plan(data=data).sessions[0].tasks
    assert [timer_seconds(task) for task in tasks[:9]] == [0, 0, 0, 0, 20, 0, 0, 90, 0]


def test_it_holds_what_the_evening_needs() -> None:
    text = read_page(sheet()).text
    for words in (
        "Thu 28 October 2027",
        "6:00 pm to 8:30 pm, 2 pairs of hands",
        "Raw food: 11 lb snap beans",
        "Pouches 8x10: 12, and a few spare",
        "snap beans, cut, 12 oz, 28 October 2027, best before August 2028 (12 pouches",
        "pump-down 25 s, seal 2.5 s",
        "If you must stop: leave whole what is whole",
        "We are 10 minutes late",
    ):
        assert words in text


def test_it_ends_with_the_lines_to_record() -> None:
    page = sheet(1)
    lines = [each.text for each in read_page(page).all("pre")]
    assert lines == [
        'harvestplan froze "broccoli, florets" 8 --on 2027-11-09',
        'harvestplan froze "winter squash, purée" 10 --on 2027-11-09',
        'harvestplan reading "winter squash, purée" 41 F --on 2027-11-09',  # it was chilled
    ]
    assert without_script(page).rindex("froze") > without_script(page).rindex("Where you may stop")


def test_a_first_sitting_has_nothing_to_record() -> None:
    data = plan_data()
    data["sessions"][0]["runs"][0] |= {"pouches": 0, "grams_packed": 0, "pouch": None}
    assert record_lines(make_plan(data=data).sessions[0]) == []
    assert "When all is done" not in read_page(sheet(0, data)).text


def test_a_name_cannot_leave_the_quotes_of_the_command() -> None:
    data = plan_data()
    data["sessions"][0]["runs"][0]["product"] = 'bean"; rm -rf $HOME `x` \\'
    ((_, command),) = record_lines(make_plan(data=data).sessions[0])
    assert command == 'harvestplan froze "bean; rm -rf HOME x " 12 --on 2027-10-28'


def test_names_are_text_and_nothing_else() -> None:
    nasty = "</script><script>alert(1)</script>\"'"
    data = plan_data()
    data["sessions"][0]["runs"][0] |= {"product": nasty, "crop": nasty}
    data["sessions"][0]["uid"] = nasty
    data["sessions"][0]["tasks"][4]["equipment"] = [nasty]
    page = sheet(0, data)
    assert len(read_page(page).all("script")) == 1
    assert page.count(b"<script") == page.count(b"</script>") == 1
    assert "alert" not in read_page(page).all("script")[0].text


def test_print_hides_what_was_done_on_the_screen_and_is_large() -> None:
    """16 pt is usual large print (Washington state large print guide, 2008)."""
    style = read_page(sheet()).all("style")[0].text
    printed = style.rsplit("@media print", 1)[1]
    assert "html { font-size: 16pt; }" in printed
    assert not re.search(r"font-size: 0?\.\d", printed)
    assert re.search(r"\.bar, \.timer, \.tablet, \.to-book, \.shifted \{ display: none", printed)
    assert "input:checked + .box::after { content: none; }" in printed
    assert 'input[checked] + .box::after { content: "\\2713"; }' in printed
    assert "text-decoration: none" in printed
    assert "@page { margin: 14mm; }" in printed and "size:" not in printed.replace("font-size:", "")


def test_targets_are_large_enough_for_wet_fingers() -> None:
    style = read_page(sheet()).all("style")[0].text
    assert "min-height: 64px; min-width: 64px" in style
    assert re.search(r"\.tick \{[^}]*width: 64px; height: 64px", style)


def test_the_script_keeps_start_times_and_survives_a_browser_without_storage() -> None:
    script = read_page(sheet()).all("script")[0].text
    assert "kept.started[key] = Date.now()" in script
    for call in re.finditer(r"localStorage", script):
        assert "try {" in script[max(0, call.start() - 60) : call.start()]
    assert "visibilitychange" in script and 'wakeLock.request("screen")' in script


def test_sheets_of_one_day_do_not_share_their_ticks() -> None:
    keys = {
        read_page(runsheet_html(session, make_season(), make_library()))
        .all("body")[0]
        .attributes["data-key"]
        for session in sheet_names(make_plan()).values()
    }
    assert len(keys) == 2
