"""The other way round: from what is wanted to how much must be sown."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from harvestplan.forecast.amounts import (
    OWN_FACTOR,
    YieldSpread,
    in_units,
    season_yield,
    yield_basis,
)
from harvestplan.forecast.season_forecast import Forecast
from harvestplan.inputs.crops import Crop, Library, Product
from harvestplan.inputs.season import Fresh, Planting, Season, Stored, Want

Measure = Literal["plant", "row", "area"]

SURE = 0.8
"""How sure the last of the figures is."""

_SURE_STEP = NormalDist().inv_cdf(SURE) / NormalDist().inv_cdf(0.9)


@dataclass(frozen=True)
class Need:
    """How much of a crop must grow for what is wanted of it.

    `grams` of raw food in all: `put_by` grams for the portions in `wants` (product, portions not
    yet stored) and the rest eaten fresh, `per_week` grams for `weeks`. `low`, `likely` and `high`
    are the plants, metres of row or m² that do in a good (P90), middling and poor (P10) year;
    `sure` does in eight years of ten. `planted` is what the season file has but for what `failed`,
    in the same measure, and `planted_grams` what is likely of it. `basis` names the yield used.
    """

    crop: str
    grams: float
    put_by: float
    wants: tuple[tuple[str, int], ...]
    per_week: float
    weeks: int
    measure: Measure
    low: float
    likely: float
    high: float
    sure: float
    planted: float
    planted_grams: float
    failed: float
    basis: str


def needs_for_wants(season: Season, library: Library, forecast: Forecast) -> tuple[Need, ...]:
    """What each crop that is wanted and can be grown needs, by crop.

    Portions become raw grams by the product's density (for a volume) and by what its preparation
    leaves; portions that lie in the store already are taken off. What is eaten fresh counts for
    the weeks in which the forecast has picks, or as long as the crop bears where none is planted.
    The yield is the household's own where a planting gives it, else the crop file's. Raises
    FilesNeedMending for a crop without a usable yield.
    """
    found: dict[str, list[tuple[Product, Want]]] = {}
    for want in season.want:
        pair = library.find_product(want.product)
        if pair is not None and pair[0].kind == "grown":
            found.setdefault(pair[0].name, []).append((pair[1], want))
    fresh = {_own_name(library, line): line for line in season.fresh}
    names = sorted({*found, *(name for name in fresh if library.crops[name].kind == "grown")})
    return tuple(
        _need(
            library.crops[name],
            found.get(name, []),
            fresh.get(name),
            season=season,
            library=library,
            forecast=forecast,
        )
        for name in names
    )


def raw_grams(product: Product, portions: float, portion_g: float) -> float:
    """Raw food for so many packed portions."""
    return portions * portion_g / product.packed_share


def _need(
    crop: Crop,
    wants: Sequence[tuple[Product, Want]],
    fresh: Fresh | None,
    *,
    season: Season,
    library: Library,
    forecast: Forecast,
) -> Need:
    lacking = [
        (product, want, _lacking(want, product, season.stored, library=library))
        for product, want in wants
    ]
    put_by = sum(
        raw_grams(product, portions, want.portion.grams(product.density.value))
        for product, want, portions in lacking
    )
    per_week = 0.0 if fresh is None else fresh.per_week
    weeks = 0 if fresh is None else _bearing_weeks(crop, forecast)
    grams = put_by + per_week * weeks
    pairs = zip(season.planting, forecast.plantings, strict=True)
    grown = [(p, found) for p, found in pairs if library.find_crop(p.crop) == crop]
    lives = [p for p, found in grown if not found.failed]
    dead = [p for p, found in grown if found.failed]
    measure = _measure(crop, [*lives, *dead])
    per_unit, basis = _yield_per_unit(crop, [*lives, *dead], measure, library=library)
    sure = per_unit.p50 * (per_unit.p10 / per_unit.p50) ** _SURE_STEP
    return Need(
        crop.name,
        grams,
        put_by,
        wants=tuple((f"{crop.name}, {product.form}", round(n)) for product, _, n in lacking),
        per_week=per_week,
        weeks=weeks,
        measure=measure,
        low=grams / per_unit.p90,
        likely=grams / per_unit.p50,
        high=grams / per_unit.p10,
        sure=grams / sure,
        planted=sum(_units(planting, crop, measure) for planting in lives),
        planted_grams=sum(season_yield(planting, crop).p50 for planting in lives),
        failed=sum(_units(planting, crop, measure) for planting in dead),
        basis=basis,
    )


def _own_name(library: Library, line: Fresh) -> str:
    crop = library.find_crop(line.crop)
    return line.crop if crop is None else crop.name


def _lacking(want: Want, product: Product, stored: Iterable[Stored], *, library: Library) -> float:
    """Portions, of the wanted size, that are not in the store yet."""
    wanted = library.find_product(want.product)
    there = sum(
        line.portions * line.portion.grams(product.density.value)
        for line in stored
        if library.find_product(line.product) == wanted
    )
    return max(want.portions - there / want.portion.grams(product.density.value), 0.0)


def _bearing_weeks(crop: Crop, forecast: Forecast) -> int:
    mondays = {
        pick.date - dt.timedelta(days=pick.date.weekday())
        for planting in forecast.plantings
        if planting.crop == crop.name
        for pick in planting.picks
    }
    assert crop.picking is not None  # a grown crop has a picking
    return len(mondays) or len(crop.picking.weekly.value)


def _measure(crop: Crop, grown: Sequence[Planting]) -> Measure:
    """How the household measures the crop, else how its crop file does."""
    if grown:
        first = grown[0]
        return "plant" if first.plants else "row" if first.row else "area"
    yields = crop.yields
    assert yields is not None  # a grown crop has yields
    return "plant" if yields.per_plant else "row" if yields.per_row else "area"


def _yield_per_unit(
    crop: Crop, grown: Sequence[Planting], measure: Measure, *, library: Library
) -> tuple[YieldSpread, str]:
    """Grams a season from a plant, metre of row or m²."""
    own = [p for p in grown if p.yield_ is not None and _units(p, crop, measure) > 0]
    if own:
        each = sum(p.yield_ or 0.0 for p in own) / sum(_units(p, crop, measure) for p in own)
        return YieldSpread(each / OWN_FACTOR, each, each * OWN_FACTOR), "your own yield"
    unit = Planting.model_construct(
        crop=crop.name,
        plants=1 if measure == "plant" else None,
        row=1.0 if measure == "row" else None,
        area=1.0 if measure == "area" else None,
    )
    source = yield_basis(unit, crop)[0].source
    named = library.sources.get(source)
    return season_yield(unit, crop), source if named is None else named.title


def _units(planting: Planting, crop: Crop, measure: Measure) -> float:
    """The planting in the measure; 0 where the crop file has no spacing to reckon with."""
    yields = crop.yields
    apart = None if yields is None or yields.spacing is None else yields.spacing.value
    rows = None if yields is None or yields.row_spacing is None else yields.row_spacing.value
    return in_units(planting, apart, rows)[measure] or 0.0
