"""The plan in plain words for the terminal, fit to be read aloud."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Sequence

from harvestplan.inputs.crops import Library
from harvestplan.inputs.ids import called
from harvestplan.inputs.season import Measures, Season
from harvestplan.outputs.food_notes import eat_or_freeze
from harvestplan.outputs.remedy_words import remedy_lines
from harvestplan.outputs.session_names import counted, food_names
from harvestplan.outputs.shopping_words import buy_words
from harvestplan.outputs.surplus import gifts_ahead, gifts_by_lot
from harvestplan.outputs.text_page import wrapped
from harvestplan.outputs.worth_words import worth_lines
from harvestplan.plan import file_names as files
from harvestplan.plan.models import FreezerDay, Pick, Plan, Session, WantLine, fullest
from harvestplan.records.events import Event
from harvestplan.records.unanswered import question, unanswered_picks
from harvestplan.words import (
    about,
    clock,
    crop_many,
    day,
    food_name,
    in_pieces,
    joined,
    one_line,
    plural,
    product_words,
    volume,
)

SHORT_CODES = ("short", "cannot-make")
"""Warnings that say why a want is not met; they stand with that want."""
FULL = 0.97
"""Share of the freezer's space or day's load from which it is called full."""


def summary_text(plan: Plan, season: Season, library: Library) -> str:
    """What the plan does and does not do."""
    measures = season.household.measures
    head = f"{plan.season.name}: plan made for {day(plan.as_of, year=True)}"
    sections = (
        ("Put by", _wants(plan)),
        ("Falls short", short_lines(plan, library)),
        ("What would help", remedy_lines(plan)),
        ("Sessions", _weeks(plan, measures)),
        ("Freezer", _freezers(plan, measures)),
        ("To give away", gift_lines(plan, season, library, today=plan.as_of)),
        ("To buy", _buys(plan, season)),
        ("How good the plan is", worth_lines(plan)),
        ("Warnings", [one_line(w.message) for w in plan.warnings if w.code not in SHORT_CODES]),
        ("Written", [joined(_written(plan))]),
    )
    lines = wrapped(one_line(head))
    for title, told in sections:
        if told:
            lines += ["", title, *(part for line in told for part in wrapped(f"  {line}"))]
    return "\n".join(lines) + "\n"


def next_text(
    plan: Plan,
    today: dt.date,
    season: Season | None = None,
    *,
    library: Library | None = None,
    events: Sequence[Event] = (),
) -> str:
    """What is to do in the seven days from `today`, by date, after what is asked.

    With the season and the library, in the household's measures and with what to give away; with
    the diary's `events`, what of the garden they do not tell.
    """
    lines = _asked(unanswered_picks(plan, events, today))
    told = week_ahead(plan, today, season, library=library)
    if not told:
        return "\n".join([*lines, *wrapped(nothing_ahead(plan, today, season))]) + "\n"
    for date, words in told.items():
        lines.append(f"{day(date)}{', today' if date == today else ''}")
        for line in words:
            lines += wrapped(f"  {line}")
    return "\n".join(lines) + "\n"


def _asked(picks: Sequence[Pick]) -> list[str]:
    """The questions, one a line, and how the first is answered."""
    if not picks:
        return []
    first = picks[0]
    own = called(first.planting, first.crop) != first.crop
    which = f' --planting "{first.planting}"' if own else ""
    answers = f'harvestplan picked "{first.crop}" 2 lb{which}, or: harvestplan none yet '
    how = f'Write, {"" if len(picks) == 1 else "for the first: "}{answers}"{first.crop}"{which}'
    asked = [line for pick in picks for line in wrapped(question(pick))]
    return [*asked, *wrapped(how, hang=2), ""]


def week_ahead(
    plan: Plan, today: dt.date, season: Season | None = None, *, library: Library | None = None
) -> dict[dt.date, list[str]]:
    """What is to do on each of the seven days from `today` that have something, by date."""
    return days_ahead(plan, today, 7, season, library=library)


def days_ahead(
    plan: Plan, today: dt.date, days: int, season: Season | None, *, library: Library | None
) -> dict[dt.date, list[str]]:
    """The same for so many days."""
    measures = season.household.measures if season else "US"
    by_date: dict[dt.date, list[str]] = defaultdict(list)
    for (date, crop), grams in _picked(plan).items():
        words = f"Pick about {about(grams, measures)} {crop_many(crop)}"
        counted = library.counted(crop) if library else None
        by_date[date].append(words + in_pieces(grams, counted, measures))
    for line in plan.shopping:
        if line.buy:
            what = buy_words(line, season) if season else line.item
            by_date[line.order_by].append(f"Order or buy {what}")
    for session in sessions_ahead(plan):
        by_date[session.start.date()].append(session_words(session, measures))
    for by, foods in eat_or_freeze(plan, library).items() if library else ():
        by_date[by].append(f"Eat or freeze by today: {'; '.join(food.words for food in foods)}")
    gifts = gifts_by_lot(plan, season, library) if season and library else ()
    for surplus in gifts:
        amount = f"about {about(surplus.grams, measures)} {crop_many(surplus.lot.crop)}"
        by_date[surplus.lot.keep_until].append(f"Last day to give away {amount}")
    last = today + dt.timedelta(days=days - 1)
    dates = [date for date in sorted(by_date) if today <= date <= last]
    return {date: [one_line(words) for words in by_date[date]] for date in dates}


def _picked(plan: Plan) -> dict[tuple[dt.date, str], int]:
    """Grams to pick of each crop on each date, over all its plantings."""
    found: dict[tuple[dt.date, str], int] = defaultdict(int)
    for pick in plan.picks:
        found[pick.date, pick.crop] += pick.grams
    return found


def nothing_ahead(plan: Plan, today: dt.date, season: Season | None = None) -> str:
    """A sentence for a week with nothing in it, with the session after it."""
    last = today + dt.timedelta(days=6)
    measures = season.household.measures if season else "US"
    return one_line(f"Nothing to do up to {day(last)}.{_after(plan, last, measures)}")


def _after(plan: Plan, last: dt.date, measures: Measures) -> str:
    later = [session for session in sessions_ahead(plan) if session.start.date() > last]
    if not later:
        return " No session lies ahead."
    first = later[0]
    return f" Next session: {day(first.start.date())}, {session_words(first, measures)}."


def sessions_ahead(plan: Plan) -> list[Session]:
    """Sessions still to come, by start."""
    ahead = [session for session in plan.sessions if session.status in ("planned", "firm")]
    return sorted(ahead, key=lambda session: (session.start, session.uid))


def _wants(plan: Plan) -> list[str]:
    lines = []
    for want in plan.wants:
        line = f"{product_words(want.product)}: {plural(want.planned, 'portion')} planned"
        line += f", {want.stored} stored already" if want.stored else ""
        if want.corrected:
            less = "more" if want.corrected > 0 else "fewer"
            line += f", {abs(want.corrected)} {less} by the diary"
        lines.append(one_line(f"{line}, of {want.wanted} wanted"))
    planned, wanted = sum(w.planned for w in plan.wants), sum(w.wanted for w in plan.wants)
    return [*lines, f"In all {plural(planned, 'portion')} planned, of {wanted} wanted"]


def short_lines(plan: Plan, library: Library) -> list[str]:
    """What falls short of each want, and why."""
    lines = [one_line(w.message) for w in plan.warnings if w.code in SHORT_CODES]
    for want in plan.wants:
        if want.short and not any(line.startswith(one_line(want.product)) for line in lines):
            short = plural(want.short, "portion")
            lines.append(one_line(f"{want.product}: {short} short. {_why(want, plan, library)}"))
    names = {want.product: product_words(want.product) for want in plan.wants}
    told = ((line, line.partition(": ")) for line in lines)
    return [
        f"{names[first]}: {rest}" if first in names else line for line, (first, _, rest) in told
    ]


def _why(want: WantLine, plan: Plan, library: Library) -> str:
    """Why a want is not met, as far as the plan's own numbers tell."""
    found = library.find_product(want.product)
    crop = found[0].name if found else want.product.partition(",")[0]
    balance = next((each for each in plan.balance if each.crop == crop), None)
    if balance is None or not balance.grams:
        return "No harvest of it is forecast."
    portions = [r.portion_grams for s in plan.sessions for r in s.runs if r.product == want.product]
    share = found[1].packed_share if found else 1.0
    if balance.surplus_grams * share < max(portions, default=1):
        return "The harvest gives no more."
    full = [row for row in plan.freezer if _fill(row) >= FULL]
    if full:
        return f"There is more of it, but the {full[0].name} is full on {day(full[0].date)}."
    return "There is more of it than the free evenings, machines and freezer hold."


def _weeks(plan: Plan, measures: Measures) -> list[str]:
    ahead = sessions_ahead(plan)
    hours = sum((session.end - session.start).total_seconds() for session in ahead) / 3600
    lines = [f"{counted(ahead)}, {hours:.1f} hours in all"]
    monday = None
    for session in ahead:
        date = session.start.date()
        if monday != date - dt.timedelta(days=date.weekday()):
            monday = date - dt.timedelta(days=date.weekday())
            lines.append(f"Week of {day(monday)}")
        lines.append(f"  {day(date)}, {session_words(session, measures)}")
    return lines


def session_words(session: Session, measures: Measures) -> str:
    """One session in a line: clock times, products and portions."""
    portions: dict[str, int] = dict.fromkeys(food_names(session), 0)
    for run in session.runs:
        portions[food_name(run.product)] += run.pouches
    words = [
        f"{name}, {plural(count, 'portion')}" if count else f"{name}, first sitting"
        for name, count in portions.items()
    ]
    if session.is_visit:
        minutes = math.ceil((session.end - session.start).total_seconds() / 60)
        at = clock(session.start, measures)
        return f"{at}, a visit of {minutes} min: pack {joined(words)}"
    hours = f"{clock(session.start, measures)} to {clock(session.end, measures)}"
    return f"{hours}: {'; '.join(words) or 'kitchen session'}"


def _fill(row: FreezerDay) -> float:
    space = row.used_ml / row.capacity_ml if row.capacity_ml else 0.0
    return max(space, row.load_grams / row.load_limit_grams if row.load_limit_grams else 0.0)


def _freezers(plan: Plan, measures: Measures) -> list[str]:
    """The fullest day of each freezer, the first of several."""
    lines = []
    for name in sorted({row.name for row in plan.freezer}):
        row = fullest(row for row in plan.freezer if row.name == name)
        if row is None:
            continue
        used, whole = volume(row.used_ml, measures), volume(row.capacity_ml, measures)
        share = 100 * row.used_ml / row.capacity_ml
        told = f"{name}: fullest on {day(row.date, year=True)}, {used} of {whole} ({share:.0f}%)"
        lines.append(one_line(told))
    return lines


MANY_DATES = 3
"""Past so many dates the summary only says from when to when; the calendar has them all."""


def gift_lines(plan: Plan, season: Season, library: Library, *, today: dt.date) -> list[str]:
    """What each crop leaves to give away from `today` on, with the dates by which to give it, or
    without where they are unknown."""
    measures = season.household.measures
    lines = []
    for gift in gifts_ahead(plan, season, library, today=today):
        year = plan.season.start.year
        days = [day(date, year=date.year != year) for date in gift.by_date]
        grams = gift.by_date.values()
        parts = [f"{about(g, measures)} by {by}" for g, by in zip(grams, days, strict=True)]
        line = f"{crop_many(gift.crop)}: {about(gift.grams, measures)}"
        if len(days) > MANY_DATES:
            span = f"a little at a time between {days[0]} and {days[-1]}"
            lines.append(one_line(f"{line}, {span}"))
            continue
        lines.append(
            one_line(
                f"{line}, of which {joined(parts)}"
                if parts[1:]
                else f"{line} by {days[0]}"
                if parts
                else line
            )
        )
    return lines


def _buys(plan: Plan, season: Season) -> list[str]:
    wanted = sorted((line for line in plan.shopping if line.buy), key=lambda each: each.order_by)
    lines = [f"By {day(line.order_by)}: {buy_words(line, season)}" for line in wanted]
    prices = [line.price for line in wanted if line.price is not None]
    return [*lines, f"Cost of what has a price: {math.fsum(prices):.2f}"] if prices else lines


def _written(plan: Plan) -> list[str]:
    sheets = sum(session.live for session in plan.sessions)
    names = [files.BOOK, files.PLAN, files.SESSIONS, files.GARDEN, files.TO_BUY, files.TASKS]
    names += [files.SHOPPING_CSV, files.SHOPPING_MD]
    folders = [f"{plural(sheets, 'run sheet')} in {files.RUNSHEETS}", f"{files.LABELS} to print"]
    return [*names, *folders]
