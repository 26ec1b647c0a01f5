"""What is written again on its own, apart from a new plan: the book of a day, sheets of labels."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from harvestplan.disk import write_atomic
from harvestplan.foresight.worth_file import read_worth
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.outputs.paper.book import book_bytes
from harvestplan.outputs.paper.label_grids import (
    GridError,
    read_grid,
    read_shift,
    read_start,
    usual_grid,
)
from harvestplan.outputs.paper.labels import labels_html, make_labels, outlines_html, tally_html
from harvestplan.plan.file_names import BOOK, LABELS, must_be_folder
from harvestplan.plan.models import Plan
from harvestplan.words import day


@dataclass(frozen=True)
class Sheet:
    """What a person wants of the labels, as typed; `grid` None is the usual one, `day` None all."""

    grid: str | None = None
    start: int = 1
    shift: str = "0,0"
    test_page: bool = False
    day: dt.date | None = None


def write_book(plan: Plan, season: Season, library: Library, *, out: Path, today: dt.date) -> Path:
    """The book with the week from `today`; returns its path."""
    must_be_folder(out)
    path = out / BOOK
    write_atomic(path, book_bytes(plan, season, library, today=today, worths=read_worth(plan, out)))
    return path


def write_labels(plan: Plan, season: Season, library: Library, *, out: Path, sheet: Sheet) -> Path:
    """Sheets of labels, or a test page beside them; returns the path. The tally is written anew.

    Raises GridError where the sheet cannot be read or no pouch is packed on the day,
    FilesNeedMending where the folder of labels is a link or no folder.
    """
    measures = season.household.measures
    grid = usual_grid(measures) if sheet.grid is None else read_grid(sheet.grid, measures)
    empty = read_start(sheet.start, grid)
    shift = read_shift(sheet.shift, measures)
    labels = every = make_labels(plan, season, library)
    if sheet.day is not None:
        labels = [label for label in labels if label.date == sheet.day]
        if not labels:
            raise GridError(f"No pouch is packed on {day(sheet.day, year=True)}.")
    folder = out / LABELS
    must_be_folder(folder)
    folder.mkdir(exist_ok=True)
    name = "test-page" if sheet.test_page else sheet.day.isoformat() if sheet.day else "labels"
    path = folder / f"{name}.html"
    page = (
        outlines_html(grid, shift)
        if sheet.test_page
        else labels_html(labels, grid, empty, shift=shift)
    )
    write_atomic(path, page)
    write_atomic(folder / "tally.html", tally_html(every, plan, season))
    return path
