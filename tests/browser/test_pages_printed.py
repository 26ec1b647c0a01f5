"""Pages on paper: how many, nothing cut off, labels where the sheet has them, no trace of ticks."""

from __future__ import annotations

import datetime as dt
import io
import math
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from browser.saved_plan import demo_data, demo_folder

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.food_notes import best_on_label
from harvestplan.outputs.paper.label_grids import GRIDS, Grid
from harvestplan.outputs.paper.labels import labels_html, make_labels, outlines_html
from harvestplan.outputs.paper.printed import write_book
from harvestplan.plan.models import Plan
from harvestplan.words import day

Show = Callable[..., Any]
Pages = dict[str, Path]
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""mm, ISO 216 and ANSI Y14.1."""
MARGINS = {"book": 14.0, "sheet": 14.0, "tally": 12.0}
"""mm, as the pages' own style says."""
MOST_PAGES = {"book": 12, "sheet": 12, "tally": 4}
POINT = 25.4 / 72
"""mm."""


def printed(page: Any, **paper: Any) -> Any:
    """The page as it goes to the printer, read back."""
    pdfplumber = pytest.importorskip(
        "pdfplumber", reason="print-outs are read with pdfplumber, which is not installed"
    )
    return pdfplumber.open(io.BytesIO(page.pdf(prefer_css_page_size=True, **paper)))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", MARGINS)
def test_a_page_fits_its_paper(show: Show, pages: Pages, name: str, paper: str) -> None:
    sheets = printed(show(pages[name]), format=paper).pages
    assert 1 <= len(sheets) <= MOST_PAGES[name]
    width, height = PAPERS[paper]
    for sheet in sheets:
        # Chromium rounds A4 to whole pixels.
        assert float(sheet.width) * POINT == pytest.approx(width, abs=0.4)
        assert float(sheet.height) * POINT == pytest.approx(height, abs=0.4)
        words = sheet.extract_words()
        assert len(words) >= 5, "no sheet of paper is all but empty"
        left, right = min(w["x0"] for w in words), max(w["x1"] for w in words)
        assert left * POINT >= MARGINS[name] - 0.2
        assert right * POINT <= width - MARGINS[name] + 0.4


@pytest.mark.parametrize("paper", PAPERS)
def test_the_book_of_a_full_week_is_printed_on_twelve_pages_with_its_contents(
    show: Show, tmp_path: Path, paper: str
) -> None:
    library = load_library(demo_folder())
    season = load_season(demo_folder(), library).season
    plan = Plan.model_validate(demo_data())
    book = write_book(plan, season, library, out=tmp_path, today=dt.date(2027, 8, 15))
    sheets = printed(show(book), format=paper).pages
    assert len(sheets) <= MOST_PAGES["book"]
    for number, sheet in enumerate(sheets, 1):
        assert f"page {number} of {len(sheets)}" in sheet.extract_text()
    first = sheets[0].extract_text()
    assert "In this book: 1 This week 2 The season 3 Sessions" in first
    assert "153 days old" in first
    text = "\n".join(sheet.extract_text() for sheet in sheets)
    for session in plan.sessions:  # each timeline is on paper, with its times below
        assert day(session.start.date()) in text
    assert text.count("getting ready and clearing up") == len(plan.sessions)
    assert "The numbers" not in text


def test_the_run_sheet_is_printed_large(show: Show, pages: Pages) -> None:
    """16 pt is usual large print (Washington state large print guide, 2008)."""
    sizes = {
        round(char["size"], 1)
        for sheet in printed(show(pages["sheet"]), format="A4").pages
        for char in sheet.chars
        if char["text"].isalnum()
    }
    assert min(sizes) >= 15.9


def test_ticks_timers_and_lateness_do_not_print(show: Show, pages: Pages) -> None:
    page = show(pages["sheet"])
    page.emulate_media(media="print")
    before = page.screenshot(full_page=True)
    page.emulate_media(media="screen")
    for box in page.locator("label.tick").all()[:12]:
        box.click()
    page.locator("#late").click()
    page.locator(".timer").nth(0).click()
    assert page.locator(".shifted:visible").count() > 10
    page.locator("h1").click()
    page.emulate_media(media="print")
    assert page.screenshot(full_page=True) == before


def test_labels_lie_where_the_sheet_has_them(show: Show, pages: Pages) -> None:
    grid = GRIDS["letter-3x10"]
    library = load_library(demo_folder())
    season = load_season(demo_folder(), library).season
    labels = make_labels(Plan.model_validate(demo_data()), season, library)
    pouches = sum(run["pouches"] for s in demo_data()["sessions"] for run in s["runs"])
    assert len(labels) == pouches
    assert any(label.notes for label in labels)
    sheets = printed(show(pages["labels"])).pages
    assert len(sheets) == math.ceil(pouches / grid.per_sheet)
    inset = 2.2  # mm, the label's own padding
    drops = defaultdict(list)  # lines are closer where notes are, letters smaller in long names
    for number in range(pouches):
        sheet, place = divmod(number, grid.per_sheet)
        left, top = grid.place(place)
        lines = (
            sheets[sheet]
            .within_bbox(
                tuple(edge / POINT for edge in (left, top, left + grid.width, top + grid.height))
            )
            .extract_text_lines()
        )
        assert len(lines) == (5 if labels[number].notes else 4)
        assert all(abs(line["x0"] * POINT - left - inset) < 0.1 for line in lines)
        drops[bool(labels[number].notes), len(labels[number].food) > 14].append(
            lines[0]["top"] * POINT - top
        )
    for alike in drops.values():
        assert max(alike) - min(alike) < 0.1
        assert 1.4 <= min(alike) < 3


@pytest.mark.parametrize("grid", GRIDS.values(), ids=GRIDS)
def test_no_label_is_cut_off(show: Show, tmp_path: Path, grid: Grid) -> None:
    library = load_library(demo_folder())
    season = load_season(demo_folder(), library).season
    made = make_labels(Plan.model_validate(demo_data()), season, library)
    day = dt.date(2027, 5, 30)
    most = ("Contains shellfish, fish and milk", "Reheat to 165 °F (74 °C)")
    chilled = library.crops["shrimp"].products[0].model_copy(update={"storage": "fridge"})
    best = best_on_label(chilled, day, dt.timedelta(seconds=chilled.keeps.value))
    made.append(replace(made[0], date=day, frozen=False, best=best, notes=most))
    path = tmp_path / "labels.html"
    path.write_bytes(labels_html(made, grid))
    page = show(path, width=1280)
    cut = """[...document.querySelectorAll('.label, .label p, .label span')]
      .filter(each => each.scrollWidth > each.clientWidth + 1 && each.clientWidth
                   || each.scrollHeight > each.clientHeight + 1 && each.matches('.label'))
      .map(each => each.textContent)"""
    assert page.locator(".label").count() == len(made)
    assert page.evaluate(cut) == []


@pytest.mark.parametrize("grid", GRIDS.values(), ids=GRIDS)
def test_outlines_of_the_test_page_lie_within_a_tenth_of_a_millimetre(
    show: Show, tmp_path: Path, grid: Grid
) -> None:
    path = tmp_path / "test-page.html"
    shift = (1.5, -0.5)
    path.write_bytes(outlines_html(grid, shift))
    found = printed(show(path))
    assert len(found.pages) == 1
    sheet = found.pages[0]
    # Chromium rounds the paper, not what is on it, to whole pixels.
    assert float(sheet.width) * POINT == pytest.approx(grid.paper[0], abs=0.3)
    assert float(sheet.height) * POINT == pytest.approx(grid.paper[1], abs=0.3)
    outlines = [
        [shape[edge] * POINT for edge in ("x0", "top", "width", "height")]
        for shape in (*sheet.rects, *sheet.curves)
    ]
    for number in range(grid.per_sheet):
        left, top = grid.place(number)
        wanted = [left + shift[0], top + shift[1], grid.width, grid.height]
        assert any(found == pytest.approx(wanted, abs=0.1) for found in outlines), number
