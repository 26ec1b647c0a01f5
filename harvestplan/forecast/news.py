"""What changed between two forecasts, in sentences for a gardener."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from harvestplan.forecast.season_forecast import Forecast, PlantingForecast
from harvestplan.inputs.dates import say
from harvestplan.inputs.ids import called
from harvestplan.inputs.quantities import show

DAYS_WORTH_SAYING = 2
"""A first pick that moves by fewer days is not news; own judgement."""

SHARE_WORTH_SAYING = 0.1
"""A total that changes by a smaller share is not news; own judgement."""

DAYS_TO_ALERT = 4
"""An interval that moves by more days upsets what was planned on it; own judgement."""


def describe_change(old: Forecast, new: Forecast, measures: str = "metric") -> tuple[str, ...]:
    """One sentence for each planting that is new, gone, moved by 2 days or more, or whose likely
    total changed by a tenth or more, with the reason; in the order of the new forecast."""
    before = {planting.planting_id: planting for planting in old.plantings}
    after = {planting.planting_id for planting in new.plantings}
    lines = [_change(before.get(p.planting_id), p, measures) for p in new.plantings]
    gone = [f"{_name(p)}: no longer planted." for p in old.plantings if p.planting_id not in after]
    return tuple([line for line in lines if line] + gone)


def alerts(old: Forecast, new: Forecast) -> tuple[str, ...]:
    """One sentence for each planting whose first pick moved so far that plans must follow.

    That is where the middle of the 80 % interval moved by more than 4 days, or the interval no
    longer touches the week (Monday to Sunday) in which the first pick was expected.
    """
    before = {planting.planting_id: planting for planting in old.plantings}
    return tuple(
        line
        for planting in new.plantings
        if planting.planting_id in before
        for line in _alert(before[planting.planting_id], planting)
    )


def _change(old: PlantingForecast | None, new: PlantingForecast, measures: str) -> str:
    first = say(new.first_pick_p50)
    if old is None:
        return f"{_name(new)}: new, first pick about {first}."
    parts = []
    days = (new.first_pick_p50 - old.first_pick_p50).days
    if abs(days) >= DAYS_WORTH_SAYING and new.picks:
        side = "later" if days > 0 else "earlier"
        parts.append(f"first pick about {first}, {abs(days)} days {side} than forecast before")
    was, now = old.total_g_p50, new.total_g_p50
    if abs(now - was) >= SHARE_WORTH_SAYING * max(was, 1.0):
        now_words, was_words = (show(grams, "mass", measures) for grams in (now, was))
        amount = f"about {now_words} in all" if new.picks else "nothing to pick"
        parts.append(f"{amount} instead of {was_words}")
    if not parts:
        return ""
    return f"{_name(new)}: {' and '.join(parts)} ({_short(new.reason)})."


def _alert(old: PlantingForecast, new: PlantingForecast) -> Iterator[str]:
    if not new.picks or not old.picks:
        if old.picks:
            yield f"{_name(new)}: nothing more is to be expected of it ({_short(new.reason)})."
        return
    moved = (_middle(new) - _middle(old)).total_seconds() / 86400
    monday = old.first_pick_p50 - dt.timedelta(days=old.first_pick_p50.weekday())
    left = new.first_pick_p10 > monday + dt.timedelta(days=6) or new.first_pick_p90 < monday
    if abs(moved) > DAYS_TO_ALERT or left:
        yield (
            f"{_name(new)}: first pick {_span(new)}, planned for {_span(old)} "
            f"({_short(new.reason)})."
        )


def _middle(planting: PlantingForecast) -> dt.datetime:
    early, late = (
        dt.datetime.combine(day, dt.time())
        for day in (planting.first_pick_p10, planting.first_pick_p90)
    )
    return early + (late - early) / 2


def _span(planting: PlantingForecast) -> str:
    early, late = say(planting.first_pick_p10), say(planting.first_pick_p90)
    return early if early == late else f"{early} to {late}"


def _short(reason: str) -> str:
    """The reason without what the crop needs in all, which is no news."""
    return "; ".join(part for part in reason.split("; ") if not part.startswith("it needs "))


def _name(planting: PlantingForecast) -> str:
    name = called(planting.planting_id, planting.crop)
    return name if name == planting.crop else f"{planting.crop} ({name})"
