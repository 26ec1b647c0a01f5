"""What the diary says was picked and bought is what there is, less what was taken of it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from planning.freezer_folder import BEANS, MEAT, SPRING, plan_on, write_folder

from harvestplan.plan.models import Lot, Plan

# The plan of spring picks every third day from 5 July: 1368 g on the 5th and the 8th, 1498 g on the
# 11th, 1563 g on the 14th; the evening of the 14th takes 1196, 1498 and 1563 g of the last three.
NEXT = dt.date(2027, 7, 15)
KEEPS = 6
"""Days that beans keep in the fridge (Colorado State University Extension, as the crop file says);
those still on the plant stand two more."""


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    return plan_on(write_folder(tmp_path_factory.mktemp("lane")), SPRING)


def replan(
    tmp_path: Path, published: Plan, diary: str, day: dt.date = NEXT, portions: int = 20
) -> Plan:
    folder = write_folder(tmp_path / "lane", ("portions = 20", f"portions = {portions}"))
    (folder / "diary.txt").write_text(diary, encoding="utf-8")
    return plan_on(folder, day, published)


def beans(plan: Plan) -> list[Lot]:
    return [lot for lot in plan.lots if lot.planting == "beans"]


def used(plan: Plan, status: str = "done") -> dict[str, int]:
    taken: dict[str, int] = {}
    for session in plan.sessions:
        if session.status == status:
            for share in (share for run in session.runs for share in run.lots):
                if share.lot.startswith("beans"):
                    taken[share.lot] = taken.get(share.lot, 0) + share.grams
    return taken


def test_a_pick_ahead_of_any_session_is_a_lot_with_its_own_clock(
    tmp_path: Path, published: Plan
) -> None:
    plan = replan(
        tmp_path, published, "2027-07-03 picked snap bean 2.5 kg #aaaa\n", day=dt.date(2027, 7, 4)
    )
    first = min(beans(plan), key=lambda lot: lot.ready)
    assert (first.ready, first.grams, first.picked) == (dt.date(2027, 7, 3), 2500, True)
    assert (first.low_grams, first.high_grams) == (2500, 2500)
    assert first.keep_until == first.ready + dt.timedelta(days=KEEPS)
    # The pick forecast for the 5th is the one that was made: the next comes three days later.
    later = sorted(lot.ready for lot in beans(plan) if not lot.picked)
    assert later[0] == dt.date(2027, 7, 6)
    assert sum(p.grams for p in plan.picks if p.date == first.ready) == 2500


@pytest.mark.parametrize("on", [6, 9, 12])
def test_silence_moves_no_session(tmp_path: Path, published: Plan, on: int) -> None:
    """Picks were expected from 5 July on and nobody wrote any: the sessions, and what they draw on,
    stay as they were."""
    plan = replan(tmp_path, published, "", day=dt.date(2027, 7, on))
    kept = [(s.uid, s.start, s.runs) for s in published.sessions]
    assert [(s.uid, s.start, s.runs) for s in plan.sessions if s.status != "cancelled"] == kept


@pytest.mark.parametrize(("grams", "left"), [(3000, 3000), (6000, 1743)])
def test_what_done_sessions_took_comes_off_what_was_picked(
    tmp_path: Path, published: Plan, grams: int, left: int
) -> None:
    """4257 g went into the pouches of the 14th; a pick of 6000 g the day before leaves 1743 g. A
    pick of the 15th is none of that session's."""
    on = 13 if grams == 6000 else 15
    diary = f"2027-07-{on} picked snap bean {grams} g #aaaa\n"
    plan = replan(tmp_path, published, diary)
    assert sum(used(plan).values()) == 1196 + 1498 + 1563
    rest = [lot for lot in beans(plan) if lot.picked]
    assert [(lot.ready.day, lot.grams) for lot in rest] == [(on, left)]
    # What the session drew on stands as it was drawn, to the gram, and nothing beside it.
    past = {lot.id: lot.grams for lot in beans(plan) if lot.id in used(plan)}
    assert past == used(plan)
    unused = [lot for lot in beans(plan) if lot.id not in past and not lot.picked]
    assert all(lot.ready >= NEXT for lot in unused)


def test_less_picked_than_the_session_took_leaves_nothing(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, "2027-07-12 picked snap bean 3 kg #aaaa\n")
    assert not [lot for lot in beans(plan) if lot.picked]
    assert sum(lot.grams for lot in beans(plan) if lot.ready < NEXT) == 4257


def test_given_away_and_spoiled_food_is_gone(tmp_path: Path, published: Plan) -> None:
    diary = """\
2027-07-13 picked snap bean 6 kg #aaaa
2027-07-14 gave snap bean 500 g #aaab
2027-07-15 lost snap bean 243 g #aaac
"""
    plan = replan(tmp_path, published, diary)
    assert [lot.grams for lot in beans(plan) if lot.picked] == [1000]


def test_more_than_forecast_is_planned_with(tmp_path: Path, published: Plan) -> None:
    few, many = (
        replan(tmp_path, published, f"2027-07-15 picked snap bean {grams} g #aaaa\n", portions=60)
        for grams in (400, 9000)
    )
    picked = next(lot.id for lot in beans(many) if lot.picked)
    assert used(many, "planned")[picked] > 5000
    short = [next(w.short for w in plan.wants if w.product == BEANS) for plan in (few, many)]
    assert short[0] > short[1]


def test_planning_again_and_again_never_counts_food_twice(tmp_path: Path, published: Plan) -> None:
    folder = write_folder(tmp_path / "lane")
    diary, plan = "", published
    for on in range(3, 25, 3):
        diary += f"2027-07-{on:02} picked snap bean 1.5 kg #a{on:03}\n"
        (folder / "diary.txt").write_text(diary, encoding="utf-8")
        plan = plan_on(folder, dt.date(2027, 7, on) + dt.timedelta(days=1), plan)
        told = sum(1500 for _ in diary.splitlines())
        come = sum(lot.grams for lot in beans(plan) if lot.ready <= plan.as_of)
        assert come <= told + 1500, "at most one pick that was drawn on before it was written"
        assert len({lot.id for lot in plan.lots}) == len(plan.lots)


def meat(plan: Plan) -> list[tuple[int, int]]:
    lots = [lot for lot in plan.lots if lot.crop == "minced meat"]
    return [(lot.ready.day, lot.grams) for lot in lots]


def test_a_purchase_is_what_was_bought_and_when(tmp_path: Path, published: Plan) -> None:
    bought = replan(
        tmp_path, published, "2027-06-12 bought minced meat 4 kg #aaaa\n", day=dt.date(2027, 6, 12)
    )
    assert meat(bought) == [(12, 4000)]
    assert not [line for line in bought.shopping if line.kind == "food"]
    assert [line.buy for line in published.shopping if line.kind == "food"] == [2722]


def test_a_purchase_beside_those_that_were_meant(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, "2027-07-15 bought snap bean 5 lb #aaaa\n")
    extra = [lot for lot in plan.lots if lot.bought == "snap bean"]
    assert [(lot.ready, lot.grams) for lot in extra] == [(NEXT, round(5 * 453.59237))]
    # Beans of the market ripen nowhere here: the garden's forecast does not know of them.
    assert [lot.grams for lot in beans(plan)] == [
        lot.grams for lot in beans(replan(tmp_path, published, ""))
    ]


def test_a_bigger_purchase_than_meant_leaves_the_rest(tmp_path: Path, published: Plan) -> None:
    plan = replan(
        tmp_path, published, "2027-06-15 bought minced meat 4 kg #aaaa\n", day=dt.date(2027, 6, 17)
    )
    assert sorted(grams for _, grams in meat(plan)) == [4000 - 2722, 2722]
    assert next(w for w in plan.wants if w.product == MEAT).planned == 6
