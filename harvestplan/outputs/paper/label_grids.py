"""Sheets of labels: where each label lies, in mm from the top left corner of the paper."""

from __future__ import annotations

import re
from dataclasses import dataclass

from harvestplan.inputs.quantities import read_quantity, read_size
from harvestplan.inputs.season import Measures

A4, LETTER = (210.0, 297.0), (215.9, 279.4)
PAPERS = {"a4": A4, "letter": LETTER}
MOST = 20
"""Columns or rows a sheet may have."""


class GridError(ValueError):
    """A grid, start or shift that cannot be used; the message says how to write it."""


@dataclass(frozen=True)
class Grid:
    """All lengths in mm. `top` and `left` are the margins before the first label."""

    name: str
    paper: tuple[float, float]
    columns: int
    rows: int
    width: float
    height: float
    top: float
    left: float
    gap_across: float = 0.0
    gap_down: float = 0.0

    @property
    def per_sheet(self) -> int:
        return self.columns * self.rows

    def place(self, number: int) -> tuple[float, float]:
        """(left, top) in mm of the label `number` on its sheet, from 0 along the rows."""
        row, column = divmod(number, self.columns)
        left = self.left + column * (self.width + self.gap_across)
        return round(left, 3), round(self.top + row * (self.height + self.gap_down), 3)


# Common sheet sizes (from memory; the sums fill the sheet).
GRIDS = {
    grid.name: grid
    for grid in (
        Grid(
            "a4-3x7", A4, 3, rows=7, width=63.5, height=38.1, top=15.15, left=7.25, gap_across=2.5
        ),
        Grid(
            "a4-2x7", A4, 2, rows=7, width=99.1, height=38.1, top=15.15, left=4.65, gap_across=2.5
        ),
        Grid("a4-4x10", A4, 4, rows=10, width=48.5, height=25.4, top=21.5, left=8.0),
        # 2 5/8 x 1 in; margins 1/2 and 3/16 in; gap 1/8 in
        Grid(
            "letter-3x10",
            LETTER,
            3,
            rows=10,
            width=66.675,
            height=25.4,
            top=12.7,
            left=4.7625,
            gap_across=3.175,
        ),
    )
}

EXAMPLE = "2x5 of 90x50 mm, top 12 mm, left 10 mm, gap 3 mm, on a4"
_FREE = re.compile(r"(\d{1,2}) ?x ?(\d{1,2}) of (.+)", re.ASCII)


def usual_grid(measures: Measures) -> Grid:
    """The sheet sold most where these measures are used: Letter for US, A4 elsewhere."""
    return GRIDS["letter-3x10" if measures == "US" else "a4-3x7"]


def read_grid(text: str, measures: Measures) -> Grid:
    """A grid by its name, or columns, rows and lengths like `EXAMPLE` in any unit of length.

    `gap` may be two lengths, across and down; `on` is a4, letter or a size. Raises GridError.
    """
    wanted = " ".join(text.lower().split())
    if wanted in GRIDS:
        return GRIDS[wanted]
    first, *more = (part.strip() for part in wanted.split(","))
    found = _FREE.fullmatch(first)
    if found is None:
        names = ", ".join(GRIDS)
        raise GridError(
            f'I do not know the labels "{text}". There are {names}; or write "{EXAMPLE}".'
        )
    parts = dict(_part(part) for part in more)
    try:
        width, height = _two(found[3], measures)
        across, down = _two(parts.get("gap", "0 mm"), measures)
        top, left = (_mm(parts.get(key, "0 mm"), measures) for key in ("top", "left"))
        paper = parts.get("on", "letter" if measures == "US" else "a4")
        size = PAPERS.get(paper) or _two(paper, measures)
    except ValueError as error:
        raise GridError(f'{error} The whole looks like "{EXAMPLE}".') from None
    grid = Grid(
        "own",
        size,
        int(found[1]),
        rows=int(found[2]),
        width=width,
        height=height,
        top=top,
        left=left,
        gap_across=across,
        gap_down=down,
    )
    return _fitting(grid)


def read_start(start: int, grid: Grid) -> int:
    """Places to leave empty for a part-used sheet whose first free label is `start`."""
    if not 1 <= start <= grid.per_sheet:
        raise GridError(f"The labels of this sheet count from 1 to {grid.per_sheet}.")
    return start - 1


def read_shift(text: str, measures: Measures) -> tuple[float, float]:
    """Mm to the right and down, of text like "1.5 mm,-0.5 mm". Raises GridError."""
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 2 or not all(parts):
        raise GridError('Write the shift to the right and down, like "1.5 mm,-0.5 mm".')
    right, down = (_signed(part, measures) for part in parts)
    if max(abs(right), abs(down)) > 20:
        raise GridError("A shift of more than 20 mm is no matter of the printer; measure again.")
    return right, down


def _signed(text: str, measures: Measures) -> float:
    sign = -1 if text[0] in "-−" else 1
    bare = text.lstrip("+-− ")
    if re.fullmatch(r"0*\.?0*", bare):
        return 0.0
    try:
        return sign * _mm(bare, measures)
    except ValueError as error:
        raise GridError(str(error)) from None


def _part(text: str) -> tuple[str, str]:
    key, _, value = text.partition(" ")
    if key not in ("top", "left", "gap", "on") or not value:
        raise GridError(f'I cannot read "{text}" in the labels. Write them like "{EXAMPLE}".')
    return key, value.strip()


def _mm(text: str, measures: Measures) -> float:
    return round(1000 * read_quantity(text, "length", measures).value, 3)


def _two(text: str, measures: Measures) -> tuple[float, float]:
    """Two lengths; a single one stands for the first, with 0 for the second."""
    if "x" not in text:
        return _mm(text, measures), 0.0
    sides = read_size(text, measures)
    return round(1000 * sides[0], 3), round(1000 * sides[1], 3)


def _fitting(grid: Grid) -> Grid:
    """The grid, where its labels lie on the paper and can hold text."""
    if not (1 <= grid.columns <= MOST and 1 <= grid.rows <= MOST):
        raise GridError(f"A sheet has 1 to {MOST} labels across and 1 to {MOST} down.")
    if grid.width < 25 or grid.height < 15:
        raise GridError("A label needs 25 mm across and 15 mm down for its text.")
    left, top = grid.place(grid.per_sheet - 1)
    if left + grid.width > grid.paper[0] + 0.5 or top + grid.height > grid.paper[1] + 0.5:
        raise GridError(
            f"These labels reach {left + grid.width:g} mm across and {top + grid.height:g} mm "
            f"down; the paper is {grid.paper[0]:g} by {grid.paper[1]:g} mm."
        )
    return grid
