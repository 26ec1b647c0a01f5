"""How long a step takes for one batch, and what the cook must know to do it."""

from __future__ import annotations

import math
from typing import Any

from harvestplan.inputs.crops import Step
from harvestplan.kitchen.heat import stirred_cooling_seconds
from harvestplan.kitchen.ice import COOLED, ice_grams
from harvestplan.kitchen.pot import blanch_seconds
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steaming import over_steam
from harvestplan.kitchen.water import boiling_point

CHILL_DEPTH, CHILL_TO, CHILL_BATH = 0.05, 5.0, 0.5
"""Shallow pan 2 in deep, stirred in ice water (two-stage rule: Southern Nevada Health District)."""
HOT, ROOM = 95.0, 20.0
"""Temperature in °C of food that was cooked, and of food that only stood in the room."""
CONDITIONING_DAYS = 7
"""Dried food stands loose in jars for 7 to 10 days, shaken daily, so that its moisture evens out,
before it is stored for long (NCHFP, from memory)."""
PASTEURISE = "only if it dried in the open: 48 h in the freezer, or 30 min at 160 °F (71 °C)"
"""Michigan State University Extension, msu97-0520; the freezer at 0 °F from memory."""

Settings = dict[str, Any]


def work_seconds(step: Step, grams: float) -> float:
    """Time in s the step takes for `grams` by the crop file, without cooking or cooling times."""
    per = step.per_kg.value * grams if step.per_kg else 0.0
    return per + (step.fixed.value if step.fixed else 0.0)


def batch_time(
    process: Process, step: Step, grams: float, freezer: str | None
) -> tuple[float, Settings]:
    """Seconds that `grams` entering a batch step take, and the task's settings."""
    work = work_seconds(step, grams)
    match step.step:
        case "blanch":
            return _blanch(process, step, grams)
        case "cool":
            cool = cool_seconds(process, step)
            return cool + work, {"cool_s": round(cool or work), "ice_g": _ice(process, step, grams)}
        case "roast":
            assert step.time is not None
            return step.time.value + work, {"minutes": step.time.value / 60}
        case "simmer":
            return _simmer(process, step, grams)
        case "chill":
            # The computed time is the least; a crop file may ask for longer.
            least = stirred_cooling_seconds(CHILL_DEPTH, warmth(process), CHILL_TO, CHILL_BATH)
            chill = max(least, work)
            return chill, {
                "minutes": math.ceil(chill / 60),
                "to_c": CHILL_TO,
                "ice_g": _ice(process, step, grams),
            }
        case "tray freeze":
            return work, {
                "freezer": freezer,
                "area_cm2": _tray_area(step, grams),
                "minutes": math.ceil(work / 60),
            }
        case "dry":
            # The task is the loading; drying goes on after the session.
            assert step.time is not None
            return work, {
                "hours": round(step.time.value / 3600, 1),
                "area_cm2": _tray_area(step, grams),
                "conditioning_days": CONDITIONING_DAYS,
                "pasteurise": PASTEURISE,
            }
        case _:
            return work, {}


def _blanch(process: Process, step: Step, grams: float) -> tuple[float, Settings]:
    water_share = process.crop.water_share.value
    pots = [process.kitchen.pot(name) for name in process.vessels["blanch"]]
    back = max(p.return_seconds(grams, water_share, step.piece) for p in pots)
    blanch = blanch_seconds(step, process.kitchen.altitude)
    limit = int(min(p.limit_grams(step, process.crop, process.product) for p in pots))
    if over_steam(step):
        return blanch + work_seconds(step, grams), {
            "over": "steam",
            "clock": step.clock,
            "blanch_s": round(blanch),
            "water_ml": round(min(p.steam_water for p in pots)),
            "pot_limit_g": limit,
        }
    wait = back if step.clock == "return to boil" else 0.0
    return wait + blanch + work_seconds(step, grams), {
        "clock": step.clock,
        "return_s": math.ceil(back),
        "blanch_s": round(blanch),
        "water_ml": round(min(p.water for p in pots)),
        "pot_limit_g": limit,
    }


def _simmer(process: Process, step: Step, grams: float) -> tuple[float, Settings]:
    """From cold to the boil in the slowest pot, then as long as the crop file says."""
    assert step.time is not None
    water_share = process.crop.water_share.value
    pots = [process.kitchen.pot(name) for name in process.vessels["simmer"]]
    heat = max(pot.cook_up_seconds(step, grams, water_share) for pot in pots)
    settings: Settings = {"minutes": step.time.value / 60, "heat_s": math.ceil(heat)}
    if step.water is not None:
        settings["water_ml"] = round(step.water.value * grams)
    return heat + step.time.value + work_seconds(step, grams), settings


def cool_seconds(process: Process, step: Step) -> float:
    """Cooling time in s by the ratio to the blanching time, altitude included."""
    if step.ratio is None:
        return 0.0
    blanch = next(s for s in process.product.steps if s.step == "blanch")
    return step.ratio.value * blanch_seconds(blanch, process.kitchen.altitude)


def warmth(process: Process) -> float:
    """Temperature in °C of the food before it is chilled."""
    cooked = any(step.step in ("roast", "simmer") for step in process.product.steps)
    return HOT if cooked else ROOM


def _ice(process: Process, step: Step, grams: float) -> int:
    if step.step == "cool":
        start, end = boiling_point(process.kitchen.altitude), COOLED
    else:
        start, end = warmth(process), CHILL_TO
    return ice_grams(grams, process.crop.water_share.value, start, end)


def _tray_area(step: Step, grams: float) -> int:
    return math.ceil((grams / step.tray_load.value if step.tray_load else 0.0) * 1e4)
