"""Portions of 1 g to 5 kg: what the statement says of grams the judge finds in the plan."""

from __future__ import annotations

import datetime as dt
import math
import random

from each_case import each
from schedule.small_problems import LIBRARY, lot, window
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.check.balance import check_balance
from harvestplan.check.facts import Facts
from harvestplan.check.packing import check_packing
from harvestplan.household import Household
from harvestplan.inputs.season_kitchen import Dryer, Pouch
from harvestplan.plan.models import Plan
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem
from harvestplan.schedule.written.assemble import build_balance, build_sessions, build_wants

POUCHES = tuple(
    Pouch.model_validate({"name": name, "width": wide, "length": long, "film": "3 mil"})
    for name, wide, long in (("small", "5 in", "8 in"), ("quart", "8 in", "12 in"),
                             ("huge", "12 in", "30 in"))
)  # fmt: skip
DRYER = Dryer.model_validate({"name": "dryer", "trays": 9, "tray_area": "200 sq in"})
PRODUCTS = [(crop, product) for crop in LIBRARY.crops.values() for product in crop.products]


def drawn(turn: int) -> tuple[int, int, int, float]:
    """Product, portion in g, portions and hours of the evening, drawn by chance."""
    draw = random.Random(turn)
    portion = max(1, round(math.exp(draw.uniform(0, math.log(5000)))))
    return turn % len(PRODUCTS), portion, draw.randint(1, 90), 3


def stated(number: int, portion: int, portions: int, hours: float) -> Problem:
    """The product alone, with food for rather more or less than is wanted."""
    crop, product = PRODUCTS[number]
    want = {"product": f"{crop.name}, {product.form}", "portions": portions}
    season = kitchen_season([want | {"portion": f"{portion} g"}], end=FIRST + dt.timedelta(days=90))
    season = season.model_copy(update={"pouch": POUCHES, "dryer": (DRYER,)})
    bought = crop.kind == "bought"
    grams = round(portions * portion / product.packed_share * (0.8 + number % 5 / 10))
    lots = [lot(crop.name, FIRST, 9, grams=max(1, half), bought=bought) for half in (grams // 2, 9)]
    lots[1] = lots[1].model_copy(update={"id": "more", "grams": max(1, grams - grams // 2)})
    windows = tuple(window(day, hours) for day in (0, 1, 2))
    return build_problem(Household(season, LIBRARY, windows), lots, FIRST)


def bean_of(portion: int) -> tuple[int, int, int, float]:
    """Two hundred portions of snap beans."""
    names = [f"{crop.name}, {product.form}" for crop, product in PRODUCTS]
    return names.index("snap bean, cut"), portion, 200, 3


def judged(problem: Problem, choice: Choice, timed: TimedSessions) -> list[str]:
    """What the judge of grams and packs finds in the plan as it is written."""
    sessions = build_sessions(problem, choice, timed)
    named = tuple(s.model_copy(update={"uid": str(n)}) for n, s in enumerate(sessions))
    season = problem.season
    plan = Plan.model_validate(
        {
            "made_at": dt.datetime.combine(FIRST, dt.time(), dt.UTC),
            "as_of": FIRST,
            "season": {
                "name": "tiny",
                "timezone": season.household.timezone,
                "start": season.season.start,
                "end": season.season.end,
            },
            "lots": problem.lots,
            "sessions": named,
            "balance": build_balance(problem, choice),
            "wants": build_wants(problem, choice),
            **dict.fromkeys(("picks", "freezer", "shopping", "proof", "warnings"), ()),
        }
    )
    facts = Facts.of(plan, Household(season, LIBRARY, problem.windows))
    # The picks, which the plan's writer adds, are no matter of portions.
    found = [f.message for f in (*check_balance(facts), *check_packing(facts))]
    return [message for message in found if "pick" not in message]


@each("turn", range(160))
def test_what_is_stated_is_what_the_judge_finds(turn: int) -> None:
    """Planned by hand; every seventh is asked of the season's model as well."""
    problem = stated(*drawn(turn))
    if not problem.demands:
        return  # this kitchen does not make it, or no pouch holds so much
    timed = TimedSessions(problem, 1)
    choice = plan_by_hand(state_rules(problem), timed)
    assert judged(problem, choice, timed) == []
    assert turn % 7 or SeasonModel(problem, ()).holds(choice)


def test_most_of_a_small_crop_is_put_by() -> None:
    """Two parts in a hundred at most are lost to whole grams, down to portions of 5 g."""
    for portion in (5, 10, 11, 15, 49, 50, 51, 100):
        problem = stated(*bean_of(portion))
        process = problem.demands[0].process
        raw = process.raw(200)
        assert raw * process.product.packed_share < 200 * portion * 1.02
        assert process.packed(raw, 200) == 200 * portion
