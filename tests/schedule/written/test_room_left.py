"""What a plan leaves room for, reckoned by hand, and what is said of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from schedule.small_problems import BEANS, RAW, bean_lots, choice, problem, solve_small, window

from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem
from harvestplan.schedule.written.room_left import RoomLeft
from harvestplan.schedule.written.warnings import plan_warnings


def two_evenings(food: int = 9, freezing: int = 99) -> Problem:
    """Beans on Monday and Tuesday; nine are wanted."""
    return problem(
        bean_lots(food * RAW),
        [window(0, 6), window(1, 6)],
        (BEANS, 9),
        freezing_per_day=f"{freezing * 340 + 50} g",
    )


@pytest.mark.parametrize(
    ("food", "freezing", "made", "more"),
    [(9, 99, 0, 9), (9, 99, 4, 5), (5, 99, 4, 1), (9, 4, 4, 0)],
)
def test_room_on_a_new_evening(food: int, freezing: int, made: int, more: int) -> None:
    """What is left of the food, and of what freezes in a day."""
    stated = two_evenings(food, freezing)
    chosen = choice(stated, (0, made)) if made else Choice({}, {})
    assert RoomLeft(state_rules(stated), chosen).on_a_new_evening(0, 9 - made) == more


def test_a_used_evening_is_no_new_one() -> None:
    stated = two_evenings()
    chosen = choice(stated, (0, 2), (1, 2))
    assert RoomLeft(state_rules(stated), chosen).on_a_new_evening(0, 5) == 0


def told(stated: Problem) -> str:
    found = plan_warnings(stated, solve_small(stated), (), freezer=(), notes=())
    return " ".join(advice.message for advice in found if advice.code == "short")


def test_what_is_hardly_worth_an_evening_is_said() -> None:
    """Two of nine portions would be left for Tuesday; an evening is worth three."""
    stated = problem(
        bean_lots(9 * RAW),
        [window(0, 6), window(2, 6)],
        (BEANS, 9),
        freezing_per_day=f"{7 * 340 + 50} g",
    )
    span = stated.season.season.model_copy(update={"evening_is_worth": 3.0})
    dear = replace(stated, season=stated.season.model_copy(update={"season": span}))
    assert "2 portions short" in told(dear)
    assert "Another evening could bring 2 portions at most, which hardly pays: " in told(dear)
    assert "to you an evening is worth 3 portions" in told(dear)
    assert told(stated) == ""
