"""Hands and machines: what fits an evening is never forbidden."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from schedule.drawn_problems import BROCCOLI
from schedule.small_problems import (
    BEANS,
    DRY,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import SessionTimes
from harvestplan.schedule.session.timed_sessions import session_tasks, window_runs
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem


@pytest.mark.parametrize("hands", [1, 2, 4])
@pytest.mark.parametrize(("snap", "broccoli", "dry"), [(9, 0, 0), (4, 4, 0), (1, 8, 3), (3, 2, 6)])
def test_what_fits_an_evening_is_never_forbidden(
    hands: int, snap: int, broccoli: int, dry: int
) -> None:
    """Beans, broccoli and dry beans in an evening that is as long as they took when laid out minute
    by minute, and not a second longer."""
    foods = ((BEANS, "snap bean"), (BROCCOLI, "broccoli"), (DRY, "dry bean"))
    lots = [lot(crop, FIRST, 5, grams=20_000) for _, crop in foods]
    wants = [(product, 9) for product, _ in foods]
    roomy = window(0, 12, start=8, hands=hands)
    stated = problem(lots, [roomy], *wants)

    def made(there: Problem) -> Choice:
        pouches = dict(enumerate((snap, broccoli, dry)))
        numbers = {o.demand: o.number for o in there.options}
        return Choice(
            {numbers[d]: n for d, n in pouches.items() if n},
            {numbers[d]: {d: there.demands[d].process.raw(n)} for d, n in pouches.items() if n},
        )

    runs = window_runs(stated, made(stated))[0]
    times = time_session(session_tasks(stated, 0, runs), effort=0.1)
    assert isinstance(times, SessionTimes) and times.length < 12 * 3600
    tight = replace(roomy, end=roomy.start + dt.timedelta(seconds=times.length))
    stated = problem(lots, [tight], *wants)
    assert SeasonModel(stated, ()).holds(made(stated))
