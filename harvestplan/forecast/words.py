"""What changed between two forecasts, in sentences for a gardener."""

from __future__ import annotations

from harvestplan.forecast.forecast import Forecast, PlantingForecast

DAYS_WORTH_SAYING = 4
"""A first pick that moves by fewer days is not news; own judgement."""

SHARE_WORTH_SAYING = 0.25
"""A total that changes by a smaller share is not news; own judgement."""


def describe_change(old: Forecast, new: Forecast) -> tuple[str, ...]:
    """One sentence for each planting that is new, gone, moved by 4 days or more (with the reason),
    or whose likely total changed by a quarter or more; in the order of the new forecast."""
    before = {planting.planting_id: planting for planting in old.plantings}
    after = {planting.planting_id for planting in new.plantings}
    lines = [_change(before.get(planting.planting_id), planting) for planting in new.plantings]
    gone = [f"{p.crop} ({p.planting_id}): no longer planted."
            for p in old.plantings if p.planting_id not in after]  # fmt: skip
    return tuple([line for line in lines if line] + gone)


def _change(old: PlantingForecast | None, new: PlantingForecast) -> str:
    name = f"{new.crop} ({new.planting_id})"
    first = f"{new.first_pick_p50.day} {new.first_pick_p50:%B}"
    if old is None:
        return f"{name}: new, first pick about {first}."
    parts = []
    days = (new.first_pick_p50 - old.first_pick_p50).days
    if abs(days) >= DAYS_WORTH_SAYING:
        side = "later" if days > 0 else "earlier"
        parts.append(f"first pick about {first}, {abs(days)} days {side} than forecast before")
    if abs(new.total_g_p50 - old.total_g_p50) >= SHARE_WORTH_SAYING * max(old.total_g_p50, 1.0):
        parts.append(
            f"about {new.total_g_p50 / 1000:.1f} kg in all instead of {old.total_g_p50 / 1000:.1f}"
        )
    if not parts:
        return ""
    return f"{name}: {' and '.join(parts)} ({new.reason})."
