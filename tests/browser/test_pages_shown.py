"""Every page in a real browser: widths, light and dark, letters, labels, axe-core, no outside."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browser.measures import AXE, CHART_WORDS, FEWER, OPEN_ALL, OVERLAPS, SIDEWAYS, SMALL_TEXT
from browser.saved_plan import NASTY, big, demo_data, demo_folder, nasty, write_pages
from counted import counted

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.paper.book import book_bytes
from harvestplan.plan.models import Plan

Show = Callable[..., Any]
Pages = dict[str, Path]
PAGES = ("book", "sheet", "labels", "tally")
WIDTHS = (390, 768, 1280)
"""px: a phone, a tablet, a computer."""


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Pages:
    return write_pages(nasty(demo_data()), demo_folder(), tmp_path_factory.mktemp("hostile"))


@pytest.mark.parametrize("name", PAGES)
def test_no_page_scrolls_sideways_and_no_letter_is_small(
    show: Show, pages: Pages, name: str
) -> None:
    page = show(pages[name])
    page.evaluate(OPEN_ALL)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(SIDEWAYS) <= 0, width
        # WCAG names no least size; 12 px is common practice, no source.
        assert page.evaluate(SMALL_TEXT, 12) == [], width
        assert page.evaluate(OVERLAPS, CHART_WORDS) == [], width


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(show: Show, pages: Pages, name: str, scheme: str) -> None:
    axe = pytest.importorskip(
        "axe_playwright_python", reason="axe-core comes with axe-playwright-python, not installed"
    )
    page = show(pages[name], width=390 if scheme == "light" else 1280, scheme=scheme)
    page.evaluate(FEWER)
    page.evaluate(OPEN_ALL)
    page.add_script_tag(path=str(Path(axe.__file__).parent / "axe.min.js"))
    found = page.evaluate(AXE)
    assert found["wrong"] == []
    assert found["passed"] > 10


@pytest.mark.parametrize("name", PAGES)
def test_dark_is_dark_and_light_is_light(show: Show, pages: Pages, name: str) -> None:
    def brightness(scheme: str) -> int:
        """Sum of the background's red, green and blue."""
        colour = "getComputedStyle(document.body).backgroundColor.match(/[0-9]+/g).slice(0, 3)"
        return sum(map(int, show(pages[name], scheme=scheme).evaluate(colour)))

    assert brightness("light") > 700
    # Labels are a picture of white paper.
    assert brightness("dark") < 120 or name == "labels"


@pytest.mark.parametrize("name", PAGES)
def test_a_page_asks_for_nothing_but_itself(show: Show, pages: Pages, name: str) -> None:
    page = show(pages[name])
    page.wait_for_timeout(300)
    assert page.asked == [pages[name].as_uri()]
    assert page.said == []


@pytest.mark.parametrize("name", PAGES)
def test_all_is_there_without_scripts(show: Show, pages: Pages, name: str) -> None:
    words = {}
    for scripts in (True, False):
        page = show(pages[name], java_script_enabled=scripts)
        page.evaluate(OPEN_ALL)
        words[scripts] = page.inner_text("main").split()
        if not scripts:
            assert page.locator("button:visible").count() == 0
    assert len(words[False]) > 100
    # With scripts there are the timers' buttons as well.
    assert not set(words[False]) - set(words[True])


@pytest.mark.parametrize("name", PAGES)
def test_a_name_is_text_whatever_it_holds(show: Show, hostile: Pages, name: str) -> None:
    page = show(hostile[name], width=390)
    page.evaluate(OPEN_ALL)
    page.wait_for_timeout(100)
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0
    assert page.asked == [hostile[name].as_uri()]
    assert page.said == []
    text = page.inner_text("body")
    assert NASTY["tomato" if name == "sheet" else "snap bean"] in text
    assert "{{ 7 * 7 }}" in text or name in ("sheet", "labels")
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(SIDEWAYS) <= 0, width


def test_a_hostile_page_keeps_to_its_own_rules_for_reading(show: Show, hostile: Pages) -> None:
    axe = pytest.importorskip(
        "axe_playwright_python", reason="axe-core comes with axe-playwright-python, not installed"
    )
    page = show(hostile["book"], width=768)
    page.evaluate(FEWER)
    page.add_script_tag(path=str(Path(axe.__file__).parent / "axe.min.js"))
    assert page.evaluate(AXE)["wrong"] == []


def test_a_big_seasons_book_is_small_and_quick(show: Show, tmp_path: Path) -> None:
    plan = Plan.model_validate(big(demo_data()))
    assert len({lot.crop for lot in plan.lots}) >= 30
    assert len(plan.lots) >= 200
    assert len(plan.sessions) >= 40
    library = load_library(demo_folder())
    season = load_season(demo_folder(), library).season
    data, calls = counted(lambda: book_bytes(plan, season, library, today=plan.as_of))
    assert calls < 5_000_000  # 1.6 million were counted
    assert len(data) < 500_000
    path = tmp_path / "book.html"
    path.write_bytes(data)
    page = show(path, width=390)
    assert page.locator("article").count() == len(plan.sessions)
    assert page.evaluate(SIDEWAYS) <= 0
    assert page.evaluate(OVERLAPS, CHART_WORDS) == []
