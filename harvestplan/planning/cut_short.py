"""An evening cut short: the published plan with the session going on laid out again from now.

What is begun by now is finished; of the rest as much as the minutes left hold. Begun food that
cannot be finished in time goes to its chain's pause step and is packed in the next free window.
Food that is not begun goes back: the season is then planned again with it.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade, NoValidPlan
from harvestplan.household import Household
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.batches import Begun
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.layout import Sitting
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.own_pace import pace_of
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.blanch import is_over_steam
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.plan.models import BeforeCut, LotShare, Plan, Run, Session
from harvestplan.plan.spans import DAY, overlap
from harvestplan.schedule.session.session_in_progress import AtWork, Part, seconds_between
from harvestplan.schedule.session.written_tasks import after
from harvestplan.schedule.statement.freezer_loads import loads
from harvestplan.schedule.statement.history import FIRM_DAYS
from harvestplan.schedule.written.session_uids import new_uid


def cut_short(
    plan: Plan,
    household: Household,
    now: dt.datetime,
    *,
    until: dt.datetime | None = None,
    behind: dt.timedelta = dt.timedelta(),
) -> Plan:
    """The plan in which the session going on at `now` is laid out again, to end by `until` (its
    window's end where None); the sessions ahead of it are as before, but for what it puts to chill.
    Where it runs `behind`, it stands at `now` where it was to stand so much earlier.

    Raises
    ------
    NoValidPlan
        Where no session is going on, `until` lies outside its window, or what is begun can neither
        be finished nor put to chill by then; the sentence says when it can.
    """
    planned = going_on(plan, now, behind)
    seconds = int(behind.total_seconds())
    session = late(planned, seconds)
    limit = _limit(session, now, until)
    sessions = tuple(session if each == planned else each for each in plan.sessions)
    plan = plan.model_copy(update={"sessions": sessions})
    return _Cutter(plan, household, session, now=now, limit=limit, behind=seconds).cut()


def late(session: Session, behind: int) -> Session:
    """The session as it goes where it runs late: every task so many seconds after its time."""
    if not behind:
        return session
    moved = (
        task.model_copy(update={"start": after(task.start, behind), "end": after(task.end, behind)})
        for task in session.tasks
    )
    return session.model_copy(update={"tasks": tuple(moved)})


def going_on(plan: Plan, now: dt.datetime, behind: dt.timedelta = dt.timedelta()) -> Session:
    """The session that has begun by `now` and is not over, were it `behind`; NoValidPlan where
    there is none."""
    live = [session for session in plan.sessions if session.live]
    for session in live:
        if session.start <= now < session.end + behind:
            return session
    today = [s for s in live if s.start.astimezone(now.tzinfo).date() == now.date()]
    told = ", ".join(f"{s.start:%H:%M} to {s.end:%H:%M}" for s in today)
    raise NoValidPlan(
        f"No session is going on at {now:%H:%M} on {now:%Y-%m-%d}"
        + (f"; that day has one from {told}." if today else "; that day has none.")
    )


def _limit(session: Session, now: dt.datetime, until: dt.datetime | None) -> dt.datetime:
    if until is None:
        return session.window_end
    if until <= now:
        raise NoValidPlan(f"{until:%H:%M} is not after {now:%H:%M}, when the rest begins.")
    if until > session.window_end:
        raise NoValidPlan(
            f"The evening's window ends at {session.window_end:%H:%M}; --until {until:%H:%M} is "
            "later. Lengthen the [[window]], or add an [[extra_window]] for that day."
        )
    return until


@dataclass(frozen=True)
class _Cutter:
    plan: Plan
    household: Household
    session: Session
    now: dt.datetime
    limit: dt.datetime
    behind: int = 0

    def cut(self) -> Plan:
        at_work = self._at_work(self.session).as_of(self.now)
        length = seconds_between(self.session.start, self.limit)
        pouches = self._most(at_work, length)
        packing: tuple[Session, ...] = ()
        if pouches is None:
            at_work = self._with_pauses(at_work)
            pouches = self._most(at_work, length)
        if pouches is None:
            raise NoValidPlan(self._too_soon(at_work))
        for part in at_work.parts:
            if self._is_paused(part) and pouches[part.run.id]:
                packing += (self._packing(part, pouches[part.run.id], packing),)
        cut = self._laid_out(at_work, pouches, length)
        later = [self._shrunk(each, pouches) for each in self.plan.sessions if each != self.session]
        sessions = sorted([*later, cut, *packing], key=lambda each: (each.start, each.uid))
        return self.plan.model_copy(update={"sessions": tuple(sessions)})

    def _at_work(self, session: Session) -> AtWork:
        paces = {run.product: pace_of(run) for run in session.runs}
        kitchen = Kitchen.from_season(self.household.season, paces, self.household.experience.tries)
        parts = tuple(self._part(kitchen, session, run) for run in session.runs)
        cooks = self.household.season.household.cooks
        return AtWork(session, kitchen, parts, cooks=cooks)

    def _part(self, kitchen: Kitchen, session: Session, run: Run) -> Part:
        runs = {r.id: r for s in self.plan.sessions for r in s.runs}
        seconds = {r.second_sitting_of: r for r in runs.values() if r.second_sitting_of}
        sitting: Sitting = "whole"
        raw, pouches = run.grams_in, run.pouches
        if run.second_sitting_of:
            sitting, raw = "second", runs[run.second_sitting_of].grams_in
        elif run.id in seconds:
            sitting, pouches = "first", seconds[run.id].pouches
        packed = seconds.get(run.id, run)
        process = self._process(kitchen, session, run, pouch=packed.pouch)
        before = None
        for cut in run.cuts:
            before = Begun(cut.grams, cut.pouches, cut.groups, before=before)
        return Part(
            run,
            process,
            sitting,
            raw=raw,
            pouches=pouches,
            freezer=_freezer(session, run),
            before=before,
        )

    def _process(
        self, kitchen: Kitchen, session: Session, run: Run, *, pouch: str | None
    ) -> Process:
        """As it was planned, in the same container where the kitchen still has it."""
        found = self.household.library.find_product(run.product)
        try:
            if found is None:
                raise CannotBeMade("no crop file knows it")
            steam = any(is_over_steam(task) for task in session.tasks if task.run == run.id)
            wants = self.household.season.want
            same = (
                w.portions for w in wants if self.household.library.find_product(w.product) == found
            )
            return make_process(
                kitchen,
                *found,
                run.portion_grams,
                steam=steam,
                portions=next(same, None),
                pouch=pouch if any(each.name == pouch for each in kitchen.pouches) else None,
            )
        except CannotBeMade as refused:
            message = f"{run.product} cannot be laid out again: {refused.why}."
            raise NoValidPlan(message) from None

    def _most(self, at_work: AtWork, length: int) -> dict[str, int] | None:
        """As many pouches as fit: of what is begun first, then by the wants' priority."""
        find = self.household.library.find_product
        priority = {find(want.product): want.priority for want in self.household.season.want}

        def rank(part: Part) -> tuple[bool, float]:
            known = self.household.library.find_product(part.run.product)
            return (not part.begun, -priority.get(known, 0.0))

        return at_work.most(length, sorted(at_work.parts, key=rank))

    def _with_pauses(self, at_work: AtWork) -> AtWork:
        """The evening with each run put to chill that may be, and can be packed another day."""
        parts = []
        for part in at_work.parts:
            paused = part.paused() if part.begun else None
            able = paused and self._window_for(paused, paused.pouches, ()) is not None
            parts.append(paused if paused and able else part)
        return dataclasses.replace(at_work, parts=tuple(parts)).as_of(self.now)

    def _is_paused(self, part: Part) -> bool:
        packed = {run.second_sitting_of for s in self.plan.sessions for run in s.runs}
        return part.sitting == "first" and part.run.id not in packed

    def _too_soon(self, at_work: AtWork) -> str:
        whole = seconds_between(self.session.start, self.session.window_end)
        pouches = {part.run.id: part.least for part in at_work.parts}
        times = at_work.shortest(pouches, whole)
        words = f"What is begun cannot be finished by {self.limit:%H:%M}"
        if times is None:
            return f"{words}, nor by the end of the window. Finish it as it was planned."
        end = after(self.session.start, times.length)
        return f"{words}. The earliest is {end:%H:%M}: say --until {_next_minute(end):%H:%M}."

    def _laid_out(self, at_work: AtWork, pouches: Mapping[str, int], length: int) -> Session:
        """The session with those pouches, in its time; cancelled where nothing is left of it."""
        session = at_work.session
        behind = 0 if at_work.now is None else self.behind
        told = {"sequence": session.sequence + 1, "cut_at": self.now, "behind": behind}
        if not any(pouches.values()):
            gone = {"status": "cancelled", "runs": (), "tasks": ()}
            return session.model_copy(update={**told, **gone})
        times = at_work.shortest(pouches, length)
        if times is None:
            raise NoValidPlan(
                f"The session of {session.start:%Y-%m-%d %H:%M} cannot be laid out again with what "
                "is left. Finish the one going on as it was planned."
            )
        made = {
            "runs": tuple(
                self._run(part, pouches[part.run.id], at_work=at_work.now is not None)
                for part in at_work.parts
                if pouches[part.run.id]
            ),
            "tasks": at_work.laid_out(pouches, times),
            "end": after(session.start, times.length),
        }
        if made["tasks"] == session.tasks and not behind:
            return session
        return session.model_copy(update={**told, **made})

    def _run(self, part: Part, pouches: int, at_work: bool = False) -> Run:
        raw, made = part.amounts(pouches)
        was = BeforeCut(grams=part.raw, pouches=part.pouches, groups=part.groups)
        smaller = (raw, made) != (part.raw, part.pouches)
        process, first = part.process, part.sitting == "first"
        grams_in = raw
        if part.sitting == "second":
            assert process.pause is not None
            grams_in = round(raw * process.share_before(process.pause + 1))
        return part.run.model_copy(
            update={
                "lots": self._shares(part.run.lots, raw),
                "grams_in": grams_in,
                "grams_packed": 0 if first else process.packed(raw, made),
                "pouch": None if first else process.packing.pouch.name,
                "pouches": 0 if first else made,
                "cuts": (*part.run.cuts, was) if smaller and at_work else part.run.cuts,
            }
        )

    def _shares(self, shares: Sequence[LotShare], raw: int) -> tuple[LotShare, ...]:
        """`raw` g of the lots, those first that keep the shortest."""
        keeps = {lot.id: lot.keep_until for lot in self.plan.lots}
        taken: dict[str, int] = {}
        for share in sorted(shares, key=lambda share: keeps[share.lot]):
            taken[share.lot] = min(share.grams, raw - sum(taken.values()))
        kept = (LotShare(lot=share.lot, grams=taken[share.lot]) for share in shares)
        return tuple(share for share in kept if share.grams)

    def _shrunk(self, session: Session, pouches: Mapping[str, int]) -> Session:
        """A later session that packs what this one puts to chill, with what there is of it."""
        ours = {run.second_sitting_of for run in session.runs} & pouches.keys()
        at_work = self._at_work(session) if ours and session.live else None
        if at_work is None:
            return session
        parts, counts = [], {}
        for part in at_work.parts:
            first = part.run.second_sitting_of
            counts[part.run.id] = part.pouches
            if first is not None and first in pouches:
                begun = next(p for p in self._firsts() if p.run.id == first)
                raw, made = begun.amounts(pouches[first]) if pouches[first] else (0, 0)
                part = dataclasses.replace(part, raw=raw, pouches=made)
                counts[part.run.id] = made
            parts.append(part)
        if all(counts[part.run.id] == part.run.pouches for part in parts):
            return session
        at_work = dataclasses.replace(at_work, parts=tuple(parts))
        return self._laid_out(at_work, counts, seconds_between(session.start, session.window_end))

    def _firsts(self) -> Iterable[Part]:
        return self._at_work(self.session).as_of(self.now).parts

    def _packing(self, part: Part, pouches: int, others: Sequence[Session]) -> Session:
        """A session of its own that packs what `part` put to chill."""
        found = self._window_for(part, pouches, others)
        if found is None:
            raise NoValidPlan(
                f"{part.run.product} cannot be finished by {self.limit:%H:%M}, and there is no "
                "free window to pack it in while it keeps."
            )
        window, at_work = found
        (second,) = at_work.parts
        session = at_work.session.model_copy(update={"uid": self._uid(others)})
        times = at_work.shortest({second.run.id: second.pouches}, _length(window))
        assert times is not None  # the window was found to hold it
        return session.model_copy(
            update={
                "end": after(window.start, times.length),
                "runs": (self._run(second, second.pouches),),
                "tasks": at_work.laid_out({second.run.id: second.pouches}, times),
            }
        )

    def _uid(self, others: Sequence[Session]) -> str:
        taken = {session.uid for session in (*self.plan.sessions, *others)}
        return new_uid(self.household.seed, taken)

    def _window_for(
        self, part: Part, pouches: int, others: Sequence[Session]
    ) -> tuple[FreeWindow, AtWork] | None:
        """The next window that holds the packing: one without a session before others."""
        pause = part.process.pause
        limit = part.process.product.steps[pause].pause_limit if pause is not None else None
        assert limit is not None  # a pause step has one
        raw, made = part.amounts(pouches)
        run = part.run.model_copy(
            update={
                "id": f"{part.run.id}-pack",
                "second_sitting_of": part.run.id,
                "lots": (),
                "cuts": (),
            }
        )
        second = Part(run, part.process, "second", raw=raw, pouches=made, freezer=part.freezer)
        last = self.now + dt.timedelta(seconds=limit.value)
        kitchen = part.process.kitchen
        for window in self._free(last, others):
            session = Session(
                uid="",
                sequence=0,
                status="firm",
                start=window.start,
                end=window.end,
                window_start=window.start,
                window_end=window.end,
                hands=window.hands,
                runs=(run,),
                tasks=(),
            )
            cooks = self.household.season.household.cooks
            at_work = AtWork(session, kitchen, (second,), cooks=cooks)
            cold = self._freezes(second, window, others)
            if cold and at_work.fits({run.id: made}, _length(window)):
                return window, at_work
        return None

    def _free(self, last: dt.datetime, others: Sequence[Session]) -> list[FreeWindow]:
        """Windows of later days that end by `last`, but for those of firm sessions."""
        live = [s for s in (*self.plan.sessions, *others) if s.live]
        today = self.now.date()
        firm = [s for s in live if s.start.date() < today + FIRM_DAYS * DAY or s in others]
        windows = [
            w
            for w in self.household.windows
            if w.start.date() > today and w.end <= last and not _meet(w, firm)
        ]
        return sorted(windows, key=lambda window: (_meet(window, live), window.start))

    def _freezes(self, second: Part, window: FreeWindow, others: Sequence[Session]) -> bool:
        """Whether the freezer has room for its freezing in the day around the window."""
        if second.freezer is None or second.process.loose_area:
            return True
        today = self.now.date()
        firm = [s for s in self.plan.sessions if s.start.date() < today + FIRM_DAYS * DAY]
        near = [
            load.grams
            for load in loads([*firm, *others])
            if load.freezer == second.freezer and abs(load.start - window.start) < 2 * DAY
        ]
        packed = second.process.packed(second.raw, second.pouches)
        return sum(near) + packed <= second.process.kitchen.freezing_limit(second.freezer)


def _meet(window: FreeWindow, sessions: Iterable[Session]) -> bool:
    return any(overlap(s, window) for s in sessions)


def _length(window: FreeWindow) -> int:
    return seconds_between(window.start, window.end)


def _freezer(session: Session, run: Run) -> str | None:
    named = (freezer_of(task) for task in session.tasks if task.run == run.id)
    return next(filter(None, named), None)


def _next_minute(time: dt.datetime) -> dt.datetime:
    return time if not time.second else time.replace(second=0) + dt.timedelta(minutes=1)
