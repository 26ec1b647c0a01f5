"""The forecast, the kitchen's card and the cautions within one screen; `--all` has the rest."""

from __future__ import annotations

from collections.abc import Sequence

from harvestplan.forecast.season_forecast import Forecast, PlantingForecast
from harvestplan.inputs.crops import Library
from harvestplan.inputs.dates import say
from harvestplan.inputs.ids import called
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.outputs.terminal.capacity import CannotMake, Capacity, capacities, usual_window
from harvestplan.outputs.terminal.card_text import evening_limit
from harvestplan.outputs.terminal.cautions_text import rows
from harvestplan.outputs.terminal.forecast_text import News
from harvestplan.outputs.text_page import SCREEN, wrapped
from harvestplan.words import (
    about,
    crop_many,
    food_name,
    joined,
    mass,
    one_line,
    packs,
    plural,
    span,
)

WIDE, MOST = 79, 12
"""Characters of a line, and lines of a list."""
AROUND = 8
"""Lines around the list of first picks: its title, what comes later or no more, the last line."""


def forecast_short(forecast: Forecast, season: Season, news: News | None = None) -> str:
    """The next first picks, one a line, what is being picked, and what must be planned again
    for."""
    measures = season.household.measures
    lines = [f"The season as it looks on {say(forecast.as_of)}."]
    if not forecast.plantings:
        return lines[0] + " Nothing is planted: add a [[planting]] to garden.toml."
    if news is not None and news.alerts:
        lines += ["", f"Plan again: {plural(len(news.alerts), 'food')} no longer "
                  f"{'comes' if len(news.alerts) == 1 else 'come'} when planned."]  # fmt: skip
        lines += [_row(alert) for alert in news.alerts[:3]]
    borne = sorted(
        (each for each in forecast.plantings if each.picks),
        key=lambda each: (each.first_pick_p50, each.planting_id),
    )
    over = [each for each in borne if max(pick.date for pick in each.picks) < forecast.as_of]
    now = [each for each in borne if each.first_pick_p50 < forecast.as_of and each not in over]
    coming = [each for each in borne if each not in (*over, *now)]
    if now:
        lines += ["", *wrapped(f"Ready by now: {_crops(now)}.", hang=2)]
    most = min(MOST, SCREEN - len(lines) - AROUND)
    if coming:
        lines += ["", "First picks, likely on:", ""]
        lines += [_coming(each, measures) for each in coming[:most]]
    told = {
        "Later": coming[most:],
        "Over": over,
        "Nothing to pick": [each for each in forecast.plantings if not each.picks],
    }
    lines += [_row(f"{title}: {_crops(each)}") for title, each in told.items() if each]
    return "\n".join([*lines, "", "Reasons, and week by week: harvestplan forecast --all"])


def _crops(plantings: Sequence[PlantingForecast]) -> str:
    return joined(list(dict.fromkeys(crop_many(each.crop) for each in plantings)))


def _coming(planting: PlantingForecast, measures: Measures) -> str:
    name, own = crop_many(planting.crop), called(planting.planting_id, planting.crop)
    name += "" if own == planting.crop else f" ({own})"
    early, late = planting.first_pick_p10, planting.first_pick_p90
    between = "" if early == late else f" ({say(early)} to {say(late)})"
    amount = about(planting.total_g_p50, measures)
    return _row(f"{say(planting.first_pick_p50)}{between}: {name}, {amount} in all")


def _row(text: str) -> str:
    return "  " + one_line(text, WIDE - 2)


def card_short(season: Season, library: Library, *, experience: Experience = NOTHING_YET) -> str:
    """What an evening takes of each wanted food, one a line, and what limits it."""
    measures, usual = season.household.measures, usual_window(season)
    found = capacities(season, library, False, experience=experience)
    made = [row for row in found if isinstance(row, Capacity)]
    people = plural(usual.hands, "person", "people")
    head = (
        f"What the kitchen of {season.household.name} takes in an evening of {span(usual.seconds)} "
        f"with {people}:"
    )
    lines = [*wrapped(head), ""]
    lines += [_evening(row, measures) for row in made[:MOST]]
    if len(made) > MOST:
        lines.append(f"  and {len(made) - MOST} more")
    missing = [food_name(row.product) for row in found if isinstance(row, CannotMake)]
    if missing:
        lines += ["", one_line(f"Not in this kitchen: {joined(missing)}.", WIDE)]
    if not made and not missing:
        lines.append("There is no [[want]] yet.")
    packed = "Vacuum packs" if season.machine else "Bags and boxes"
    where = f"{packed} of moist food go into the freezer or the refrigerator, never on a shelf."
    rest = "Potfuls, ice, times and every product: harvestplan card --all"
    return "\n".join([*lines, "", *wrapped(f"{where} {rest}", hang=0)])


def _evening(row: Capacity, measures: Measures) -> str:
    if not row.evening_pouches:
        return _row(f"{food_name(row.product)}: none; {evening_limit(row, measures)}")
    made = f"{packs(row.evening_pouches, row.pack.kind)} of {mass(row.pack.portion, measures)}"
    raw = about(row.evening_grams, measures)
    return _row(f"{food_name(row.product)}: {made} from {raw}; {evening_limit(row, measures)}")


def cautions_short(library: Library, names: Sequence[str] | None = None) -> str:
    """Every hazard by its name, those of all kitchens first; the page has what to do."""
    found = rows(library, names)
    of = {
        group: list(dict.fromkeys(row.hazard for row in found if row.group == group))
        for group in ("always", "food", "refused")
    }
    lines = ["What to take care of; sheets, labels and the book say it where it counts.", ""]
    lines += wrapped(f"In every kitchen: {'; '.join(of['always'])}.")
    told = f"{plural(len(of['food']), 'caution')} of single foods"
    lines += ["", *wrapped(f"Besides {told}; {plural(len(of['refused']), 'thing')} that nobody "
                           "should make are refused by name.")]  # fmt: skip
    lines += ["", "Your local food-safety authority, and the manual of your own equipment, have",
              "the last word. What to do, and the sources: harvestplan cautions --all"]  # fmt: skip
    return "\n".join(lines)
