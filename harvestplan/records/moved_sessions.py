"""What the diary says of sessions that the household moved, and of days it keeps free.

A line "moved session A to B" is about the session that stood at A in the plan published then.
Plans keep what they made of each such line (`Plan.wishes`), so that the line still means the same
session when another one stands at A.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

from harvestplan.bounded import read_json
from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import Plan, Wish
from harvestplan.records.diary import Diary
from harvestplan.records.events import KeepFree, Moved
from harvestplan.records.held_sessions import frees, keeps_free, never_held, nothing_to_pack, told

MOVED_AGAIN = "It was moved again afterwards."
DAY_OFF = "That time was kept free afterwards."
NOT_THERE = "No session stood there in the plan."
BEGUN = "It packs what an earlier session put to chill, so it has to stay."
HELD = "It was held: the diary tells what was frozen then."
OUTSIDE = "That day lies outside the season."
_PLAN = Path("out", "plan.json")


@dataclass(frozen=True)
class Wishes:
    """Moves in the order of the diary, times to keep free, and sentences worth knowing."""

    moves: tuple[Wish, ...] = ()
    free: tuple[KeepFree, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def asked(self) -> bool:
        """Whether the plan has to heed anything of it."""
        return bool(self.free) or any(not wish.why for wish in self.moves)


NO_WISHES = Wishes()


def read_wishes(diary: Diary, published: Plan | None, zone: ZoneInfo, *, as_of: dt.date) -> Wishes:
    """What the diary's lines up to `as_of` ask of the next plan. Without a published plan there is
    no session to move, but times are kept free all the same."""
    bound = set() if published is None else set(_bound(published, diary, as_of))
    sessions = () if published is None else published.sessions
    moves: list[Wish] = []
    free: list[KeepFree] = []
    notes: list[str] = []
    for event in diary.events:
        if event.date > as_of:
            continue
        if isinstance(event, Moved) and published is not None:
            wish = _wish(event, published, zone, bound=bound, diary=diary)
            moves = [_given_up(w, MOVED_AGAIN, w.session == wish.session) for w in moves]
            moves.append(wish)
        elif isinstance(event, KeepFree):
            if any(s.uid in bound and frees(event, s) for s in sessions):
                notes.append(
                    f'"{event.text}" is not followed: on that day food is packed that '
                    "was put to chill before."
                )
                continue
            moves = [_given_up(w, DAY_OFF, _frees_wish(event, w)) for w in moves]
            free.append(event)
    return Wishes(tuple(moves), tuple(free), tuple(notes))


def no_such_session(folder: Path, event: Moved) -> Iterator[str]:
    """A warning where the written plan has no session at the time that the event names."""
    try:
        sessions = read_json(folder / _PLAN)["sessions"]
        written = [s["start"] for s in sessions if s["status"] != "cancelled"]
        starts = {dt.datetime.fromisoformat(start).isoformat()[:16] for start in written}
    except (OSError, ValueError, KeyError, TypeError):
        yield "There is no plan yet, so there is no session to move."
        return
    if event.session.isoformat()[:16] not in starts:
        near = sorted(starts, key=lambda s: (s[:10] != f"{event.session:%Y-%m-%d}", s))[:3]
        shown = ", ".join(start.replace("T", " ") for start in near)
        when = f"{event.session:%Y-%m-%d %H:%M}"
        yield f"The plan has no session at {when}; it has {shown or 'none'}."


def _wish(
    event: Moved, published: Plan, zone: ZoneInfo, *, bound: Iterable[str], diary: Diary
) -> Wish:
    there, to = (moment.replace(tzinfo=zone) for moment in (event.session, event.to))
    known = [w for w in published.wishes if (w.moved_from, w.moved_to) == (there, to)]
    if known:
        # Whether it was given up is read from the diary anew: a line after it may be taken back.
        anew: dict[str, object] = {"why": "", "given_up": False} if known[-1].given_up else {}
        return known[-1].model_copy(update=anew | {"moved_from": there, "moved_to": to})
    live = (s for s in published.sessions if s.live)
    session = next((s for s in live if _minute(s.start) == there.astimezone(dt.UTC)), None)
    if session is None:
        return Wish(session="", moved_from=there, moved_to=to, seconds=0, hands=0, why=NOT_THERE)
    # What lies frozen on trays may be packed at another time; the planner looks how late.
    why = BEGUN if session.uid in bound and not session.is_visit else ""
    if not published.season.start <= event.to.date() <= published.season.end:
        why = OUTSIDE
    if told(session, diary):
        why = HELD
    return Wish(
        session=session.uid,
        moved_from=there,
        moved_to=to,
        seconds=int(session.end.timestamp() - session.start.timestamp()),
        hands=session.hands,
        why=why,
        kind=session.kind,
    )


def _given_up(wish: Wish, why: str, applies: bool) -> Wish:
    return (
        wish.model_copy(update={"why": why, "given_up": True}) if applies and not wish.why else wish
    )


def _bound(plan: Plan, diary: Diary, as_of: dt.date) -> Iterator[str]:
    """Sessions that have begun, and those that pack what one before `as_of` or begun that day put
    to chill."""
    never = never_held(plan.sessions, diary, as_of)
    live = [s for s in plan.sessions if s.live and s.uid not in never]
    past = [s for s in live if s.start.date() < as_of or s.cut_at is not None]
    begun = {run.id for s in past for run in s.runs}
    for session in live:
        cut = session.cut_at is not None
        if cut or any(run.second_sitting_of in begun for run in session.runs):
            yield session.uid


def released(
    plan: Plan, wishes: Wishes, windows: Iterable[FreeWindow], *, diary: Diary, as_of: dt.date
) -> frozenset[str]:
    """Sessions from `as_of` on that need not stay though they are near: the household moves them,
    keeps the time free, or is no longer free then (`windows`), or what they were to pack was never
    begun; with those that pack what such a session begins."""
    free = {(window.start, window.end) for window in windows}
    put = {w.session: w.moved_to for w in wishes.moves if not w.why}
    ahead = [s for s in plan.sessions if s.live and s.start.date() >= as_of]
    let_go = {
        s.uid
        for s in ahead
        if put.get(s.uid, s.start) != s.start
        or (s.window_start, s.window_end) not in free
        or any(frees(event, s) for event in wishes.free)
    } - set(_bound(plan, diary, as_of))
    let_go |= nothing_to_pack(plan.sessions, diary, as_of)
    begun = {run.id for s in ahead if s.uid in let_go for run in s.runs}
    packing = {s.uid for s in ahead if any(run.second_sitting_of in begun for run in s.runs)}
    return frozenset(let_go | packing)


def _frees_wish(event: KeepFree, wish: Wish) -> bool:
    return keeps_free(event, wish.moved_to, wish.moved_to + dt.timedelta(seconds=wish.seconds))


def _minute(moment: dt.datetime) -> dt.datetime:
    return moment.astimezone(dt.UTC).replace(second=0, microsecond=0)


def chosen_windows(moves: Sequence[Wish], as_of: dt.date) -> tuple[FreeWindow, ...]:
    """The times that the household chose for sessions and visits, each of its session's length."""
    return tuple(
        FreeWindow(wish.moved_to, end_of(wish), wish.hands, extra=True, kind=wish.kind)
        for wish in moves
        if not wish.why and wish.moved_to.date() >= as_of
    )


def end_of(wish: Wish) -> dt.datetime:
    """When the session would end there: its length in real time, whatever the clocks do."""
    end = wish.moved_to.astimezone(dt.UTC) + dt.timedelta(seconds=wish.seconds)
    return end.astimezone(wish.moved_to.tzinfo)


def places(moves: Sequence[Wish], as_of: dt.date) -> dict[str, dt.datetime]:
    """Where each session that the household moved has to begin, by uid."""
    live = (wish for wish in moves if not wish.why and wish.moved_to.date() >= as_of)
    return {wish.session: wish.moved_to for wish in live}
