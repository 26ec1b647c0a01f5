"""Problems drawn by chance in which every rule of the season may stand in the way.

Three sessions, two or three foods, one freezer or two, with or without trays, own ice, a fridge, a
dryer, draws, a limit on sessions, and a session that is promised.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import random

from schedule.kept_sessions import frozen_on, kept
from schedule.small_problems import BEANS, DRY, LIBRARY, PACK, PUREE, lot, window
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.draws import Draw
from harvestplan.inputs.season import Season
from harvestplan.inputs.season_kitchen import Dryer
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Problem

BROCCOLI, DRIED = "broccoli, florets", "onion, dried"
FOODS = {
    BEANS: "snap bean",
    BROCCOLI: "broccoli",
    DRIED: "onion",
    PUREE: "winter squash",
    DRY: "dry bean",
}


def drawn_problem(seed: int, *foods: str) -> Problem:
    """The seed's problem, of the foods named or of some that are drawn."""
    draw = random.Random(seed)
    chosen = foods or tuple(draw.sample([BEANS, BROCCOLI, DRIED, PUREE], draw.choice((2, 3))))
    times = sorted(draw.sample([(day, start) for day in range(5) for start in (9, 18)], 3))
    windows = [
        window(day, draw.choice((1, 1.25, 1.5, 3, 6)), start, hands=draw.choice((1, 2, 9)))
        for day, start in times
    ]
    lots = [
        lot(
            FOODS[food],
            FIRST + dt.timedelta(days=n),
            draw.choice((4, 9)),
            grams=grams,
            bought=food == DRY,
        )
        for food in chosen
        for n, grams in enumerate(draw.choice(((2000,), (6000,), (900, 1900))))
    ]
    stated = build_problem(Household(_season(draw, chosen), LIBRARY, tuple(windows)), lots, FIRST)
    draws = [draw.choice((None, None, Draw(14, FIRST, None))) for _ in stated.demands]
    noon = window(3, start=15).start
    dries = kept("dry", noon, unit="cabinet", hours=9)
    promised = draw.choice(((), (), (frozen_on(noon, 2),), (dries,)))
    lies = {(BEANS, "chest"): draw.choice((0, 1, 2))} if BEANS in chosen else {}
    return dataclasses.replace(
        stated,
        demands=tuple(
            dataclasses.replace(demand, draw=each)
            for demand, each in zip(stated.demands, draws, strict=True)
        ),
        opening=Opening({key: n for key, n in lies.items() if n}),
        history=History(promised),
    )


def _season(draw: random.Random, foods: tuple[str, ...]) -> Season:
    wants = [
        {"product": f, "portions": draw.randint(3, 9), "portion": "80 g" if f == DRIED else "340 g"}
        for f in foods
    ]
    freezer = {
        "used": f"{100_000 - draw.choice((5, 8, 40)) * PACK.space} mL",
        "freezing_per_day": f"{draw.choice((1500, 3000, 50_000))} g",
    }
    if draw.random() < 0.5:
        freezer["tray_area"] = f"{draw.choice((4, 6)) * PACK.footprint / 1e6:.6f} m2"
    season = kitchen_season(wants, ice=draw.choice((None, "make")), **freezer)
    (chest,) = season.freezer
    upright = chest.model_copy(update={"name": "upright", "used": 100_000 - 3 * PACK.space})
    fridge = draw.choice((None, 1500.0, 4000.0))
    cabinet = {"name": "cabinet", "trays": 8, "tray_area": "0.14 m2"}
    limits = {
        "max_sessions": draw.choice((None, 1, 2)),
        "max_sessions_per_week": draw.choice((None, 1, 2)),
        "smallest_batch": draw.choice((None, 700.0)),
    }
    return season.model_copy(
        update={
            "freezer": (chest, upright)[: draw.choice((1, 2))],
            "cold": season.cold.model_copy(update={"fridge": fridge}),
            "dryer": (Dryer.model_validate(cabinet),),
            "season": season.season.model_copy(update=limits),
        }
    )
