"""Labels: one for each pouch, a list for those who write by hand, a tally for the freezer door."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.kitchen.best_before import keeps_for
from harvestplan.outputs.as_asked import packed_words
from harvestplan.outputs.food_notes import best_on_label, full_date, label_notes
from harvestplan.outputs.paper.label_grids import Grid
from harvestplan.outputs.paper.pages import page_bytes
from harvestplan.outputs.session_names import sheet_names
from harvestplan.plan.models import Plan, Run, Session
from harvestplan.words import day, food_name, one_line, plural

SMALL = 30.0
"""mm: lower labels get smaller letters."""
Where = Literal["there", "labelled", "to-come"]
"""Whether a pouch is in the store, or to be packed, with its label printed or without."""


@dataclass(frozen=True)
class Label:
    """What stands on a pouch; `code` is short and its own, like "SB-07"."""

    code: str
    product: str
    amount: str
    date: dt.date
    frozen: bool
    best: str
    best_by: dt.date | None
    notes: tuple[str, ...] = ()
    """Allergens, and what is to be done for safety before it is eaten."""
    sheet: str = ""
    """The session's run sheet without ending; its labels are printed under the same name."""
    done: bool = False
    """Whether its session is over: the pouch lies in store."""
    printed: bool = False
    """Whether the household says that the labels of its day are printed."""

    @property
    def food(self) -> str:
        return self.product.partition(",")[0]

    @property
    def form(self) -> str:
        return self.product.partition(",")[2].strip()

    @property
    def dated(self) -> str:
        return f"{'Frozen' if self.frozen else 'Packed'} {full_date(self.date)}"

    @property
    def line(self) -> str:
        """The whole label on one line."""
        parts = [self.code, self.product, self.amount, self.dated, self.best, *self.notes]
        return "; ".join(part for part in parts if part)


@dataclass(frozen=True)
class Placed:
    """A label with its place on the sheet in mm."""

    left: float
    top: float
    label: Label


@dataclass(frozen=True)
class Tally:
    """A food's boxes on the tally sheet: (code, where its pouch is)."""

    product: str
    boxes: tuple[tuple[str, Where], ...]
    note: str


def make_labels(plan: Plan, season: Season, library: Library) -> list[Label]:
    """One label for each pouch of the plan, by date and run.

    Amounts are the portion's; the last pouch of a run holds what is left. Pouches of a product
    count from 1 over the season: those in store and those whose labels are printed as they came to
    be so, so that no number changes that is on paper; then those to come, by date.
    """
    codes = product_codes(plan, season)
    sheets = sheet_names(plan)
    printed = {each.day: each.told_on for each in plan.printed}
    made: Counter[str] = Counter()
    labels = []
    for sheet in sorted(sheets, key=lambda sheet: _fixed(sheets[sheet], printed)):
        session = sheets[sheet]
        date = session.start.date()
        for run in session.runs:
            found = library.find_product(run.product)
            pouch = next((each for each in season.pouch if each.name == run.pouch), None)
            keeps = keeps_for(found[1], library, pouch) if found else None
            for grams in _pouch_grams(run):
                name = food_name(run.product)
                made[name] += 1
                labels.append(
                    Label(
                        code=f"{codes[name]}-{made[name]:02d}",
                        product=name,
                        amount=packed_words(run.product, grams, season, library),
                        date=date,
                        frozen=found is None or found[1].storage == "freezer",
                        best=best_on_label(found[1], date, keeps) if found and keeps else "",
                        best_by=date + keeps if keeps else None,
                        notes=tuple(label_notes(*found)) if found else (),
                        sheet=sheet.removesuffix(".txt"),
                        done=session.status == "done",
                        printed=date in printed,
                    )
                )
    order = {sheet.removesuffix(".txt"): n for n, sheet in enumerate(sheets)}
    return sorted(labels, key=lambda label: order[label.sheet])


def _fixed(session: Session, printed: Mapping[dt.date, dt.date]) -> tuple[dt.date, dt.datetime]:
    """Since when the numbers of a session's pouches stand on paper, and its start."""
    day = session.start.date()
    since = [printed[day]] if day in printed else []
    since += [day] if session.status == "done" else []
    return min(since, default=dt.date.max), session.start


def _pouch_grams(run: Run) -> Iterator[int]:
    """Grams in each pouch of a run; the last may be part-full."""
    for number in range(run.pouches):
        left = run.grams_packed - number * run.portion_grams
        yield left if number == run.pouches - 1 and left > 0 else run.portion_grams


def product_codes(plan: Plan, season: Season) -> dict[str, str]:
    """Two or three letters for each product, by its name to people: wanted ones first, in the order
    they are written.

    A later product never changes the code of an earlier one.
    """
    wanted = [want.product for want in season.want] + [want.product for want in plan.wants]
    made = [run.product for session in sheet_names(plan).values() for run in session.runs]
    stored = [stored.product for stored in season.stored]
    codes: dict[str, str] = {}
    for name in map(one_line, (*wanted, *stored, *made)):
        if name not in codes:
            taken = set(codes.values())
            codes[name] = next(code for code in _candidates(name) if code not in taken)
    return {food_name(name): code for name, code in codes.items()}


def _candidates(name: str) -> Iterator[str]:
    """Initials first, then letters of the form, then numbers."""
    food, _, form = name.partition(",")
    words = ["".join(filter(str.isalpha, word)).upper() for word in food.replace("-", " ").split()]
    words = [word for word in words if word] or ["X"]
    initials = "".join(word[0] for word in words)[:2]
    first = initials if len(initials) == 2 else (words[0] + "X")[:2]
    yield first
    letters = [letter for letter in form.upper() if letter.isalpha()]
    yield from (first + letter for letter in letters)
    yield from (words[0][0] + letter for letter in words[0][1:])
    yield from (f"{first}{number}" for number in range(2, 10_000))


def by_session(labels: Iterable[Label]) -> dict[str, list[Label]]:
    """The labels of each session by the name of its run sheet: what is printed on its day has its
    date, wherever the session moved before."""
    found: dict[str, list[Label]] = {}
    for label in labels:
        found.setdefault(label.sheet, []).append(label)
    return found


def labels_html(
    labels: list[Label], grid: Grid, empty: int = 0, *, shift: tuple[float, float] = (0.0, 0.0)
) -> bytes:
    """Sheets of labels at their places in mm, for printing at 100 %.

    `empty` places of the first sheet stay blank, all is moved by `shift` (right, down) in mm.
    """
    dates = sorted({label.date for label in labels})
    return page_bytes(
        "labels.html.j2",
        sheets=_sheets(labels, grid, empty),
        grid=grid,
        shift=shift,
        small=grid.height < SMALL,
        low=_low(grid),
        count=len(labels),
        days=[day(date, year=True) for date in dates],
        printed_with="" if len(dates) != 1 else f"harvestplan printed labels {dates[0]}",
    )


def outlines_html(grid: Grid, shift: tuple[float, float] = (0.0, 0.0)) -> bytes:
    """The outlines of a sheet, moved by `shift` (right, down) in mm, and rulers of 100 mm."""
    right, down = shift
    places = [grid.place(number) for number in range(grid.per_sheet)]
    wide, high = grid.paper
    rulers = [
        ("across", round(wide / 2 - 50, 3), round(high / 2, 3), 100, 7),
        ("down", round(wide * 0.12, 3), round(high / 2 - 50, 3), 7, 100),
    ]
    return page_bytes(
        "test_page.html.j2",
        grid=grid,
        low=_low(grid),
        rulers=rulers,
        places=[(round(left + right, 3), round(top + down, 3)) for left, top in places],
    )


def _low(grid: Grid) -> float:
    """A hair lower than the paper, or rounding would add an empty page after each."""
    return round(grid.paper[1] - 0.1, 3)


def _sheets(labels: list[Label], grid: Grid, empty: int) -> list[list[Placed]]:
    sheets: list[list[Placed]] = []
    for number, label in enumerate(labels, start=empty):
        sheet, place = divmod(number, grid.per_sheet)
        if sheet == len(sheets):
            sheets.append([])
        sheets[-1].append(Placed(*grid.place(place), label))
    return sheets


def bags_text(labels: list[Label], season: Season) -> str:
    """What to write on each bag or box with a pen, by session."""
    lines = ["Write this on the bags, while they are flat, dry and empty."]
    if any(pouch.kind == "box" for pouch in season.pouch):
        lines = [
            "Write this on the bags, while they are flat, dry and empty, and on the boxes while "
            "they are dry: on tape that holds in the cold."
        ]
    date = None
    for label in labels:
        if label.date != date:
            date = label.date
            lines += ["", day(date, year=True)]
        lines.append(f"[{'x' if label.done or label.printed else ' '}] {label.line}")
    return "\n".join(lines if labels else ["Nothing to be packed is planned."]) + "\n"


def tally_html(labels: list[Label], plan: Plan, season: Season) -> bytes:
    """A sheet for the freezer door: a box for each pouch by food, what is there already first.

    Where any labels are told to be printed, boxes show which; and days ahead of which labels are
    printed, though nothing is packed on them any more, are named.
    """
    packed = {label.date for label in labels}
    ahead = [each.day for each in plan.printed if each.day >= plan.as_of]
    codes = product_codes(plan, season)
    names = dict.fromkeys(
        [*(food_name(s.product) for s in season.stored), *(label.product for label in labels)]
    )
    rows = [_tally(name, codes[name], labels, season=season) for name in names]
    return page_bytes(
        "tally.html.j2",
        name=one_line(plan.season.name),
        made=day(plan.as_of, year=True),
        rows=rows,
        told=bool(plan.printed),
        stray=[day(date) for date in ahead if date not in packed],
        one="pouch" if season.machine else "pack",
    )


def _tally(name: str, code: str, labels: list[Label], *, season: Season) -> Tally:
    old = sum(s.portions for s in season.stored if food_name(s.product) == name)
    mine = [label for label in labels if label.product == name]
    boxes: list[tuple[str, Where]] = [("old", "there")] * old
    boxes += [(label.code.removeprefix(code + "-"), _where(label)) for label in mine]
    first = min((label for label in mine if label.best_by), key=_best_by, default=None)
    count = len(boxes)
    note = plural(count, "pouch", "pouches") if season.machine else plural(count, "pack")
    note += f", first {first.best[0].lower()}{first.best[1:]}" if first else ""
    return Tally(f"{name} ({code})", tuple(boxes), note)


def _where(label: Label) -> Where:
    return "there" if label.done else "labelled" if label.printed else "to-come"


def _best_by(label: Label) -> dt.date:
    return label.best_by or dt.date.max
