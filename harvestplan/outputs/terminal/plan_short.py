"""A new plan within one screen: what it brings, what falls short, what changed, what comes next."""

from __future__ import annotations

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.outputs.remedy_words import remedy_lines
from harvestplan.outputs.session_names import counted
from harvestplan.outputs.terminal.plan_changes import session_changes
from harvestplan.outputs.terminal.summary import (
    SHORT_CODES,
    days_ahead,
    session_words,
    sessions_ahead,
    short_lines,
)
from harvestplan.outputs.text_page import screenful, wrapped
from harvestplan.outputs.worth_words import worth_lines
from harvestplan.plan.models import Plan
from harvestplan.words import day, food_name, one_line, plural

NAMED, REASON, DOING = 5, 150, 150
"""Foods named that fall short, letters of a reason and of what is to be done."""
DAYS = 420
"""How far ahead the next thing to do is looked for."""
MORE = "This is not all."


def plan_short(
    plan: Plan,
    season: Season,
    library: Library,
    *,
    earlier: Plan | None = None,
    besides: str = "",
    last: str = "",
) -> str:
    """What stands on a screen; `besides` is told after the result, `last` at the end."""
    entries = [wrapped(f"{plan.season.name}: plan made for {day(plan.as_of, year=True)}."), [""]]
    entries += [wrapped(line, hang=0) for line in _result(plan)]
    entries += [[line] for line in besides.strip().splitlines()]
    notes = [w.message for w in plan.warnings if w.code not in SHORT_CODES]
    if notes:
        entries.append([f"{plural(len(notes), 'warning')}, in full in the book and with --all."])
    if earlier is not None:
        entries += [[""], *_changed(earlier, plan, season)]
    if told := _short(plan, library, reason=earlier is None):
        entries.append(["", *told])
    entries += [["", *wrapped(f"Take note: {one_line(note)}", hang=0)] for note in notes]
    coming = ["", *_next(plan, season, library), "", *wrapped(last, hang=0)]
    return "\n".join(screenful(entries, MORE, coming))


def _result(plan: Plan) -> list[str]:
    """How much is put by, in how many sessions, and how good that is."""
    wanted, planned = sum(w.wanted for w in plan.wants), sum(w.planned for w in plan.wants)
    stored = sum(w.stored for w in plan.wants)
    live = [session for session in plan.sessions if session.live]
    hours = sum((s.end - s.start).total_seconds() for s in live) / 3600
    had = f", {stored} stored already" if stored else ""
    told = f"Put by: {plural(planned, 'portion')} planned{had}, of {wanted} wanted"
    if live:
        told += f", in {counted(live)} of {hours:.0f} hours in all"
    return [f"{told}.", *(f"{line}." for line in worth_lines(plan)[-1:])]


def _short(plan: Plan, library: Library, *, reason: bool) -> list[str]:
    """What falls short, most first, and what would help; with the `reason` why the first of them
    does, where neither that nor a change is to be told."""
    short = sorted((w for w in plan.wants if w.short), key=lambda w: (-w.short, w.product))
    if not short:
        return []
    named = [f"{food_name(w.product)} {w.short}" for w in short[:NAMED]]
    if len(short) > NAMED:
        named.append(f"{len(short) - NAMED} more foods")
    lines = wrapped(f"Falls short by {sum(w.short for w in short)}: {'; '.join(named)}.")
    first = food_name(short[0].product)
    why = next((line for line in short_lines(plan, library) if line.startswith(first)), "")
    lines += wrapped(f"  {one_line(why, REASON)}") if why and reason and not plan.remedies else []
    return [*lines, *wrapped(_what_would_help(plan))]


def _what_would_help(plan: Plan) -> str:
    """The change worth most of those that were solved beside the plan, or what to ask."""
    ask = "harvestplan compare --what-helps"
    if not plan.remedies:
        return f"What would help: {ask}"
    best = remedy_lines(plan)[0]
    return f"{best}. More that would help: {ask}"


def _changed(earlier: Plan, plan: Plan, season: Season) -> list[list[str]]:
    """The counts, then the sessions that changed, each by itself."""
    changes = session_changes(earlier, plan, season.household.measures)
    if not changes.any():
        return [["All sessions are as they were in the plan before."]]
    return [[line for line in entry if line] for entry in changes.entries()]


def _next(plan: Plan, season: Season, library: Library) -> list[str]:
    """The next session, and the first thing to do before it."""
    ahead = sessions_ahead(plan)
    if not ahead:
        return ["No session lies ahead."]
    first, measures = ahead[0], season.household.measures
    date = first.start.date()
    lines = wrapped(f"Next session: {day(date)}, {one_line(session_words(first, measures))}.")
    coming = days_ahead(plan, plan.as_of, DAYS, season, library=library)
    when, told = next(iter(coming.items()), (date, []))
    if told and when <= date and told != [one_line(session_words(first, measures))]:
        doing = one_line(f"{day(when)}, {'; '.join(told)}", DOING)
        lines += wrapped(f"Next to do: {doing}.")
    return lines
