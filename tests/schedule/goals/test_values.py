"""What a choice is worth on each level."""

from __future__ import annotations

from schedule.small_problems import (
    BEANS,
    RAW,
    bean_lots,
    choice,
    problem,
    window,
)

from harvestplan.schedule.goals.late_minutes import overtime_value
from harvestplan.schedule.goals.portions_short import short_value
from harvestplan.schedule.goals.waiting_time import waiting_cost, waiting_value


def test_values_of_a_choice() -> None:
    windows = [window(0), window(1, 2, extra=True), window(2)]
    stated = problem(bean_lots(10 * RAW), windows, (BEANS, 6))
    assert [option.first for option in stated.options] == [0, 1, 2]
    # Waiting from Monday to Wednesday is all of the two days that they keep.
    assert [waiting_cost(stated, o, 0) for o in stated.options] == [0, 50, 100]
    made = choice(stated, (1, 2), (2, 3))
    assert short_value(stated, made) == 100 * (6 - 5)
    assert overtime_value(stated, made) == 120
    assert overtime_value(stated, choice(stated, (2, 3))) == 0
    assert waiting_value(stated, made) == 50 * 2 * RAW + 100 * 3 * RAW
