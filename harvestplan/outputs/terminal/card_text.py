"""The capacity card: what this kitchen takes on, to pin on the wall."""

from __future__ import annotations

import dataclasses
import json
import math

from harvestplan.inputs.crops import Library
from harvestplan.inputs.quantities import show
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.kitchen.freezing_capacity import freezing_limit
from harvestplan.kitchen.ice import freezing_load
from harvestplan.kitchen.water import boiling_point
from harvestplan.outputs.cautions import page_lines
from harvestplan.outputs.terminal.capacity import (
    CannotMake,
    Capacity,
    Limit,
    Potful,
    UsualWindow,
    VesselBatch,
    capacities,
    usual_window,
)
from harvestplan.outputs.terminal.pack_capacity import Pack
from harvestplan.outputs.text_page import wrapped
from harvestplan.words import (
    about,
    about_span,
    at_most,
    food_name,
    ice_mass,
    inches,
    joined,
    mass,
    packs,
    plural,
    span,
    temperature,
    volume,
)

NOTES = (
    "Amounts are raw food and at most: several foods in one evening share hands and pots.",
    "Hours in the freezer are computed for still air at 0 °F (-18 °C) and may be a third longer or "
    "shorter. Lay fresh packs flat in one layer: two on one another take more than twice as long, "
    "so stacking gains nothing. Stack them when they are hard.",
    "Ice counts a fifth for what melts on its own. What is cooled in tap water first takes a "
    "quarter of it.",
)


def card_text(
    season: Season,
    library: Library,
    every: bool = False,
    *,
    experience: Experience = NOTHING_YET,
) -> str:
    """The card of what the household wants, or with `every` of all products."""
    measures = season.household.measures
    rows = capacities(season, library, every, experience=experience)
    made = [row for row in rows if isinstance(row, Capacity)]
    lines = [*_head(season, usual_window(season)), ""]
    for row in made:
        lines += [*_row_lines(row, measures), ""]
    missing = [row for row in rows if isinstance(row, CannotMake)]
    if missing:
        lines.append("Not in this kitchen:")
        lines += [
            line
            for row in missing
            for line in _wrapped(f"{food_name(row.product)}: {row.why}.", "  ")
        ]
        lines.append("")
    if not rows:
        lines += ["There is no [[want]] yet. For every product: harvestplan card --all", ""]
    for note in (*NOTES, *page_lines("card", vacuum=season.machine is not None)):
        lines += _wrapped(note)
    return "\n".join(lines)


def card_json(
    season: Season,
    library: Library,
    every: bool = False,
    *,
    experience: Experience = NOTHING_YET,
) -> str:
    """The same figures in grams, millilitres, metres and seconds."""
    usual = usual_window(season)
    rows = capacities(season, library, every, experience=experience)
    data = {
        "boils_at_c": round(boiling_point(season.household.altitude), 1),
        "evening": {"seconds": usual.seconds, "hands": usual.hands},
        "products": [dataclasses.asdict(row) for row in rows if isinstance(row, Capacity)],
        "cannot_make": [dataclasses.asdict(row) for row in rows if isinstance(row, CannotMake)],
    }
    return json.dumps(data, indent=1)


def _head(season: Season, usual: UsualWindow) -> list[str]:
    household = season.household
    measures = household.measures
    boil = temperature(boiling_point(household.altitude), measures)
    altitude = household.altitude
    place = f"at {show(altitude, 'length', measures)}" if altitude else "at sea level"
    lines = [f"What the kitchen of {household.name} can do", ""]
    lines += _wrapped(
        f"An evening is {span(usual.seconds)} with {_cooks(usual.hands)} at work, "
        "setting up and cleaning up included. "
        f"Water boils at {boil} here, {place}."
    )
    for freezer in season.freezer:
        load = freezing_limit(freezer)
        lines += _wrapped(
            f"{freezer.name} freezes {at_most(load, measures)} in 24 hours"
            f"{_own_ice(load, measures)}."
        )
    return lines


def _cooks(number: int) -> str:
    return plural(number, "person", "people")


def _own_ice(load: int, measures: Measures) -> str:
    """What a freezer would make of ice on a day on which it freezes nothing else."""
    return f", or makes {at_most(load / freezing_load(1.0), measures)} of ice and nothing else"


def _row_lines(row: Capacity, measures: Measures) -> list[str]:
    lines = _wrapped(f"{food_name(row.product).upper()}, {mass(row.pack.portion, measures)} each")
    said = [_evening_words(row, measures), _hour_words(row, measures)]
    said += [_potful_words(potful, measures) for potful in row.potfuls]
    said += [_batch_words(batch, measures) for batch in row.batches]
    said += [_ice_words(row, measures), _drying_words(row), _tray_words(row)]
    said += [_pack_words(row.pack, measures)]
    return lines + [line for words in said if words for line in _wrapped(words, "  ")]


def evening_limit(row: Capacity, measures: Measures) -> str:
    """What limits an evening of this product."""
    if row.evening_pouches == 0 and row.evening_limit.kind == "time":
        return "the steps one after the other take longer than the evening"
    return _limit_words(row.evening_limit, measures)


def _evening_words(row: Capacity, measures: Measures) -> str:
    limit = evening_limit(row, measures)
    if row.evening_pouches == 0:
        return f"Evening: not one {row.pack.kind}; {limit}."
    pouches = packs(row.evening_pouches, row.pack.kind)
    return f"Evening: about {about(row.evening_grams, measures)} raw, {pouches}; {limit}."


def _hour_words(row: Capacity, measures: Measures) -> str:
    pace = {
        "hands": "as fast as the hands go",
        "machine": f"as fast as {row.hour_limit.name} goes",
    }[row.hour_limit.kind]
    return f"Hour of steady work: about {about(row.hour_grams, measures)} raw, {pace}."


def _limit_words(limit: Limit, measures: Measures) -> str:
    match limit.kind:
        case "hands":
            return "there are no more hands"
        case "machine":
            return f"{limit.name} is busy all the time"
        case "time":
            return "the steps one after the other fill the evening"
        case "freezer":
            return f"{limit.name} freezes {at_most(limit.grams, measures)} a day"
        case "trays":
            return f"no more lies flat on the trays of {limit.name}"
        case "space":
            return f"{limit.name} is full then"
        case _:
            return f"{limit.name} holds {at_most(limit.grams, measures)} of raw food at once"


def _potful_words(potful: Potful, measures: Measures) -> str:
    if potful.steam:
        words = (
            f"Over steam: {at_most(potful.grams, measures)} in one layer in the basket of "
            f"{potful.pot} ({volume(potful.water, measures)} of water below)"
        )
        return words + _blanch_words(potful, measures)
    back = about_span(potful.back)
    words = (
        f"Potful: {at_most(potful.grams, measures)} in {potful.pot} "
        f"({volume(potful.water, measures)} of water), back at the boil in {back}"
    )
    if potful.back > 60:
        small = at_most(potful.one_minute, measures)
        words += f"; {small} would be back within a minute, as handbooks want"
    return words + _blanch_words(potful, measures)


def _blanch_words(potful: Potful, measures: Measures) -> str:
    start = "when it boils again" if potful.clock == "return to boil" else "lid on"
    high = ", a minute for the altitude included" if potful.altitude_minute else ""
    what = "Steam" if potful.steam else "Blanch"
    words = f". {what} {span(potful.blanch)} from {start}{high}"
    if potful.cool:
        words += f"; cool {span(potful.cool)} in ice water"
    return words + (f" with {ice_mass(potful.ice, measures)} of ice." if potful.ice else ".")


def _batch_words(batch: VesselBatch, measures: Measures) -> str:
    ice = f" with {ice_mass(batch.ice, measures)} of ice" if batch.ice else ""
    return (
        f"{batch.step.capitalize()}: {at_most(batch.grams, measures)} at once in "
        f"{joined(batch.vessels)}, {span(60 * math.ceil(batch.seconds / 60))}{ice}."
    )


def _ice_words(row: Capacity, measures: Measures) -> str:
    if not row.ice:
        return ""
    return (
        f"Ice for such an evening: {ice_mass(row.ice, measures)}; made in your own freezer it "
        f"takes as long as {about(row.ice_load, measures)} of fresh food."
    )


def _drying_words(row: Capacity) -> str:
    if row.drying_hours is None:
        return ""
    return f"Drying: up to {row.drying_hours:g} h after the evening; packed on a later one."


def _tray_words(row: Capacity) -> str:
    if row.tray_hours is None:
        return ""
    return f"Trays: about {row.tray_hours:.0f} h until frozen; packed another time."


def _pack_words(pack: Pack, measures: Measures) -> str:
    metric = measures == "metric"
    thick = f"{pack.thickness * 100:.1f} cm" if metric else f"{pack.thickness / 0.0254:.1f} in"
    words = f"{pack.kind.capitalize()}: {pack.pouch}"
    words += "; " if pack.head_space is not None else f", {thick} thick; "
    if pack.machine is None:
        words += f"closed by hand, {span(round(pack.closing))} each"
    else:
        words += (
            f"{pack.machine.per_cycle} at a time, {span(round(pack.machine.cycle))} a cycle "
            f"(pump-down {span(pack.machine.pump_down)}, seal {span(pack.machine.seal)})"
        )
    if pack.head_space is not None:
        words += f"; {inches(pack.head_space * 1000, measures)} of head space"
    if pack.hours is not None:
        words += f"; hard in about {pack.hours:.0f} h"
    if pack.hours_stacked is not None:
        words += f", two stacked {pack.hours_stacked:.0f} h"
    return words + "."


def _wrapped(text: str, indent: str = "") -> list[str]:
    return wrapped(indent + text, hang=len(indent))
