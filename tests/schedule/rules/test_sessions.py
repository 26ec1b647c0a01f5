"""How many sessions there may be."""

from __future__ import annotations

from dataclasses import replace

from schedule.kept_sessions import kept
from schedule.small_problems import (
    BEANS,
    LIBRARY,
    ONIONS,
    RAW,
    allowed,
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


def evenings_allowed(stated: Problem, *windows: int, **limits: int) -> bool:
    span = stated.season.season.model_copy(update=limits)
    stated = replace(stated, season=stated.season.model_copy(update={"season": span}))
    return allowed(stated, *((w, 1) for w in windows))


def test_promised_sessions_count_among_those_there_may_be() -> None:
    """Monday, Wednesday and the next Monday; one stands on the Tuesday of the first week."""
    food = [lot("snap bean", FIRST, 9, grams=9 * RAW)]
    free = problem(food, [window(0), window(2), window(7)], (BEANS, 9))
    stands = replace(free, history=History((kept("seal", window(1).start),)))
    for most in range(5):
        for stated, there in ((free, 0), (stands, 1)):
            for windows in ((0,), (0, 2), (0, 1, 2)):
                enough = len(windows) + there <= most
                assert evenings_allowed(stated, *windows, max_sessions=most) == enough
            for windows, in_a_week in (((0,), 1), ((0, 1), 2)):
                enough = in_a_week + there <= most
                assert evenings_allowed(stated, *windows, max_sessions_per_week=most) == enough
            assert evenings_allowed(stated, 2, max_sessions_per_week=most) == (most >= 1)


def test_visits_are_no_sessions_of_a_limit() -> None:
    """Two evenings with a visit after each; one visit stands on the Friday."""
    looking_in = [replace(window(day, 0.5, start=12), kind="visit") for day in (1, 3)]
    season = kitchen_season([{"product": ONIONS, "portions": 9, "portion": "340 g"}])
    free = (window(0), window(2))
    household = Household(season, LIBRARY, free, visits=tuple(looking_in))
    stated = build_problem(household, [lot("onion", FIRST, 9, grams=9000)], FIRST)
    promised = kept("seal", window(4).start).model_copy(update={"kind": "visit"})
    stated = replace(stated, history=History((promised,)))
    by_evening = {option.first: option for option in stated.options if option.packs_in % 2}
    assert [stated.windows[o.packs_in].is_visit for o in by_evening.values()] == [True, True]
    for most in range(3):
        span = stated.season.season.model_copy(update={"max_sessions_per_week": most})
        limited = replace(stated, season=stated.season.model_copy(update={"season": span}))
        for count in range(3):
            chosen = list(by_evening.values())[:count]
            raw = stated.demands[0].process.raw_per_portion
            choice = Choice({o.number: 1 for o in chosen}, {o.number: {0: raw} for o in chosen})
            assert SeasonModel(limited, ()).holds(choice) == (count <= most)
