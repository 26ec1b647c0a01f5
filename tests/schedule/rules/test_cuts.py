"""Runs that do not fit together: in which windows and freezers a cut forbids them."""

from __future__ import annotations

import pytest
from schedule.small_problems import (
    BEANS,
    LIBRARY,
    PACK,
    RAW,
    allowed,
    bean_lots,
    two_foods,
    window,
)
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice, Cut


def both(snap: int, dry: int) -> Choice:
    made = {0: (snap, {0: snap * RAW}), 1: (dry, {1: dry * 340})}
    found = {o: each for o, each in made.items() if each[0]}
    return Choice({o: n for o, (n, _) in found.items()}, {o: s for o, (_, s) in found.items()})


@pytest.mark.parametrize("proven", [True, False])
def test_of_runs_that_do_not_fit_together_one_must_shrink(proven: bool) -> None:
    stated = two_foods()
    cut = Cut(((0, "whole", 4), (1, "whole", 3)), stated.length(0), 2, proven=proven)
    model = SeasonModel(stated, (cut,))
    for snap in range(7):
        for dry in range(6):
            assert model.holds(both(snap, dry)) == (snap < 4 or dry < 3), (snap, dry)


def test_what_does_not_fit_does_so_in_windows_no_roomier() -> None:
    stated = two_foods()
    length = stated.length(0)
    for room, hands, forbids in (
        (length, 2, True),
        (length + 1, 3, True),
        (length - 1, 2, False),
        (length, 1, False),
    ):
        cut = Cut(((0, "whole", 4),), room, hands, proven=True)
        assert SeasonModel(stated, (cut,)).holds(both(4, 0)) != forbids
    # More than a window's runs can be is no rule for it.
    most = stated.options[0].most
    for pouches in (most, most + 1):
        cut = Cut(((0, "whole", pouches),), length, 2, proven=True)
        assert SeasonModel(stated, (cut,)).holds(both(most, 0)) == (pouches > most)


def test_what_does_not_fit_does_not_in_whichever_freezer() -> None:
    """The chest has room for three; a cut of four pouches is one for the upright all the same."""
    season = kitchen_season(
        [{"product": BEANS, "portions": 9, "portion": "340 g"}],
        used=f"{100_000 - 3 * PACK.space} mL",
    )
    upright = season.freezer[0].model_copy(update={"name": "upright", "used": 0.0})
    season = season.model_copy(update={"freezer": (*season.freezer, upright)})
    stated = build_problem(Household(season, LIBRARY, (window(0, 6),)), bean_lots(9 * RAW), FIRST)
    assert [(o.freezer, o.most) for o in stated.options] == [("chest", 3), ("upright", 9)]
    cut = Cut(((0, "whole", 4),), stated.length(0), 2, proven=True)
    assert allowed(stated, (1, 4)) and not allowed(stated, (1, 4), cuts=(cut,))
    assert allowed(stated, (1, 3), cuts=(cut,))
