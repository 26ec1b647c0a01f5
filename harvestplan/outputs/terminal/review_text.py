"""The review of a season for people and for other programs."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Sequence
from typing import Any

from harvestplan.inputs.dates import MONTHS
from harvestplan.inputs.ids import called
from harvestplan.inputs.season import Measures
from harvestplan.outputs.terminal.review import PlantingReview, ProductReview, Review
from harvestplan.outputs.text_page import columns, screenful, wrapped
from harvestplan.words import day, food_name, mass, one_line, plural

NO_NEWS = "Nothing stands out: do it again."
LESS = 300
"""Letters in which a screen tells what came short."""
NOTHING_WRITTEN = (
    "The diary is still empty: write down what you pick and freeze, and there is something to "
    "learn from."
)


def review_text(review: Review, measures: Measures) -> str:
    """Tables of the plantings and the products, and what to do otherwise next year."""
    lines = [_head(review), ""]
    lines += wrapped(
        "Expected is the forecast as it stood on the season's first day; what came is by the "
        "diary. Min. are minutes of hand work where you wrote them down, beside the book's.",
        hang=0,
    )
    lines += ["", *columns(list(_planting_rows(review.plantings, measures)))]
    lines += ["", *columns(list(_product_rows(review.products)))]
    lines += [
        f"{name.capitalize()}: {what}, {mass(grams, measures)}."
        for name, foods in (("given away fresh", review.given), ("lost fresh", review.lost))
        for what, grams in foods.items()
    ]
    if review.evenings_planned:
        lines += ["", *wrapped(_evenings(review), hang=0)]
    lines += ["", "For next year:", ""]
    said = review.next_year or (NO_NEWS if review.written else NOTHING_WRITTEN,)
    for sentence in said:
        lines += wrapped(f"- {sentence}")
    lines += ["", "A new folder with all of it: harvestplan new NEXT --from THIS"]
    return "\n".join(lines)


def review_short(review: Review) -> str:
    """What was put by, what fell short, and what to do otherwise next year, within a screen."""
    put, wanted = sum(p.put_by for p in review.products), sum(p.wanted for p in review.products)
    entries = [[_head(review), ""]]
    entries.append(wrapped(f"Put by: {put} of {plural(wanted, 'portion')} wanted.", hang=0))
    less = [p for p in review.products if p.put_by < p.wanted]
    less.sort(key=lambda p: (p.put_by - p.wanted, p.product))
    told = [f"{food_name(p.product)} {p.put_by} of {p.wanted}" for p in less]
    if told and review.begun:
        entries.append(wrapped(one_line(f"Less than wanted: {'; '.join(told)}.", LESS)))
    failed = sum(p.failed for p in review.products)
    if failed:
        entries.append([f"{plural(failed, 'seal')} failed."])
    if review.evenings_planned:
        entries.append(wrapped(_evenings(review), hang=0))
    said = review.next_year or (NO_NEWS if review.written else NOTHING_WRITTEN,)
    entries.append(["", "For next year:"])
    entries += [wrapped(f"- {sentence}") for sentence in said]
    last = ["", "By planting and by product: harvestplan review --all"]
    return "\n".join(screenful(entries, "There is more to learn.", last))


def _head(review: Review) -> str:
    today = day(review.as_of, year=True)
    if not review.begun:
        return f"On {today} the season has not begun yet."
    return f"The season{'' if review.season_over else ', so far'}, looked back on from {today}."


def _evenings(review: Review) -> str:
    told = review.evenings_written or "none"
    return (
        f"{plural(review.evenings_planned, 'evening')} planned until now; the diary tells of "
        f"{told} of them what was frozen."
    )


def _planting_rows(
    plantings: Sequence[PlantingReview], measures: Measures
) -> Iterator[tuple[str, ...]]:
    yield "Planting", "First pick expected", "was", "Expected", "Picked"
    for p in plantings:
        low, _, high = p.expected_first
        span = _date(low) if low == high else f"{_date(low)} to {_date(high)}"
        picked = "-" if p.grams is None else mass(p.grams, measures)
        yield (
            called(p.planting, p.crop),
            span,
            _date(p.first) if p.first else "-",
            mass(p.expected_grams[1], measures),
            picked if p.over or p.grams is None else f"{picked} so far",
        )


def _product_rows(products: Sequence[ProductReview]) -> Iterator[tuple[str, ...]]:
    yield "Product", "Wanted", "Put by", "Used", "Left", "Failed", "Min.", "Book"
    for p in products:
        yield (
            food_name(p.product),
            str(p.wanted),
            str(p.put_by),
            str(p.eaten + p.given),
            str(p.in_store),
            str(p.failed) if p.failed else "-",
            "-" if p.minutes is None else f"{p.minutes:.0f}",
            "-" if p.book_minutes is None else f"{p.book_minutes:.0f}",
        )


def _date(date: dt.date) -> str:
    return f"{date.day} {MONTHS[date.month - 1][:3]}"


def review_json(review: Review) -> str:
    """The same as JSON: grams, minutes, ISO dates; three figures are P10, P50 and P90."""
    told: dict[str, Any] = {
        "format": 1,
        "as_of": review.as_of.isoformat(),
        "season_over": review.season_over,
        "plantings": [_planting(p) for p in review.plantings],
        "products": [_product(p) for p in review.products],
        "given_grams": {crop: round(grams) for crop, grams in review.given.items()},
        "lost_grams": {crop: round(grams) for crop, grams in review.lost.items()},
        "evenings": {"planned": review.evenings_planned, "written": review.evenings_written},
        "next_year": list(review.next_year),
    }
    return json.dumps(told, ensure_ascii=False, indent=1)


def _planting(p: PlantingReview) -> dict[str, Any]:
    return {
        "planting": p.planting,
        "crop": p.crop,
        "expected_first_pick": [date.isoformat() for date in p.expected_first],
        "first_pick": p.first.isoformat() if p.first else None,
        "expected_grams": [round(grams) for grams in p.expected_grams],
        "picked_grams": None if p.grams is None else round(p.grams),
        "over": p.over,
    }


def _product(p: ProductReview) -> dict[str, Any]:
    pace = p.pace
    return {
        "product": p.product,
        "wanted": p.wanted,
        "planned": p.planned,
        "put_by": p.put_by,
        "eaten": p.eaten,
        "given": p.given,
        "lost": p.lost,
        "in_store": p.in_store,
        "failed_seals": p.failed,
        "minutes": p.minutes,
        "book_minutes": None if p.book_minutes is None else round(p.book_minutes, 1),
        "pace": None
        if pace is None
        else {
            "factor": pace.factor,
            "median": pace.median,
            "evenings": pace.evenings,
            "steps": {step: own.factor for step, own in pace.steps.items()},
        },
    }
