"""Which session a `froze` line tells of, and in which freezer its pouches lie.

The nearest finished session at most three days off: the program's own rule (common practice, no
source).
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from harvestplan.inputs.quantities import Quantity
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Run, Session, Task
from harvestplan.records.diary import Diary
from harvestplan.records.events import Froze
from harvestplan.records.held_sessions import finished
from harvestplan.records.put_by import PutBy, put_by

BEANS = "snap bean, cut"
LIBRARY = load_library(Path())


def day(number: int) -> dt.date:
    return dt.date(2027, 7, number)


def session(on: int, pouches: int, freezer: str = "chest", more: int = 0) -> Session:
    """A session with a run of beans, and a second one in the attic's freezer where asked."""
    start = dt.datetime.combine(day(on), dt.time(18), dt.UTC)
    runs, tasks = [], []
    for number, (count, where) in enumerate(((pouches, freezer), (more, "attic"))):
        if count:
            runs.append(
                Run(
                    id=f"r{on}.{number}",
                    product=BEANS,
                    crop="snap bean",
                    lots=(),
                    grams_in=0,
                    grams_packed=0,
                    pouch="quart",
                    pouches=count,
                    portion_grams=340,
                )
            )
            tasks.append(
                Task(
                    id=f"t{on}.{number}",
                    run=f"r{on}.{number}",
                    step="freeze",
                    batch=None,
                    equipment=(),
                    hands=1,
                    start=start,
                    end=start,
                    grams=0,
                    settings={"freezer": where},
                )
            )
    return Session(
        uid=f"s{on}",
        sequence=0,
        status="planned",
        start=start,
        end=start,
        window_start=start,
        window_end=start,
        hands=1,
        runs=tuple(runs),
        tasks=tuple(tasks),
    )


def froze(on: int, portions: int, portion: Quantity | None = None) -> Froze:
    return Froze(day(on), f"c{on}", 1, "", BEANS, portions, portion, 0)


def told(done: list[Session], *lines: Froze, today: int = 30) -> list[PutBy]:
    return sorted(put_by(done, LIBRARY, Diary(lines), today=day(today)), key=lambda put: put.day)


def counts(found: list[PutBy]) -> list[tuple[int, int, int]]:
    return [(put.day.day, put.portions, put.planned) for put in found]


def test_sessions_without_a_line_count_as_planned() -> None:
    assert counts(told([session(6, 8), session(20, 5)])) == [(6, 8, 8), (20, 5, 5)]


@pytest.mark.parametrize("on", [3, 6, 9])
def test_a_line_near_its_session_counts_in_its_place(on: int) -> None:
    assert counts(told([session(6, 8)], froze(on, 7))) == [(on, 7, 8)]


@pytest.mark.parametrize("on", [2, 10])
def test_a_line_farther_off_counts_beside_it(on: int) -> None:
    assert sorted(counts(told([session(6, 8)], froze(on, 7)))) == sorted([(6, 8, 8), (on, 7, 0)])


def test_between_two_sessions_the_nearer_one_is_meant_and_of_two_alike_the_earlier() -> None:
    both = [session(6, 8), session(10, 5)]
    assert counts(told(both, froze(9, 4))) == [(6, 8, 8), (9, 4, 5)]
    assert counts(told(both, froze(8, 4))) == [(8, 4, 8), (10, 5, 5)]


def test_several_lines_of_one_session_add_up() -> None:
    found = told([session(6, 8)], froze(6, 3), froze(7, 6))
    assert counts(found) == [(6, 3, 8), (7, 6, 0)]
    assert sum(put.portions - put.planned for put in found) == 1


def test_what_is_not_written_yet_does_not_count() -> None:
    assert counts(told([session(6, 8)], froze(8, 3), today=7)) == [(6, 8, 8)]


def test_pouches_lie_where_the_plan_had_room_for_them() -> None:
    done = [session(6, 8, more=4)]
    (less,) = told(done, froze(6, 10))
    assert dict(less.parts) == {"chest": 8, "attic": 2}
    (more,) = told(done, froze(6, 15))
    assert sum(count for where, count in more.parts if where == "chest") == 8
    assert sum(count for where, count in more.parts if where == "attic") == 7


def test_a_portion_by_volume_is_weighed_by_the_products_density() -> None:
    density = LIBRARY.find_product(BEANS)[1].density.value  # type: ignore[index]
    (put,) = told([session(6, 8)], froze(6, 8, Quantity(500.0, "volume")))
    assert put.grams == round(500 * density)
    (plain,) = told([session(6, 8)], froze(6, 8))
    assert plain.grams == 340


def test_a_session_of_today_is_finished_once_it_is_told_of() -> None:
    sessions = [session(6, 8), session(7, 8), session(8, 8)]
    assert [s.uid for s in finished(sessions, Diary(), day(7))] == ["s6"]
    assert [s.uid for s in finished(sessions, Diary((froze(7, 3),)), day(7))] == ["s6", "s7"]
    gone = sessions[0].model_copy(update={"status": "cancelled"})
    assert finished([gone], Diary(), day(30)) == ()
