"""What is said in the cases that come up seldom, from answers made by hand."""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from season_tables import kitchen

from harvestplan.foresight.answers import (
    Curve,
    CurvePoint,
    Elsewhere,
    EveningWorth,
    Fullest,
    Help,
    Loss,
    Move,
    Outlook,
    Sowing,
    SowingScore,
    Sown,
    WhatHelps,
    Worth,
)
from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.machine_settings import Try
from harvestplan.outputs.calendar import publish, publish_text
from harvestplan.outputs.calendar.edits import Altered
from harvestplan.outputs.calendar.pulled import Taken
from harvestplan.outputs.terminal.settings_text import settings_text
from harvestplan.outputs.terminal.sowing_text import sowing_text
from harvestplan.outputs.terminal.what_if_text import (
    compare_text,
    curve_text,
    helps_text,
    loss_text,
    worth_text,
)
from harvestplan.plan.remedy import Portions

EVENING = dt.datetime(2027, 8, 3, 18, 0, tzinfo=dt.UTC)
BEANS, DRY = "snap bean, cut", "dry bean, sealed"


def flat(text: str) -> str:
    return " ".join(text.split())


# Side by side.

BASE = Outlook(
    name="as it stands",
    wanted=28,
    planned=20,
    worth=8,
    bound=8,
    evenings=5,
    products=(Portions(product=BEANS, portions=12), Portions(product=DRY, portions=8)),
    cost=12.5,
    minutes=630,
)


def variant(**more: Any) -> Outlook:
    return BASE.model_copy(update={"name": "more", **more})


def test_side_by_side() -> None:
    more = variant(
        planned=23,
        worth=10.5,
        bound=12,
        evenings=6,
        wanted=30,
        cost=None,
        products=(Portions(product=BEANS, portions=16), Portions(product=DRY, portions=7)),
        freezer=Fullest(freezer="chest", date=dt.date(2027, 8, 9), share=0.944),
    )
    lines = compare_text([BASE, more]).splitlines()
    assert lines[1].split() == ["as", "it", "stands", "20", "8.0", "5", "–", "12.50", "10.5", "h"]
    assert lines[2].split() == ["A", "23", "10.5", "(≤", "12.0)", "6", "94%", "–", "10.5", "h"]
    said = flat("\n".join(lines[3:]))
    assert "Puts by -1 dry bean, sealed and +4 snap bean, cut." in said
    assert "Wanted then: 30 portions." in said
    assert "The chest is fullest on Mon 9 August 2027." in said
    assert "not proven" not in said  # 10.5 is more than the 8 that are proven for the other


@pytest.mark.parametrize(
    ("worth", "bound", "unsure"),
    [(8, 8, False), (8, 9, True), (9, 9, False), (7, 7, False), (7, 7.5, False), (7, 9, True)],
)
def test_which_is_better_is_said_to_be_open_where_it_is(
    worth: float, bound: float, unsure: bool
) -> None:
    """The season as it stands is proven to be worth 8: the other one lies within its bounds."""
    said = compare_text([BASE, variant(worth=worth, bound=bound)])
    assert ("the bounds overlap" in flat(said)) == unsure
    assert "Puts by the same." in said


def test_a_variant_without_a_plan_and_more_than_the_alphabet() -> None:
    lame = variant(trouble="No window\nholds it.")
    said = compare_text([BASE, *[variant()] * 26, lame])
    short = compare_text([BASE, *[variant()] * 26, lame], False).splitlines()
    assert len(short) <= 23 and max(map(len, short)) < 80
    assert short[-1].endswith("the same with --all")
    assert short[: len(short) - 2] == said.splitlines()[: len(short) - 2]
    assert [line[:2] for line in said.splitlines()[2:5]] == ["A ", "B ", "C "]
    row = next(line for line in said.splitlines() if line.startswith("27"))
    assert set(row[2:]) == {" ", "–"} and row.count("–") == 6
    assert "There is no plan: No window holds it." in flat(said)


# What is lost.


def loss(**more: Any) -> Loss:
    made = {
        "starts": (EVENING,),
        "worth_with": 9.0,
        "worth_without": 6.0,
        "lost": 3.0,
        "least": 3.0,
        "most": 3.0,
        "moves": (),
        "products": (Portions(product=BEANS, portions=3),),
    }
    return Loss.model_validate(made | more)


def test_what_is_lost_without_an_evening() -> None:
    said = flat(loss_text(loss(), "US"))
    assert said.startswith(
        "Without Tue 3 August 2027, 6:00 pm Lost: 3 portions of snap beans, cut."
    )
    assert "The plan is worth 9.0 portions with it, 6.0 without, the toil taken off." in said
    assert "Proven" not in said and "Instead" not in said and "Moves" not in said
    open_one = flat(loss_text(loss(least=1, most=5, current=False), "metric"))
    assert "18:00" in open_one
    assert "Proven: at least 1.0 and at most 5.0 are lost." in open_one
    assert "The written plan is not what this starts from" in open_one


def test_what_comes_instead_and_moves_elsewhere() -> None:
    moves = (Move(product=DRY, portions=1, start=EVENING + dt.timedelta(days=4)),)
    products = (Portions(product=BEANS, portions=-2), Portions(product=DRY, portions=0))
    said = flat(loss_text(loss(products=products, moves=moves), "US"))
    assert "As much is put by. Instead: 2 portions of snap beans, cut." in said
    assert "Moves elsewhere: Sat 7 August: 1 portion of dry beans" in said


def test_what_each_session_is_worth_the_dearest_first() -> None:
    def worth(day: int, lost: float, least: float, *portions: tuple[str, int]) -> EveningWorth:
        return EveningWorth(
            uid=str(day),
            start=EVENING + dt.timedelta(days=day),
            lost=lost,
            least=least,
            portions=tuple(Portions(product=p, portions=n) for p, n in portions),
        )

    sessions = (
        worth(0, 0, 0),
        worth(1, 2, 2, (BEANS, 3), (DRY, -1)),
        worth(2, 5, 1, (BEANS, 5)),
        worth(3, 1, 0, (DRY, 1)),
        worth(4, 0.5, 0.5),
        worth(5, 0.01, 0, (DRY, 2)),
    )
    said = worth_text(Worth(plan="x", sessions=sessions), "metric").replace("\n  ", " ")
    days, words = zip(*(line.split(": ", 1) for line in said.splitlines()), strict=True)
    assert [each.split()[1] for each in days] == ["5", "4", "6", "7", "8", "3"]
    assert words[0].endswith(
        "at most 5 portions of snap bean, cut; some of it is lost for certain."
    )
    assert "you lose 3 portions of snap bean, cut (and 1 more of dry bean, sealed)" in words[1]
    assert words[2].endswith("at most 1 portion of dry bean, sealed; maybe less.")
    assert "as much is put by" in words[3]
    assert words[3].endswith("the plan is worth 0.5 portions less.")
    assert words[4].endswith(
        "you lose 2 portions of dry bean, sealed, and are spared as much in toil."
    )
    assert "nothing is lost: others take it over" in words[5]
    assert worth_text(Worth(plan="x", sessions=()), "US") == "No session lies ahead."


# What would help.


def test_what_would_help_is_told_with_what_is_not_proven() -> None:
    def help_(
        unit: str, gain: float, least: float, most: float, trouble: str | None = None
    ) -> Help:
        return Help(
            unit=unit,
            change=f"{unit}=+1",
            portions=round(gain),
            gain=gain,
            least=least,
            most=most,
            trouble=trouble,
        )

    found = WhatHelps(
        base=BASE,
        helps=(
            help_("a pot", 3, 3, 3),
            help_("a bath", 2, 0, 4),
            help_("a tray", 0, 0, 0),
            help_("a dryer", 0, 0, 0, "There is no window."),
        ),
    )
    said = helps_text(found)
    rows = [line.split() for line in said.splitlines() if line.strip().startswith(("+", "-"))]
    assert rows == [
        ["+3", "+3.0", "yes", "a", "pot"],
        ["+2", "+2.0", "0.0", "to", "4.0", "a", "bath"],
        ["+0", "+0.0", "yes", "a", "tray"],
    ]
    assert "so it may help or not: a bath." in flat(said)
    assert "Proven not to help: a tray." in flat(said)
    assert '  a dryer: "a dryer=+1"' in said.splitlines()


def test_the_curve_over_evenings_has_bars_for_what_is_put_by() -> None:
    points = tuple(
        CurvePoint(evenings=n, portions=5 * n, worth=4 * n, bound=4 * n + (n == 1))
        for n in range(3)
    )
    lines = curve_text(Curve(wanted=8, points=points)).splitlines()
    assert [line.count("█") for line in lines[1:4]] == [0, 20, 40]
    assert "4.0 (≤ 5.0)" in lines[2]
    level = curve_text(Curve(wanted=8, points=points[:1]))
    assert "█" not in level


# Sowing otherwise.

SCORE = SowingScore(short=9.25, surplus_kg=12, evenings=6)
BETTER = SowingScore(short=2, surplus_kg=3, evenings=5.5)
ROW = Sown(
    id='by "the wall"',
    crop="snap bean",
    row=9.144,
    sown=dt.date(2027, 5, 20),
    days_to_maturity=55,
    yield_g=4535.924,
)
BED = Sown(id="bed", crop="carrot", area=3.7161216, sown=dt.date(2027, 4, 1))
POTS = Sown(id="pots", crop="tomato", plants=6, set_out=dt.date(2027, 5, 19))


def sowing(**more: Any) -> Sowing:
    made = {
        "years": (2009, 2003, 2012),
        "seed": 7,
        "tries": 45,
        "before": SCORE,
        "after": BETTER,
        "moved": ("bed",),
        "plantings": (ROW, BED, POTS),
    }
    return Sowing.model_validate(made | more)


def test_a_sowing_is_shown_beside_the_one_written_with_tables_to_copy() -> None:
    """30 ft is 9.144 m, 40 square feet 3.716 m², 10 lb 4535.9 g (NIST Handbook 44)."""
    said = sowing_text(sowing(), "US")
    short = next(line.split() for line in said.splitlines() if "portions short" in line)
    assert [float(each) for each in short[-2:]] == pytest.approx([9.25, 2], abs=0.051)
    for word in (
        "(2009)",
        "(2003)",
        "(2012)",
        "45 sowings",
        "seed 7",
        "Otherwise than written: bed",
    ):
        assert word in flat(said)
    assert "It was not tried in other years." in said
    tables = tomllib.loads(said[said.index("[[planting]]") :])["planting"]
    assert tables == [
        {
            "id": 'by "the wall"',
            "crop": "snap bean",
            "row": "30 ft",
            "sown": dt.date(2027, 5, 20),
            "days_to_maturity": 55,
            "yield": "10 lb",
        },
        {"id": "bed", "crop": "carrot", "area": "40 sq ft", "sown": dt.date(2027, 4, 1)},
        {"id": "pots", "crop": "tomato", "plants": 6, "set_out": dt.date(2027, 5, 19)},
    ]


def test_a_sowing_in_other_years_and_none_that_is_better() -> None:
    elsewhere = Elsewhere(
        years=tuple(range(1990, 2010)), before=SCORE, after=BETTER, better=12, worse=3
    )
    said = flat(sowing_text(sowing(elsewhere=elsewhere), "metric"))
    assert "in 20 past years" in said
    assert "clearly better in 12, clearly worse in 3" in said
    same = sowing_text(sowing(moved=(), after=SCORE), "metric")
    assert "No sowing tried is better than the one written." in same
    assert "Otherwise" not in same


# The settings book.

PUREE = "winter squash, purée"


def settings(*tries: Try) -> str:
    tables = tomllib.loads(
        '[household]\nname = "The Lane"\ntimezone = "America/Chicago"\n'
        "[season]\nstart = 2027-06-01\nend = 2027-10-31\n"
        + kitchen(sealer='kind = "chamber"\nbar = "12 in"')
        + '[[oven]]\nname = "oven"\ntrays = 2\ntray_load = "4 lb"\n'
        f'[[want]]\nproduct = "{PUREE}"\nportions = 3\nportion = "1 lb"\n'
        '[[want]]\nproduct = "tomato, dried"\nportions = 3\nportion = "1 lb"\n'
        '[[want]]\nproduct = "unheard of"\nportions = 3\nportion = "1 lb"\n'
    )
    season = Season.model_validate(
        {key: tuple(value) if isinstance(value, list) else value for key, value in tables.items()}
    )
    return flat(settings_text(season, load_library(), {PUREE: tries}))


def test_settings_that_are_settled_or_only_one_side_is_known() -> None:
    start = 12.0  # s, as in tests/records/test_tries.py
    assert f"{PUREE}, in quart: pump-down {start:.0f} s" in settings()
    assert "unheard of" not in settings() and "tomato, dried" not in settings()
    assert f"It held at 20 s (it started at {start:.0f} s). Try" in settings(Try(20, True))
    assert f"It failed at 9 s (it started at {start:.0f} s)." in settings(Try(9, False))
    done = settings(Try(20, True), Try(21, False))
    assert "It held at 20 s and failed at 21 s" in done and "That is settled." in done


# Publishing.


def move(uid: str, summary: str, deleted: bool = False) -> Altered:
    if deleted:
        return Altered(uid, summary, "2027-08-03 18:00", "deleted")
    return Altered(uid, summary, "2027-08-03 18:00", "moved", EVENING)


def test_what_was_put_back_left_or_changed_in_the_same_moment() -> None:
    done = publish.Done(
        created=["a"],
        updated=["b", "c"],
        unchanged=["d"],
        clashes=["e"],
        waiting=["f", "g"],
        put_back=[move("b", "Beans"), move("c", "Tomatoes", deleted=True)],
        unread=[move("h", "Corn")],
    )
    said = publish_text.published_text(done, "https://cal.example/", False)
    assert said.startswith("https://cal.example/: 1 new, 2 changed, 0 deleted, 1 as they were.")
    assert "These were put back" in said and "Beans (planned for 2027-08-03 18:00): moved" in said
    assert "Tomatoes (planned for 2027-08-03 18:00): deleted in your calendar" in said
    assert "You changed these there" in said and "Corn (planned for" in said
    assert "2 moved or deleted there are left so; now plan again." in said
    assert "1 changed there in this moment; publish once more." in said
    dry = publish_text.published_text(done, "https://cal.example/", True)
    assert dry.startswith("Would be: 1 new") and "These would be put back" in dry
    data = json.loads(publish_text.published_json([done]))
    assert data["put_back"] == [
        {"uid": "b", "what": "moved", "start": EVENING.isoformat(), "deleted": False},
        {"uid": "c", "what": "deleted", "start": None, "deleted": True},
    ]
    assert (data["created"], data["clashes"], data["waiting"]) == (["a"], ["e"], ["f", "g"])


def test_what_was_taken_in() -> None:
    assert publish_text.taken_text([], False) == "Everything stands there as it was put."
    written = Taken(move("a", "Beans"), "2027-08-01 moved session x to y #a1f3")
    back = Taken(move("b", "Corn"), "2027-08-01 undo #a1f3 #a1f4", back=True)
    left = Taken(move("c", "Picks"), None)
    said = publish_text.taken_text([written, back], False)
    assert (
        "wrote: 2027-08-01 moved session" in said and "Corn is back where the plan has it" in said
    )
    assert publish_text.TAKEN_ADVICE in said and publish_text.LEFT_ADVICE not in said
    dry = publish_text.taken_text([left], True)
    assert publish_text.LEFT_ADVICE in dry and publish_text.TAKEN_ADVICE not in dry
    assert "wrote" not in dry and "would write: " in publish_text.taken_text([written], True)
    assert json.loads(publish_text.taken_json([written, left]))[1] == {
        "uid": "c",
        "what": "moved",
        "start": EVENING.isoformat(),
        "deleted": False,
        "line": None,
    }


def test_what_was_written_to_a_folder() -> None:
    said = publish_text.folder_text([Path("x/sessions.ics")])
    assert said.startswith("wrote x/sessions.ics") and publish_text.FOLDER_ADVICE in said
