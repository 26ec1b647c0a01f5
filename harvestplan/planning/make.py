"""The main job: from what a household wrote to a checked plan.

read (inputs) → forecast → decide (schedule) → plan → judge (check). Data flows one way.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from functools import partial
from zoneinfo import ZoneInfo

from harvestplan.check import check_plan
from harvestplan.errors import HarvestPlanError, NoValidPlan
from harvestplan.forecast.lots import lots_from
from harvestplan.household import Household
from harvestplan.inputs.season import Season
from harvestplan.plan.models import (
    FreezerDay,
    Plan,
    Proof,
    SeasonHead,
    Session,
    Sturdy,
    WorthPart,
)
from harvestplan.planning.basis import basis_of, stands
from harvestplan.planning.broken_promises import (
    refuse_changed,
    refuse_full,
)
from harvestplan.planning.cut_short import cut_short, going_on
from harvestplan.planning.progress_words import progress_words
from harvestplan.planning.remedies import remedies
from harvestplan.planning.reserved_times import pouches_ahead, still_held
from harvestplan.planning.shopping import shopping_lines
from harvestplan.records.held_sessions import finished
from harvestplan.records.moved_sessions import (
    places,
    released,
)
from harvestplan.records.printed_labels import printed_labels
from harvestplan.records.stock import in_freezers, is_of_store, stock
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.pinned_sessions import (
    as_wished,
    bound_to_stay,
    refused_moves,
    settle,
)
from harvestplan.schedule.search.solve_season import Known, Solved, solve_season
from harvestplan.schedule.session.saved_cuts import cuts_from, to_keep
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem, shelves
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.history import FIRM_DAYS
from harvestplan.schedule.statement.problem import Problem
from harvestplan.schedule.written.assemble import (
    build_balance,
    build_picks,
    build_sessions,
    build_wants,
)
from harvestplan.schedule.written.clock_rules import on_the_rules_of
from harvestplan.schedule.written.freezer_days import freezer_days
from harvestplan.schedule.written.session_uids import name_sessions
from harvestplan.schedule.written.warnings import plan_warnings


def make_plan(
    household: Household,
    as_of: dt.date,
    earlier: Plan | None,
    *,
    effort: Effort,
    say: Callable[[str], None],
    move_firm: bool = False,
    anew: bool = False,
    first: Callable[[Plan], object] = lambda plan: None,
) -> Plan:
    """The best plan found, judged valid; what is done stands, and what is firm unless `move_firm`.

    The earlier plan stands where it was made from the very same, unless it is looked for `anew`.
    Where there is none yet, the `first` plan is handed on as soon as there is one: made by hand,
    judged as well, and soon to be bettered. `say` hears how far the search has come.

    Raises
    ------
    NoValidPlan
        Where there is no free window, the freezers cannot hold what is in them, or the files forbid
        to finish what is begun.
    """
    earlier = earlier and on_the_rules_of(earlier, household.season.household.timezone)
    basis = basis_of(household, as_of, move_firm=move_firm)
    if earlier and stands(earlier, basis, household) and not anew:
        return _with_labels_of_now(earlier, household)
    household, problem, start = settle_moves(household, as_of, earlier, move_firm=move_firm)
    promised = problem.history.sessions
    refuse_changed([s for s in promised if s.status == "firm"], household.impossible)
    rows = _freezer_rows(problem, promised, household.season, as_of=as_of)
    refuse_full(rows, household.season.household.measures)
    timed = TimedSessions(problem, effort.seed)
    kept = tuple(cuts_from(problem, earlier.too_much if earlier else ()))
    standing = _standing(earlier, household, as_of, move_firm=move_firm) if earlier else None

    def written(solved: Solved, basis: str) -> Plan:
        plan = assemble_plan(household, problem, solved, timed=timed, earlier=earlier, as_of=as_of)
        if plan is not earlier:
            learned = to_keep(problem, (*kept, *solved.cuts))
            plan = plan.model_copy(update={"too_much": learned, "basis": basis})
        _refuse_invalid(plan, household, standing)
        return plan

    waiting = earlier is None

    def heard(solved: Solved) -> None:
        nonlocal waiting
        if waiting and solved.choice.pouches:
            waiting = False
            first(written(solved, basis=""))  # whoever plans again goes on from it
        say(progress_words(problem, solved))

    known = Known(start=start, cuts=kept)
    solved = solve_season(problem, timed, effort, heard=heard, known=known)
    if (plan := written(solved, basis)) is earlier or solved.stopped:
        return plan
    state = partial(state_problem, as_of=as_of, earlier=earlier, move_firm=move_firm)
    found = remedies(household, problem, solved, timed=timed, state=state, say=say)
    return plan.model_copy(update={"remedies": found})


def _with_labels_of_now(plan: Plan, household: Household) -> Plan:
    printed = printed_labels(household.diary)
    return plan if plan.printed == printed else plan.model_copy(update={"printed": printed})


def cut_session(
    household: Household,
    earlier: Plan,
    now: dt.datetime,
    *,
    until: dt.datetime | None,
    behind: dt.timedelta = dt.timedelta(),
) -> tuple[Household, Plan]:
    """The earlier plan with the session going on at `now`, so much `behind`, laid out again, to end
    by `until`, and the household that plans on from the next day with what that leaves.

    Raises NoValidPlan where no session is going on, what is begun cannot be finished by then, or
    the files have come to forbid it.
    """
    zone = ZoneInfo(household.season.household.timezone)
    earlier = on_the_rules_of(earlier, household.season.household.timezone)
    refuse_changed([going_on(earlier, now, behind)], household.impossible)
    cut = cut_short(earlier, household, now, until=until, behind=behind)
    tomorrow = dt.datetime.combine(now.date() + dt.timedelta(days=1), dt.time(), zone)
    # Its rows and wants are still those of before: it does not stand as it is.
    return replace(household, begins=tomorrow), cut.model_copy(update={"basis": ""})


def settle_moves(
    household: Household, as_of: dt.date, earlier: Plan | None, *, move_firm: bool = False
) -> tuple[Household, Problem, Choice | None]:
    """The problem with what the household moved held where it is, and a choice to begin from; the
    household without those of its moves that cannot be followed.

    Raises NoValidPlan where there is no free window, unless sessions are done or promised: at the
    season's end they stand, with nothing more to plan.
    """
    while True:
        problem = state_problem(household, as_of, earlier, move_firm=move_firm)
        if not problem.windows and not problem.history.sessions:
            raise NoValidPlan(
                "There is no free time left to plan with: add a [[window]] or an [[extra_window]], "
                "or shorten the [[away]] dates and look at the busy calendars."
            )
        if not earlier or not household.wishes.asked:
            return household, problem, None
        moves = household.wishes.moves
        bound = next(bound_to_stay(problem, moves, earlier), None)
        settled = bound or settle(problem, moves, TimedSessions(problem, seed=1))
        if isinstance(settled[0], Problem):
            return household, *settled
        household = household.refusing(*settled, as_of)


def state_problem(
    household: Household, as_of: dt.date, earlier: Plan | None, *, move_firm: bool = False
) -> Problem:
    """The season's decision, from its forecast and what the earlier plan has fixed."""
    lots = lots_from(household.forecast, household.season, household.library)
    let_go: Collection[str] = ()
    put = places(household.wishes.moves, as_of)
    if earlier is not None:
        let_go = _let_go(earlier, household, as_of)
        earlier = as_wished(earlier, household.wishes.moves, as_of)
    return build_problem(
        household,
        lots,
        as_of,
        earlier=earlier,
        move_firm=move_firm,
        released=let_go,
        moved=put.keys(),
    )


def _freezer_rows(
    problem: Problem, sessions: Sequence[Session], season: Season, *, as_of: dt.date
) -> tuple[FreezerDay, ...]:
    shelved, opening = shelves(problem.demands), problem.opening
    return freezer_days(
        problem.kitchen,
        shelved,
        opening.pouches,
        other_stored=opening.other,
        sessions=sessions,
        season=season,
        as_of=as_of,
    )


def _let_go(earlier: Plan, household: Household, as_of: dt.date) -> set[str]:
    """Near sessions of the earlier plan that need not stay: the household or its files say so, or
    what they were to pack was never begun."""
    free = {
        *household.windows,
        *household.usual,
        *household.visits,
        *household.usual_visits,
    }
    changed = {
        each.uid
        for each in earlier.sessions
        if each.uid in household.impossible and each.cut_at is None
    }
    return {
        *released(earlier, household.wishes, free, diary=household.diary, as_of=as_of),
        *changed,
    }


def assemble_plan(
    household: Household,
    problem: Problem,
    solved: Solved,
    *,
    timed: TimedSessions,
    earlier: Plan | None,
    as_of: dt.date,
) -> Plan:
    """The solved season as people read it; the earlier plan itself where nothing differs."""
    season, library = household.season, household.library
    head = season.household
    sessions = name_sessions(
        build_sessions(problem, solved.choice, timed),
        problem.history.sessions,
        earlier,
        seed=household.seed,
        put=places(household.wishes.moves, as_of),
    )
    kept = [session for session in sessions if session.live]
    rows = _freezer_rows(problem, kept, season, as_of=as_of)
    sturdy = still_held(earlier, household.windows, as_of)
    pouches = pouches_ahead(sturdy, kept)
    plan = Plan(
        made_at=dt.datetime.now(ZoneInfo(head.timezone)).replace(microsecond=0),
        as_of=as_of,
        season=SeasonHead(
            name=head.name,
            timezone=head.timezone,
            start=season.season.start,
            end=season.season.end,
        ),
        lots=problem.lots,
        sessions=sessions,
        picks=build_picks(problem, kept, library),
        freezer=rows,
        balance=build_balance(problem, solved.choice),
        wants=build_wants(problem, solved.choice),
        shopping=shopping_lines(
            kept, season, library, as_of=as_of, experience=household.experience, at_least=pouches
        ),
        proof=_proof(solved),
        warnings=(
            *plan_warnings(problem, solved, kept, freezer=rows, notes=household.notes),
            *refused_moves(household.wishes.moves, as_of),
        ),
        wishes=household.wishes.moves,
        opening=problem.opening.rows,
        sturdy=sturdy,
        printed=printed_labels(household.diary),
    )
    return _as_before(plan, earlier)


def holding(plan: Plan, household: Household, found: Sturdy) -> Plan:
    """The plan with the evenings held and pouches for what they may put by, judged valid."""
    live = [session for session in plan.sessions if session.live]
    shopping = shopping_lines(
        live,
        household.season,
        household.library,
        as_of=plan.as_of,
        experience=household.experience,
        at_least=pouches_ahead(found, live),
    )
    held = plan.model_copy(update={"sturdy": found, "shopping": shopping})
    _refuse_invalid(held, household)
    return held


def _proof(solved: Solved) -> Proof | None:
    """None where nothing is proven yet."""
    if not math.isfinite(solved.bound):
        return None
    return Proof(
        worth=round(solved.worth, 4),
        bound=round(solved.bound, 4),
        gap=round(solved.gap, 6),
        status="optimal" if solved.proven else "feasible",
        seconds=round(solved.seconds, 1),
        parts=tuple(
            WorthPart(part=name, portions=round(portions, 4)) for name, portions in solved.parts
        ),
    )


def _as_before(plan: Plan, earlier: Plan | None) -> Plan:
    """Where nothing but the proof's story differs the earlier plan stands, file for file."""
    if earlier is None:
        return plan
    return earlier if _story_aside(plan) == _story_aside(earlier) else plan


STORY = ("unproven-cut", "stopped")
"""Warnings on how far the search came, not on the plan."""


def _story_aside(plan: Plan) -> Plan:
    """The plan without when it was made, how far it was proven and what was learned on the way."""
    advice = tuple(advice for advice in plan.warnings if advice.code not in STORY)
    made_at = dt.datetime.min.replace(tzinfo=dt.UTC)
    aside = {"made_at": made_at, "proof": None, "warnings": advice, "too_much": (), "basis": ""}
    return plan.model_copy(update={**aside, "remedies": ()})


def known_store(plan: Plan, household: Household) -> dict[tuple[str, str], int] | None:
    """Portions by product and freezer on the plan's day, for the judge; None where the diary has
    lines of that very day, which the plan may or may not have known."""
    day, diary = plan.as_of, household.diary
    if any(event.date == day and is_of_store(event) for event in diary.events):
        return None
    done = finished(plan.sessions, diary, day)
    return in_freezers(
        stock(household.season, household.library, diary, today=day, done=done, as_meant=True)
    )


def _standing(earlier: Plan, household: Household, as_of: dt.date, *, move_firm: bool) -> Plan:
    """The earlier plan with the sessions alone that may not move any more, worked out anew for the
    judge: those that were held, and with `move_firm` unset those near that nobody let go."""
    done = {session.uid for session in finished(earlier.sessions, household.diary, as_of)}
    firm_until = as_of if move_firm else as_of + dt.timedelta(days=FIRM_DAYS)
    firm = {
        session.uid
        for session in earlier.sessions
        if session.live and as_of <= session.start.date() < firm_until
    } - _let_go(earlier, household, as_of)
    sessions = tuple(
        session.model_copy(update={"status": "done" if session.uid in done else "firm"})
        for session in earlier.sessions
        if session.uid in done | firm
    )
    return earlier.model_copy(update={"sessions": sessions})


def _refuse_invalid(plan: Plan, household: Household, earlier: Plan | None = None) -> None:
    findings = check_plan(plan, household, earlier, in_store=known_store(plan, household))
    if findings:
        shown: Sequence[str] = [f"{finding.code}: {finding.message}" for finding in findings[:10]]
        raise HarvestPlanError(
            "The plan breaks its own rules, so nothing was written. This is our fault; please "
            "report it with these lines:\n" + "\n".join(shown)
        )
