"""What lies on the trays."""

from __future__ import annotations

from dataclasses import replace

import pytest
from schedule.kept_sessions import kept
from schedule.small_problems import (
    BEANS,
    LIBRARY,
    ONIONS,
    PACK,
    RAW,
    allowed,
    bean_lots,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.problem import Problem


@pytest.mark.parametrize(("freezer", "most"), [("chest", 3), ("upright", 5)])
def test_what_a_promised_session_lays_on_the_trays_is_taken(freezer: str, most: int) -> None:
    """Trays for five packs and a little; the evening before two lie there, or elsewhere."""
    area = 5 * PACK.footprint + 200
    laid = {"freezer": freezer, "pouches": 2, "area_cm2": 2 * PACK.footprint // 100 + 1}
    there = kept("freeze", window(0).start, **laid)
    stated = problem(
        bean_lots(0, 10 * RAW), [window(7, 6)], (BEANS, 9), tray_area=f"{area / 1e6:.7f} m2"
    )
    near = kept("freeze", window(6).start, **laid)
    assert allowed(replace(stated, history=History((there,))), (0, 5))  # a week before
    stated = replace(stated, history=History((near,)))
    assert allowed(stated, (0, most))
    assert most == 5 or not allowed(stated, (0, most + 1))


def onions_and_beans() -> Problem:
    """Onions are laid loose on the trays, to be packed within 48 hours: from Monday at 15:00 to
    Wednesday at 15:00; packed they are frozen, and take none. Trays for three pouches' worth and a
    pouch that is to freeze, in one freezer of two."""
    wants = [{"product": p, "portions": 9, "portion": "340 g"} for p in (ONIONS, BEANS)]
    lots = [lot("onion", FIRST, 40, grams=9000), lot("snap bean", FIRST, 9, grams=20 * RAW)]
    windows = [
        window(0, 3, start=15, hands=9),
        window(1, 3, start=14, hands=9),
        window(2, 3, start=12, hands=9),
        window(5, 9, start=9, hands=9),
    ]
    season = kitchen_season(wants)
    process = (
        build_problem(Household(season, LIBRARY, tuple(windows)), lots, FIRST).demands[0].process
    )
    area = 3 * process.loose_area + process.packing.footprint + 0.5
    (chest,) = season.freezer
    upright = chest.model_copy(update={"name": "upright"})
    chest = chest.model_copy(update={"tray_area": area / 1e6})
    season = season.model_copy(update={"freezer": (chest, upright)})
    return build_problem(Household(season, LIBRARY, tuple(windows)), lots, FIRST)


@pytest.mark.parametrize(
    ("onions", "beans"),
    [
        # In the chest from Monday to Wednesday: the pouch of beans that the trays hold beside the
        # loose onions; all on Saturday.
        ((0, 2, "chest"), (1, 1, 1, 6)),
        ((0, 1, "chest"), (1, 1, 1, 6)),
        ((1, 2, "chest"), (1, 1, 1, 6)),
        ((0, 2, "upright"), (6, 6, 6, 6)),
    ],
)
def test_loose_food_lies_on_the_trays_until_it_is_packed(
    onions: tuple[int, int, str], beans: tuple[int, ...]
) -> None:
    stated = onions_and_beans()
    options = {(o.demand, o.first, o.second, o.freezer): o.number for o in stated.options}
    there = options[0, *onions]
    grams = [demand.process.raw_per_portion for demand in stated.demands]
    model = SeasonModel(stated, ())

    def holds(loose: int, beside: int, flat: int) -> bool:
        made = {there: loose, options[1, beside, None, "chest"]: flat}
        lots = {there: {0: loose * grams[0]}, options[1, beside, None, "chest"]: {1: flat * RAW}}
        used = {o: n for o, n in made.items() if n}
        return model.holds(Choice(used, {o: lots[o] for o in used}))

    assert holds(3, 3, 0)
    assert holds(4, 3, 0) == (onions[2] == "upright")
    for evening, most in enumerate(beans):
        assert holds(3, evening, most), evening
        assert not holds(3, evening, most + 1), evening
