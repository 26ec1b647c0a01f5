"""Evenings kept free for a turn in the weather, as text for the terminal and the book."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence

from harvestplan.inputs.season import Measures, Season
from harvestplan.outputs.text_page import wrapped
from harvestplan.plan.models import Held, Plan, Sturdy
from harvestplan.words import clock, day, joined, plural

ALL_BETTER = (
    '"Met" means as well as with every free evening open, which is as far as any plan could go. '
    "Each year was judged with evenings ranked without it, with a new plan every Monday."
)


def sturdy_text(plan: Plan, season: Season) -> str:
    """The price and what it buys beside the plain plan, and the evenings; empty where none is held
    from now on."""
    if plan.sturdy is None:
        return ""
    lines = ["Kept free, should the weather turn"]
    for line in kept_free_lines(plan, season.household.measures):
        lines += wrapped(f"  {line}")
    lines += ["", *_table(plan.sturdy), ""]
    for words in sturdy_words(plan.sturdy):
        lines += wrapped(words, hang=0)
    return "\n".join(lines) + "\n\n"


def kept_free_lines(plan: Plan, measures: Measures) -> list[str]:
    """The evenings kept free, a line for each week."""
    weeks: dict[dt.date, list[Held]] = defaultdict(list)
    for time in plan.kept_free:
        date = time.start.date()
        weeks[date - dt.timedelta(days=date.weekday())].append(time)
    if not weeks:
        return ["None: a session stands on every evening held."]
    return [_week(times, measures) for times in weeks.values()]


def _week(times: Sequence[Held], measures: Measures) -> str:
    hours: dict[str, list[str]] = defaultdict(list)
    for time in times:
        span = f"{clock(time.start, measures)} to {clock(time.end, measures)}"
        hours[span].append(day(time.start.date()))
    return "; ".join(f"{joined(days)}, {span}" for span, days in hours.items())


def _table(found: Sturdy) -> list[str]:
    """Evenings held and years met, as judged when they were chosen."""
    rows = (
        ("the sessions' evenings alone", found.plain),
        ("these and those kept free", found.sturdier),
        ("every free evening", found.every),
    )
    judged = "  wants met in  portions short on average" if found.years else ""
    lines = [f"{'':28}  evenings{judged}"]
    for name, fared in rows:
        line = f"{name:28}  {fared.evenings:8d}"
        line += f"  {fared.met:12.0%}  {fared.short:25.1f}" if found.years else ""
        lines.append(line.rstrip())
    return lines


def sturdy_words(found: Sturdy) -> list[str]:
    """What was judged, and how, in sentences."""
    more = plural(found.sturdier.evenings - found.plain.evenings, "evening")
    price = (
        f"The price is {more} more to keep free. Of all that are held, {found.used:g} are used in "
        "a year on average."
    )
    if not found.years:
        early = "It was stopped early: fewer evenings may do, and none were judged in past years."
        return [price, early]
    judged = (
        f"Reckoned on {day(found.on, year=True)} in {plural(found.years, 'past year')} with yields "
        f"drawn from their spread (seed {found.seed}), for {found.share:.0%} of the years."
    )
    missed = (
        "That is fewer than asked for: hold more with a greater share."
        if found.sturdier.met < found.share
        else ""
    )
    room = f"In {found.share:.0%} of the years the pouches on the list suffice" + (
        f", and the freezer is at most {found.fullest:.0%} full." if found.fullest else "."
    )
    return [price, room, f"{judged} {ALL_BETTER} {missed}".strip()]
