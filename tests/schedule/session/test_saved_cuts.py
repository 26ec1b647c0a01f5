"""What was proven not to fit is known the next time, as long as it is still true."""

from __future__ import annotations

from dataclasses import replace

import pytest
from schedule.small_problems import BEANS, LIBRARY, PUREE, bean_lots, choice, lot, window
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.season_kitchen import Pot
from harvestplan.plan.models import TooMuch
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.session.saved_cuts import cuts_from, to_keep
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Cut
from harvestplan.schedule.statement.problem import Problem

FULL = Cut(((0, "whole", 6), (1, "whole", 2)), 9000, 2, proven=True)


def stated(watts: str = "2.5 kW", portion: str = "340 g", swapped: bool = False) -> Problem:
    """Beans and squash, wanted in one order or the other."""
    products = (PUREE, BEANS) if swapped else (BEANS, PUREE)
    wants = [{"product": p, "portions": 9, "portion": portion} for p in products]
    pot = Pot(name="pot", volume="8 qt", power=watts)
    season = kitchen_season(wants).model_copy(update={"pot": (pot,)})
    lots = [*bean_lots(9000), lot("winter squash", FIRST, 30, grams=9000)]
    return build_problem(Household(season, LIBRARY, (window(0), window(1, hands=1))), lots, FIRST)


def kept(*cuts: Cut) -> tuple[TooMuch, ...]:
    """As read from the plan's file."""
    return tuple(TooMuch.model_validate_json(c.model_dump_json()) for c in to_keep(stated(), cuts))


def test_a_proven_cut_is_known_again_and_one_that_is_not_proven_is_tried_again() -> None:
    assert cuts_from(stated(), kept(FULL)) == [FULL]
    assert kept(replace(FULL, proven=False)) == ()


def test_a_cut_is_of_its_products_in_whatever_order_they_are_wanted() -> None:
    runs = tuple((1 - demand, sitting, n) for demand, sitting, n in FULL.runs)
    assert cuts_from(stated(swapped=True), kept(FULL)) == [replace(FULL, runs=runs)]


@pytest.mark.parametrize("change", [{"watts": "3 kW"}, {"portion": "300 g"}])
def test_in_another_kitchen_or_of_another_portion_nothing_is_known(change: dict[str, str]) -> None:
    assert cuts_from(stated(**change), kept(FULL)) == []


def test_of_a_product_no_longer_wanted_nothing_is_known() -> None:
    beans = stated().season.want[:1]
    season = stated().season.model_copy(update={"want": beans})
    alone = build_problem(Household(season, LIBRARY, (window(0),)), bean_lots(9000), FIRST)
    assert cuts_from(alone, kept(FULL)) == []


@pytest.mark.parametrize(
    ("other", "says_more"),
    [
        (replace(FULL, runs=((0, "whole", 5), (1, "whole", 2))), True),  # fewer pouches
        (replace(FULL, runs=((0, "whole", 6),)), True),  # fewer runs
        (replace(FULL, room=9030), True),  # more time, and they did not fit even so
        (replace(FULL, hands=3), True),
        (replace(FULL, room=9030, hands=1), False),
        (replace(FULL, runs=((0, "whole", 5), (1, "whole", 3))), False),
        (replace(FULL, runs=((0, "first", 5), (1, "whole", 2))), False),
    ],
)
def test_what_another_cut_says_as_well_is_not_kept(other: Cut, says_more: bool) -> None:
    found = cuts_from(stated(), kept(FULL, other, FULL))
    assert found == ([other] if says_more else [FULL, other])


def test_what_was_learned_of_an_evening_binds_the_next_model() -> None:
    """All that each food alone would have time for, on the evening with two at work (one alone has
    not even the hands for it): learned once, forbidden from then on."""
    problem = stated()
    evening = {o.demand: o for o in problem.options if o.first == 0 and o.second is None}
    full = choice(problem, *((option.number, option.most) for option in evening.values()))
    learned = TimedSessions(problem, 1).cuts_for(full)
    assert learned and all(cut.proven for cut in learned)
    again = cuts_from(problem, to_keep(problem, learned))
    assert SeasonModel(problem, ()).holds(full)
    assert not SeasonModel(problem, again).holds(full)
