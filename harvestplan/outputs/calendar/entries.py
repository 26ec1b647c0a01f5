"""What stands in the calendar: sessions, picks, food to give away, things to order."""

from __future__ import annotations

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from harvestplan.foresight.worth_file import NO_WORTHS, Worths, worth_words
from harvestplan.inputs.crops import Library
from harvestplan.inputs.ids import called
from harvestplan.inputs.season import Season
from harvestplan.outputs.food_notes import eat_or_freeze
from harvestplan.outputs.paper.runsheet import brief_lines
from harvestplan.outputs.session_names import products
from harvestplan.outputs.shopping_words import buy_words, numbered
from harvestplan.outputs.surplus import gifts_by_lot
from harvestplan.plan.models import Pick, Plan, Session
from harvestplan.words import clock, day, joined, mass, one_line

SURE_DAYS = 14
"""Days ahead for which entries are confirmed; beyond, the forecast may still move them."""
LIMIT = 79
VISIT_ALARM_FROM = dt.time(9)
"""Alarms come two hours before: for a visit none before seven in the morning (own judgement)."""
Uid = Callable[[str], str]
"""The UID of what has this key in the season."""
_SPACE = uuid.UUID("5b0c0f7e-6a52-5c64-9f3c-5a1f0c3c9d11")


@dataclass(frozen=True)
class Entry:
    """One entry. `start` and `end` are aware times, or dates with `end` exclusive
    (RFC 5545, 3.6.1)."""

    uid: str
    start: dt.datetime | dt.date
    end: dt.datetime | dt.date
    summary: str
    description: str
    status: str
    busy: bool
    alarm: bool = False
    least_sequence: int = 0

    @property
    def cancelled(self) -> bool:
        return self.status == "CANCELLED"


def entry_uid(plan: Plan, seed: str | None, key: str) -> str:
    """A UUID of `key` in this season, the same in every plan (RFC 7986, 5.3).

    `seed` is the season's own (`SeasonId.seed`); without one it is the household's name.
    """
    name = f"{seed or plan.season.name}|{plan.season.start.year}|{key}"
    return str(uuid.uuid5(_SPACE, name.encode("utf-8", "backslashreplace").decode()))


def local_date(moment: dt.datetime | dt.date) -> dt.date:
    """The date of a moment in its own zone."""
    return moment.date() if isinstance(moment, dt.datetime) else moment


def entries(
    plan: Plan,
    season: Season,
    library: Library,
    *,
    worths: Worths = NO_WORTHS,
    seed: str | None = None,
) -> list[Entry]:
    """Everything the plan puts in the calendar; cancelled sessions until their date is past.

    `seed` is what UIDs are made from (`entry_uid`), but for those of sessions, which the plan has.
    """
    uid = partial(entry_uid, plan, seed)
    kept = [s for s in plan.sessions if s.live or s.start.date() >= plan.as_of]
    return [
        *(
            _session_entry(session, plan, season, library=library, worths=worths)
            for session in kept
        ),
        *_pick_entries(plan, season, uid),
        *_gift_entries(plan, season, library, uid=uid),
        *_order_entries(plan, season, uid),
        *_eat_entries(plan, library, uid),
        *_kept_free_entries(plan, uid),
    ]


def _status(date: dt.date, plan: Plan) -> str:
    near = date <= plan.as_of + dt.timedelta(days=SURE_DAYS)
    return "CONFIRMED" if near else "TENTATIVE"


def _session_entry(
    session: Session, plan: Plan, season: Season, *, library: Library, worths: Worths
) -> Entry:
    cancelled = not session.live
    status = _status(session.start.date(), plan) if session.status == "planned" else "CONFIRMED"
    worth = [one_line(worth_words(worths[session.uid]))] if session.uid in worths else []
    lines = [*worth, *brief_lines(session, season, library)]
    what = "Pack" if session.is_visit else "Put by"
    summary = f"{what}: {'; '.join(products(session)) or 'kitchen session'}"
    return Entry(
        uid=one_line(session.uid),
        start=session.start,
        end=session.end,
        summary=one_line(f"Cancelled: {summary}" if cancelled else summary, LIMIT),
        description="" if cancelled else "\n".join(lines),
        status="CANCELLED" if cancelled else status,
        busy=not cancelled,
        alarm=not cancelled and (not session.is_visit or session.start.time() >= VISIT_ALARM_FROM),
        least_sequence=session.sequence,
    )


def _all_day(plan: Plan, uid: str, date: dt.date, *, summary: str, lines: list[str]) -> Entry:
    return Entry(
        uid=uid,
        start=date,
        end=date + dt.timedelta(days=1),
        summary=one_line(summary, LIMIT),
        description="\n".join(one_line(line) for line in lines),
        status=_status(date, plan),
        busy=False,
    )


def _pick_entries(plan: Plan, season: Season, uid: Uid) -> list[Entry]:
    """One entry for each date with picks; named after a planting's n-th pick, not the date, so
    that it moves with the pick."""
    dates: dict[str, list[dt.date]] = defaultdict(list)
    by_date: dict[dt.date, list[tuple[str, Pick]]] = defaultdict(list)
    for pick in sorted(plan.picks, key=lambda each: (each.date, each.planting, each.crop)):
        if pick.date not in dates[pick.planting]:
            dates[pick.planting].append(pick.date)
        key = f"pick|{pick.planting}|{len(dates[pick.planting]):04d}"
        by_date[pick.date].append((key, pick))
    sessions = {session.uid: session for session in plan.sessions}
    measures = season.household.measures
    found = []
    for date, picks in by_date.items():
        grams: dict[str, int] = defaultdict(int)
        for _, pick in picks:
            grams[pick.crop] += pick.grams
        amounts = [f"{crop}, {mass(total, measures)}" for crop, total in grams.items()]
        lines = [_pick_line(pick, sessions, season) for _, pick in picks]
        key = min(key for key, _ in picks)
        found.append(
            _all_day(plan, uid(key), date, summary=f"Pick: {'; '.join(amounts)}", lines=lines)
        )
    return found


def _pick_line(pick: Pick, sessions: dict[str, Session], season: Season) -> str:
    line = (
        f"{called(pick.planting, pick.crop)}: about {mass(pick.grams, season.household.measures)}"
    )
    session = sessions.get(pick.session or "")
    if session is None:
        return line
    time = clock(session.start, season.household.measures)
    return f"{line}, for the session on {day(session.start.date())} at {time}"


def _gift_entries(plan: Plan, season: Season, library: Library, *, uid: Uid) -> list[Entry]:
    by_date: dict[dt.date, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    first: dict[dt.date, str] = {}
    for surplus in gifts_by_lot(plan, season, library):
        date = surplus.lot.keep_until
        by_date[date][surplus.lot.crop] += surplus.grams
        first[date] = min(first.get(date, surplus.lot.id), surplus.lot.id)
    found = []
    for date, grams in by_date.items():
        amounts = [
            f"{crop}, about {mass(total, season.household.measures)}"
            for crop, total in grams.items()
        ]
        summary = f"Give away by today: {'; '.join(amounts)}"
        lines = ["More than is wanted or can be put by:", *amounts]
        found.append(_all_day(plan, uid(f"gift|{first[date]}"), date, summary=summary, lines=lines))
    return found


def _order_entries(plan: Plan, season: Season, uid: Uid) -> list[Entry]:
    by_date: dict[dt.date, list[tuple[str, str]]] = defaultdict(list)
    for key, line in numbered(plan.shopping):
        if line.buy:
            by_date[line.order_by].append((key, buy_words(line, season)))
    found = []
    for date, things in by_date.items():
        words = [thing for _, thing in things]
        summary = f"Order or buy by today: {joined(words)}"
        key = min(key for key, _ in things)
        found.append(_all_day(plan, uid(f"order|{key}"), date, summary=summary, lines=words))
    return found


def _eat_entries(plan: Plan, library: Library, uid: Uid) -> list[Entry]:
    """One entry for each day on which food in the refrigerator must be eaten or frozen, named after
    what is packed first of it."""
    found = []
    for by, foods in eat_or_freeze(plan, library).items():
        words = [food.words for food in foods]
        key = uid(f"eat|{min(f'{food.made}|{food.product}' for food in foods)}")
        summary = f"Eat or freeze by today: {'; '.join(words)}"
        found.append(_all_day(plan, key, by, summary=summary, lines=words))
    return found


def _kept_free_entries(plan: Plan, uid: Uid) -> list[Entry]:
    """One entry for each evening held in which no session stands, named after its date and hour:
    the same in every plan as long as it is kept."""
    return [
        Entry(
            uid=uid(f"kept free|{time.start:%Y-%m-%d %H:%M}"),
            start=time.start,
            end=time.end,
            summary="Kept free, should the weather turn",
            description="Nothing is planned yet. Should food ripen early, late or plentifully, a "
            "new plan finds this time.",
            status="TENTATIVE",
            busy=False,
        )
        for time in plan.kept_free
    ]
