"""The judge finds what breaks the rules of the kitchen: pots, meat, basins, cold, changing over.

What stands behind them: blanching water is used two or three times (Kansas State University
Extension MF1181); cooked food is down to 70 °F in two hours and to 41 °F in four more, stirred in
ice water every ten minutes (Southern Nevada Health District, cool foods quickly and safely). Meat
last or cleaned between, mild before strong, wiping and rinsing: common practice, no source.
"""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from check.kitchen_plan import Data, judged, kitchen_plan

SOUND = kitchen_plan()
MINUTE = dt.timedelta(minutes=1)
HOUR = 60 * MINUTE


def tasks(data: Data) -> list[Data]:
    found: list[Data] = data["sessions"][0]["tasks"]
    return found


def find(data: Data, ending: str) -> Data:
    """The one task whose id ends so: "bean-cut/3.cool-1"."""
    (found,) = (task for task in tasks(data) if task["id"].endswith(ending))
    return found


def drop(data: Data, ending: str) -> None:
    tasks(data).remove(find(data, ending))


def shift(data: Data, ending: str, by: dt.timedelta) -> None:
    task = find(data, ending)
    task["start"], task["end"] = task["start"] + by, task["end"] + by


def shorten(data: Data, ending: str, by: dt.timedelta) -> None:
    find(data, ending)["end"] -= by


def set_to(data: Data, ending: str, **changes: Any) -> None:
    find(data, ending).update(changes)


def say(data: Data, ending: str, **settings: Any) -> None:
    task = find(data, ending)
    task["settings"] = task["settings"] | settings


def swap(data: Data, one: str, other: str) -> None:
    """Each begins when the other began."""
    first, second = find(data, one), find(data, other)
    starts = first["start"], second["start"]
    for task, start in ((first, starts[1]), (second, starts[0])):
        task["start"], task["end"] = start, start + (task["end"] - task["start"])


def last_blanch(data: Data) -> Data:
    """The last potful of the first water of beans and rhubarb."""
    fill = sorted((t for t in tasks(data) if t["step"] == "fill"), key=lambda t: t["start"])
    until = fill[1]["start"]
    return max(
        (t for t in tasks(data) if t["step"] == "blanch" and t["start"] < until),
        key=lambda t: t["start"],
    )


def same_water(data: Data) -> None:
    """The kettle is not changed before the second water: all potfuls go into the first."""
    for ending in ("empty:kettle:1", "fill:kettle:2", "heat:kettle:2"):
        drop(data, ending)


def meat_first(data: Data) -> None:
    """Chicken is portioned and sealed at the very beginning."""
    first = min(t["start"] for t in tasks(data))
    ours = [t for t in tasks(data) if "chicken" in t["id"]]
    by = first + 20 * MINUTE - min(t["start"] for t in ours)
    for task in ours:
        task["start"], task["end"] = task["start"] + by, task["end"] + by


def cleaned(data: Data, minutes: int = 10, hands: int = 1) -> None:
    """Meat first, then so long a sanitising, from when the chicken is sealed."""
    meat_first(data)
    sealed = find(data, "portioned/seal-g1")["end"]
    clean_up = find(data, "clean-up")
    tasks(data).append(
        copy.deepcopy(clean_up)
        | {
            "id": "sanitise",
            "step": "sanitise",
            "start": sealed,
            "end": sealed + minutes * MINUTE,
            "hands": hands,
            "cooks": ["Ada"][:hands],
        }
    )


def all_later(data: Data, by: dt.timedelta) -> None:
    """Everything but the chicken and the setting up, so much later."""
    for task in tasks(data):
        if "chicken" not in task["id"] and task["id"] not in ("set-up", "sanitise"):
            task["start"], task["end"] = task["start"] + by, task["end"] + by
    data["sessions"][0]["end"] += by


# Each entry: the rule, and what is spoilt.
SPOILT: dict[str, tuple[str, Callable[[Data], Any]]] = {
    "no water filled in": ("V14", lambda d: drop(d, "fill:kettle:1")),
    "water that was never heated": ("V14", lambda d: drop(d, "heat:kettle:1")),
    "water that does not boil yet": ("V14", lambda d: shorten(d, "heat:kettle:1", 5 * MINUTE)),
    "filled in no time": ("V14", lambda d: shorten(d, "fill:kettle:1", 2 * MINUTE)),
    "filled by nobody": ("V14", lambda d: set_to(d, "fill:kettle:1", hands=0, cooks=())),
    "half a pot of water": ("V14", lambda d: (
        say(d, "fill:kettle:1", water_ml=5000), say(d, "heat:kettle:1", water_ml=5000))),
    "old water not changed": ("V14", same_water),
    "new water on old": ("V14", lambda d: drop(d, "empty:kettle:1")),
    "emptied in no time": ("V14", lambda d: shorten(d, "empty:kettle:1", 2 * MINUTE)),
    "emptied by nobody": ("V14", lambda d: set_to(d, "empty:kettle:1", hands=0, cooks=())),
    "beets cooked in a pot of water": ("V14", lambda d: drop(d, "empty:kettle:2")),
    "blanched where beets were cooked": ("V14", lambda d: (
        drop(d, "fill:kettle:3"), drop(d, "heat:kettle:3"))),
    "tomatoes left in their pan": ("V14", lambda d: drop(d, "purée/2.empty-1")),
    "a pan not washed": ("V14", lambda d: shorten(d, "purée/2.empty-1", 4 * MINUTE)),
    "a pan emptied by nobody": (
        "V14", lambda d: set_to(d, "purée/2.empty-1", hands=0, cooks=())),
    "pressed while still in the pan": (
        "V14", lambda d: shift(d, "purée/3.press-1", -3 * MINUTE)),
    "another batch's food taken out": ("V14", lambda d: set_to(d, "purée/2.empty-1", batch=2)),
    "the next beets in before the first are out": (
        "V14", lambda d: swap(d, "sliced/1.empty-1", "sliced/1.simmer-2")),
    "broccoli before beans in one water": ("V14", lambda d: last_blanch(d).update(
        run=find(d, "florets/3.blanch-1")["run"])
        or min((t for t in tasks(d) if t["step"] == "blanch"), key=lambda t: t["start"]).update(
            run=find(d, "florets/3.blanch-1")["run"])
        or last_blanch(d).update(run=find(d, "cut/2.blanch-2")["run"])),
    "a fourth potful": ("V14", lambda d: tasks(d).append(
        copy.deepcopy(find(d, "cut/2.blanch-4")) | {
            "id": "again", "start": find(d, "cut/2.blanch-4")["end"],
            "end": find(d, "cut/2.blanch-4")["end"] + MINUTE})),
    "meat first": ("V15", meat_first),
    "meat first, cleaned too short": ("V15", lambda d: cleaned(d, 5)),
    "meat first, cleaned by nobody": ("V15", lambda d: cleaned(d, 10, hands=0)),
    "meat first, cleaned when others are begun": ("V15", cleaned),
    "meat before what is eaten raw, though cleaned": (
        "V15", lambda d: (cleaned(d), all_later(d, HOUR))),
    "meat among the broccoli": ("V15", lambda d: (
        shift(d, "portioned/portion-g1", -20 * MINUTE))),
    "a machine with meat, then broccoli": ("V15", lambda d: (
        shift(d, "portioned/seal-g1", -2 * HOUR))),
    "washing in no basin": ("V16", lambda d: set_to(d, "bean-cut/0.wash", equipment=())),
    "cooling in no basin": ("V16", lambda d: set_to(d, "bean-cut/3.cool-1", equipment=())),
    "washing where beans cool": ("V16", lambda d: set_to(
        d, "bean-cut/3.cool-2", equipment=find(d, "sliced/0.wash")["equipment"])
        or shift(d, "sliced/0.wash", find(d, "bean-cut/3.cool-2")["start"]
                 - find(d, "sliced/0.wash")["start"])),
    "cooling where tomatoes chill": ("V16", lambda d: set_to(
        d, "sliced/2.cool-1", equipment=find(d, "purée/4.chill-1")["equipment"])
        or shift(d, "sliced/2.cool-1", find(d, "purée/4.chill-1")["start"]
                 - find(d, "sliced/2.cool-1")["start"])),
    "two washed in one basin": ("V16", lambda d: set_to(
        d, "rhubarb-cut/0.wash", equipment=find(d, "bean-cut/0.wash")["equipment"])),
    "nobody stirs": ("V17", lambda d: drop(d, "purée/4.stir-1")),
    "stirred by no hands": ("V17", lambda d: set_to(d, "purée/4.stir-1", hands=0, cooks=())),
    "stirred too short": ("V17", lambda d: shorten(d, "purée/4.stir-1", 5 * MINUTE)),
    "stirred when it is half cold": ("V17", lambda d: shift(d, "purée/4.stir-1", 20 * MINUTE)),
    "no reading asked for": ("V17", lambda d: find(d, "purée/4.chill-1").update(settings={})),
    "chilled to the room's warmth": ("V17", lambda d: say(d, "purée/4.chill-1", to_c=20.0)),
    "hot for two hours": ("V17", lambda d: [shift(d, f"purée/{end}", 2 * HOUR)
                                            for end in ("4.chill-1", "4.stir-1")]),
    "drained beans on the table": ("V17", lambda d: drop(d, "bean-cut/keep cold-1")),
    "taken out of the fridge too early": (
        "V17", lambda d: shorten(d, "bean-cut/keep cold-1", 15 * MINUTE)),
    "into the fridge too late": ("V17", lambda d: find(d, "bean-cut/keep cold-1").update(
        start=find(d, "bean-cut/keep cold-1")["start"] + 15 * MINUTE)),
    "no change between foods": ("V19", lambda d: drop(d, "rhubarb-cut/change-over")),
    "a change in no time": ("V19", lambda d: shorten(d, "rhubarb-cut/change-over", 2 * MINUTE)),
    "a change by nobody": (
        "V19", lambda d: set_to(d, "rhubarb-cut/change-over", hands=0, cooks=())),
    "a change after its food": ("V19", lambda d: shift(d, "rhubarb-cut/change-over", HOUR)),
    "a cook at two places": ("V3", lambda d: [
        t.update(cooks=("Ada",)) for t in tasks(d) if t["hands"] == 1]),
    "a third cook": ("V3", lambda d: set_to(d, "bean-cut/0.wash", cooks=("Cleo",))),
    "work of nobody": ("V3", lambda d: set_to(d, "bean-cut/0.wash", cooks=())),
}  # fmt: skip


def test_the_day_as_it_is_laid_out_breaks_no_rule() -> None:
    assert judged(SOUND) == ()


@pytest.mark.parametrize("name", SPOILT)
def test_what_is_spoilt_is_found_by_its_rule(name: str) -> None:
    code, spoil = SPOILT[name]
    data = copy.deepcopy(SOUND)
    spoil(data)
    assert data != SOUND
    found = judged(data)
    assert code in {each.code for each in found}, found


def test_meat_first_is_no_fault_where_it_is_cleaned_before_food_that_is_cooked() -> None:
    """Without what is eaten raw: chicken, ten minutes of cleaning, then all the rest."""
    data = copy.deepcopy(SOUND)
    session = data["sessions"][0]
    session["runs"] = [run for run in session["runs"] if "rhubarb" not in run["id"]]
    session["tasks"] = [task for task in session["tasks"] if "rhubarb" not in task["id"]]
    cleaned(data)
    all_later(data, HOUR)
    assert "V15" not in {each.code for each in judged(data)}


def test_there_are_forty_ways_to_spoil_it() -> None:
    kitchen = [code for code, _ in SPOILT.values() if code in ("V14", "V15", "V16", "V17", "V19")]
    assert len(kitchen) >= 40
