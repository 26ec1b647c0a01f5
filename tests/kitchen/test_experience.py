"""Own paces, spares by failed seals, and the machine's hours as planner and judge reckon them."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from kitchen.foods import BEANS, crop, kitchen, product

from harvestplan.inputs.season_kitchen import Freezer, Sealer
from harvestplan.kitchen.at_pace import at_pace
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.experience import Experience, Pace, Sealing, pace_words
from harvestplan.kitchen.layout import Layout, lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.own_pace import OwnPace
from harvestplan.plan.models import Run, Session, Task

ZONE = ZoneInfo("Europe/London")
START = dt.datetime(2027, 7, 14, 18, tzinfo=ZONE)


def session(status: str, product_name: str = "snap bean, whole", days: int = 0) -> Session:
    start = START + dt.timedelta(days=days)
    end = start + dt.timedelta(hours=2)
    run = Run(
        id="r",
        product=product_name,
        crop="snap bean",
        lots=(),
        grams_in=1000,
        grams_packed=900,
        pouch="pint",
        pouches=6,
        portion_grams=150,
    )
    task = Task(
        id="r/seal",
        run="r",
        step="seal",
        batch=None,
        equipment=("sealer",),
        hands=1,
        start=start,
        end=end,
        grams=900,
        settings={"machine_s": 114},
    )
    return Session.model_validate(
        {
            "uid": f"u{days}",
            "sequence": 0,
            "status": status,
            "start": start,
            "end": end,
            "window_start": start,
            "window_end": end,
            "hands": 1,
            "runs": (run,),
            "tasks": (task,),
        }
    )


def test_only_hand_work_goes_at_the_households_pace() -> None:
    book, slow = product(BEANS), at_pace(product(BEANS), OwnPace(1.5))
    for before, after in zip(book.steps, slow.steps, strict=True):
        for key in ("per_kg", "fixed"):
            if (figure := getattr(before, key)) is not None:
                times = 1.5 if before.step not in ("drain",) else 1.0
                assert getattr(after, key).value == pytest.approx(times * figure.value)
        assert (before.time, before.ratio, before.leaves) == (after.time, after.ratio, after.leaves)


def test_a_step_timed_by_itself_has_its_own_pace_and_blanching_none() -> None:
    book = product(BEANS)
    own = at_pace(book, OwnPace(0.5, {"trim": 2.0, "cool": 0.5, "drain": 0.5}))
    for before, after in zip(book.steps, own.steps, strict=True):
        times = {"trim": 2.0, "cool": 1.0, "drain": 1.0}.get(before.step, 0.5)
        if before.per_kg is not None and after.per_kg is not None:
            assert after.per_kg.value == pytest.approx(times * before.per_kg.value)
        assert (before.time, before.ratio) == (after.time, after.ratio)


def test_a_slower_kitchen_gets_longer_tasks_and_the_same_blanching() -> None:
    made = product(BEANS)
    at_home = Kitchen(
        **{
            **vars(kitchen()),
            "freezers": (Freezer(name="freezer", volume="200 L"),),
            "paces": {"snap bean, whole": OwnPace(1.4)},
        }
    )
    slow = make_process(at_home, crop(made), made, portion_grams=340)
    book = make_process(kitchen(), crop(made), made, portion_grams=340)
    assert (slow.pace, book.pace) == (OwnPace(1.4), OwnPace())
    raw = book.raw(6)
    layouts = [lay_out(each, raw, 6, sitting="whole", freezer="freezer") for each in (book, slow)]
    trims = [seconds(layout, "trim") for layout in layouts]
    assert trims[1] == pytest.approx(1.4 * trims[0], rel=0.03)
    for step in ("blanch", "cool", "seal"):
        assert seconds(layouts[0], step) == seconds(layouts[1], step)


def seconds(layout: Layout, step: str) -> int:
    """What all tasks of a step take."""
    return sum(task.seconds for task in layout.tasks if task.step == step)


@pytest.mark.parametrize(
    ("sealed", "failed", "pouches", "spares"),
    [
        (0, 0, 40, 2),  # five in a hundred (common practice, no source)
        (0, 0, 41, 3),
        (100, 0, 40, 1),  # 5 of 200
        (85, 15, 40, 4),  # 20 of 200
        (900, 0, 40, 1),  # 5 of 1000 are 0.2 pouches, rounded up
        (0, 0, 0, 0),
    ],
)
def test_spares_go_by_the_seals_that_failed(
    sealed: int, failed: int, pouches: int, spares: int
) -> None:
    assert Experience(seals={"beet, sliced": (sealed, failed)}).spares(pouches) == spares


def test_recorded_sealing_counts_in_place_of_the_evenings_plan() -> None:
    name = "snap bean, whole"
    evenings = [session("done"), session("done", days=7), session("planned", days=14)]
    assert Experience().machine_seconds(evenings) == 3 * 114
    same_day = Experience(sealings=(Sealing(START.date(), name, 190),))
    assert same_day.machine_seconds(evenings) == 190 + 2 * 114
    morning_after = Experience(sealings=(Sealing(dt.date(2027, 7, 15), name, 190),))
    assert morning_after.machine_seconds(evenings) == 190 + 2 * 114
    unplanned = Experience(sealings=(Sealing(dt.date(2027, 8, 30), name, 190),))
    assert unplanned.machine_seconds(evenings) == 190 + 3 * 114


def test_the_pace_is_said_in_plain_words() -> None:
    trim = {"trim": Pace(1.4, 1.6, 2)}
    both = pace_words("snap bean, cut", Pace(1.12, 1.2, 4, steps=trim))
    assert "but with 1.4 times for trim (you timed it twice)" in both
    alone = pace_words("snap bean, cut", Pace(1.0, 1.0, 0, steps=trim))
    assert "plans reckon with 1.4 times for trim" in alone
    assert "evening" not in alone
    said = pace_words("snap bean, cut", Pace(1.12, 1.2, 4))
    assert said == (
        "snap bean, cut takes you 1.2 times the book's minutes of hand work, from 4 evenings; "
        "plans reckon with 1.1 times."
    )


def test_a_service_starts_the_machines_clock_anew() -> None:
    sealer = Sealer.model_validate({"kind": "chamber", "bar": "12 in", "run_so_far": "2 h"})
    evenings = [session("done"), session("done", days=7), session("planned", days=14)]
    told = (Sealing(START.date(), "snap bean, whole", 190),)
    before = Experience(sealings=told)
    assert before.running_seconds(sealer, evenings) == 7200 + 190 + 2 * 114
    after = Experience(sealings=told, serviced=dt.date(2027, 7, 18))
    assert after.running_seconds(sealer, evenings) == 2 * 114
    pair = Sealer.model_validate({"kind": "chamber", "bar": "12 in", "count": 2})
    assert before.running_seconds(pair, evenings) == (190 + 2 * 114) / 2
