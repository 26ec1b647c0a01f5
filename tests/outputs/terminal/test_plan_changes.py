"""What a new plan changes, and the harvest that is the reason, as people call it."""

from __future__ import annotations

import copy
import datetime as dt

import pytest
from outputs.written_plans import make_plan, plan_data

from harvestplan.outputs.terminal.plan_changes import (
    changes_text,
    session_changes,
    waits_longer,
)

WINDOW = ("start", "end", "window_start", "window_end")


def moved(days: int, planting: str) -> str:
    """The beans of the first session ripen so many days later, and the session moves with them."""
    before = plan_data()
    for lot in before["lots"]:
        lot["planting"] = planting if lot["crop"] == "snap bean" else None
    after = copy.deepcopy(before)
    late = dt.timedelta(days=days)
    for lot in after["lots"]:
        if lot["crop"] == "snap bean":
            lot["ready"] = str(dt.date.fromisoformat(lot["ready"]) + late)
            lot["keep_until"] = str(dt.date.fromisoformat(lot["keep_until"]) + late)
    for key in WINDOW:
        time = dt.datetime.fromisoformat(after["sessions"][0][key]) + late
        after["sessions"][0][key] = time.isoformat()
    return " ".join(changes_text(make_plan(data=before), make_plan(data=after)).split())


@pytest.mark.parametrize(
    ("days", "planting", "said"),
    [
        (1, "snap-bean", "(snap bean 1 day late)"), (-1, "snap-bean", "(snap bean 1 day early)"),
        (2, "snap-bean", "(snap bean 2 days late)"), (1, "south bed", "(south bed 1 day late)"),
    ],
)  # fmt: skip
def test_a_shift_of_the_harvest_is_told_as_people_speak(
    days: int, planting: str, said: str
) -> None:
    told = moved(days, planting)
    assert "moved 1" in told
    assert said in told


def _later(days: int) -> tuple[dict, dict]:
    """A plan, and the same with its first session so many days later; the food ripens as before."""
    before, after = plan_data(), plan_data()
    for key in WINDOW:
        time = dt.datetime.fromisoformat(after["sessions"][0][key]) + dt.timedelta(days=days)
        after["sessions"][0][key] = time.isoformat()
    return before, after


@pytest.mark.parametrize("days", [1, 3])
def test_what_is_put_by_later_waits_longer_by_as_many_days(days: int) -> None:
    before, after = (make_plan(data=data) for data in _later(days))
    runs = [run for run in before.sessions[0].runs if run.lots]
    elsewhere = {run.product for session in before.sessions[1:] for run in session.runs}
    alone = {run.product for run in runs} - elsewhere
    assert alone
    longer = waits_longer(before, after)
    assert {product: longer[product] for product in alone} == dict.fromkeys(alone, days)
    assert waits_longer(after, before) == waits_longer(before, before) == {}


def test_what_changes_anyway_is_not_put_down_to_something_else() -> None:
    before, after = (make_plan(data=data) for data in _later(1))
    changes = session_changes(before, after, "US")
    assert changes.any() and not changes.besides(changes).any()
    assert changes.besides(session_changes(before, before, "US")) == changes
