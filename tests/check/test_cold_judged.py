"""The judge on food that waits in the fridge, and on batches worth the pot.

The small season's raw food is half a kilogram to the litre, its purée one: 3125 g of squash wait in
6.25 L from 8 July to the 12th, its purée in 2 L to the 14th, 2900 g of onions in 5.8 L from the
20th to the 21st. The beans are picked on their evening's day.
"""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from check.small_season import (
    BEANS,
    LIBRARY,
    SEASON,
    WINDOWS,
    fig,
    make_season,
    plan_data,
)

from harvestplan.check import Finding, check_plan
from harvestplan.household import Household
from harvestplan.inputs.crops import Library
from harvestplan.inputs.raw_food import Keeping
from harvestplan.plan.models import Plan

Data = dict[str, Any]
SOUND = plan_data(SEASON, LIBRARY)


def judge(data: Data, litres: float, library: Library = LIBRARY) -> list[Finding]:
    season = make_season(cold={"fridge": f"{litres} L"})
    return list(check_plan(Plan.model_validate(data), Household(season, library, tuple(WINDOWS))))


def of_the_fridge(data: Data, litres: float) -> list[Finding]:
    return [finding for finding in judge(data, litres) if "fridge" in finding.message]


def spoilt(change: Callable[[Data], Any]) -> Data:
    data = copy.deepcopy(SOUND)
    change(data)
    return data


def kept_in_the_room(*crops: str) -> Library:
    room = Keeping.model_validate({"fridge": fig("6 days"), "room": fig("7 days")})
    changed = {name: LIBRARY.crops[name].model_copy(update={"keeping": room}) for name in crops}
    return LIBRARY.model_copy(update={"crops": LIBRARY.crops | changed})


@pytest.mark.parametrize(
    ("at_home", "fits", "night", "waiting"),
    [
        ((), 6.25, "2027-07-08", "6.6 qt"),
        (("winter squash",), 5.8, "2027-07-20", "6.13 qt"),
        (("winter squash", "onion"), 2.0, "2027-07-12", "2.11 qt"),
    ],
)
def test_all_that_waits_on_a_night_fits_the_fridge(
    at_home: tuple[str, ...], fits: float, night: str, waiting: str
) -> None:
    """Picked, bought and chilled food; what keeps longer in the room needs no fridge."""
    library = kept_in_the_room(*at_home)
    assert judge(SOUND, fits, library) == []
    (found,) = judge(SOUND, fits - 0.01, library)
    assert found.code == "V8"
    assert f"night of {night} {waiting} of food" in found.message


def test_where_nothing_is_said_of_the_fridge_it_holds_all() -> None:
    assert check_plan(Plan.model_validate(SOUND), Household(SEASON, LIBRARY, tuple(WINDOWS))) == ()


def pick(data: Data, planting: str) -> Data:
    return next(p for p in data["picks"] if p["planting"] == planting and p["session"])


def later(data: Data, uid: str, days: int) -> None:
    """Puts a session off, whatever it packs."""
    moved = next(s for s in data["sessions"] if s["uid"] == uid)
    by = dt.timedelta(days=days)
    for part in (moved, *moved["tasks"]):
        part["start"], part["end"] = part["start"] + by, part["end"] + by
    for edge in ("window_start", "window_end"):
        moved[edge] += by


SPOILT: dict[str, tuple[set[str], Callable[[Data], Any]]] = {
    "beans picked the day before": (
        {"V8"}, lambda d: pick(d, "snap bean row").update(date=dt.date(2027, 7, 11))),
    "picks of no session": (
        {"V10"}, lambda d: pick(d, "winter squash row").update(session=None)),
    "a pick for another session": (
        {"V8", "V10"}, lambda d: pick(d, "winter squash row").update(session="u2")),
    "a gram picked for a session and left": (
        {"V10"}, lambda d: (
            pick(d, "snap bean row").update(grams=4001), d["picks"][1].update(grams=399))),
}  # fmt: skip


@pytest.mark.parametrize("name", SPOILT)
def test_food_in_the_fridge_before_its_time_is_found(name: str) -> None:
    codes, change = SPOILT[name]
    found = {finding.code for finding in judge(spoilt(change), 7.0)}
    assert codes <= found <= codes | {"V9"}


def test_puree_that_waits_with_the_food_of_another_evening() -> None:
    """Packed a week later it waits beside the onions: 2 L and 5.8 L."""
    put_off = spoilt(lambda d: later(d, "u2", 7))
    (found,) = of_the_fridge(put_off, 7.79)
    assert found.code == "V8" and "night of 2027-07-20" in found.message
    assert of_the_fridge(put_off, 7.8) == []


@pytest.mark.parametrize("status", ["firm", "done"])
def test_promised_food_alone_is_nobodys_fault(status: str) -> None:
    """The squash and its purée stand as they are; the onions may still be planned otherwise."""
    promised = spoilt(lambda d: [each.update(status=status) for each in d["sessions"][:2]])
    assert of_the_fridge(promised, 5.8) == []
    (found,) = of_the_fridge(promised, 5.79)
    assert "night of 2027-07-20" in found.message


def test_nights_that_are_past_are_not_judged() -> None:
    gone = spoilt(lambda d: d.update(as_of=dt.date(2027, 7, 12)))
    assert of_the_fridge(gone, 5.8) == []


# Batches worth the pot.


def batches(data: Data, smallest: str) -> list[Finding]:
    span = SEASON.season.model_dump() | {"smallest_batch": smallest}
    season = make_season(season=span)
    return list(check_plan(Plan.model_validate(data), Household(season, LIBRARY, tuple(WINDOWS))))


def test_a_run_of_less_than_the_smallest_batch_is_found() -> None:
    """4000 g of beans make 12 of the 13 portions that are wanted; the other runs all there are."""
    assert batches(SOUND, "4 kg") == []
    (found,) = batches(SOUND, "4.1 kg")
    assert found.code == "V5"
    assert BEANS in found.message and "4000 g" in found.message and "4100 g" in found.message


def test_what_was_promised_is_not_judged_by_it() -> None:
    def promise(data: Data) -> None:
        data["sessions"][0]["status"] = "firm"

    assert not [f for f in batches(spoilt(promise), "4.1 kg") if "smallest_batch" in f.message]


def test_all_that_is_still_wanted_may_be_less() -> None:
    """With one of the beans' portions put by beside the two in store, twelve are still wanted."""

    def one_more(data: Data) -> None:
        data["wants"][0] |= {"corrected": 1, "short": 0}

    assert batches(spoilt(one_more), "4.1 kg") == []
