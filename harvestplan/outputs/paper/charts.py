"""The season's charts: sessions, what comes in, the harvest, freezers, wants."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from harvestplan.forecast.amounts import YieldSpread, together
from harvestplan.inputs.season import Measures
from harvestplan.outputs.paper.shapes import (
    WEEK,
    Bar,
    Key,
    Numbers,
    Plot,
    Span,
    Strip,
    Strips,
    Tick,
    monday_of,
    percent,
)
from harvestplan.outputs.session_names import counted
from harvestplan.outputs.terminal.summary import FULL
from harvestplan.plan.models import FreezerDay, Lot, Plan, Session, WantLine
from harvestplan.words import about, crop_many, day, food_name, one_line, plural, volume


def season_span(plan: Plan) -> Span:
    """Whole weeks from the first food or session to the last."""
    dates = [lot.ready for lot in plan.lots] + [s.start.date() for s in _kept(plan)]
    dates = dates or [plan.season.start, plan.season.end]
    return Span(monday_of(min(dates)), monday_of(max(dates)) + WEEK)


def sessions_chart(plan: Plan, today: dt.date) -> Plot:
    """Hours in the kitchen of each week."""
    span = season_span(plan)
    weeks: dict[dt.date, list[Session]] = {monday: [] for monday in span.mondays()}
    for session in _kept(plan):
        weeks[monday_of(session.start.date())].append(session)
    hours = {monday: sum(map(_hours, found)) for monday, found in weeks.items()}
    top = _round_up(max(hours.values(), default=1.0))
    most = max(hours, key=lambda monday: hours[monday])
    count = sum(map(len, weeks.values()))
    sentence = f"{counted(_kept(plan))} with {math.fsum(hours.values()):.1f} hours in all"
    if count:
        sentence += (
            f"; the fullest week is that of {day(most)}, with "
            f"{counted(weeks[most])} and {hours[most]:.1f} hours"
        )
    rows = tuple(
        (day(monday), str(len(found)), f"{hours[monday]:.1f}") for monday, found in weeks.items()
    )
    bars = tuple(
        _column(span, monday, hours[monday], top=top, css="c1", mark=str(len(found)))
        for monday, found in weeks.items()
        if found
    )
    numbers = Numbers(("Week of", "Sessions", "Hours"), rows)
    keys = (
        Key("c1", "hours in the week; the figure is the number of sessions"),
        *_today_key(span, today),
    )
    up = _heights(top, lambda value: f"{value:g} h")
    return Plot(
        "Sessions by week",
        sentence + ".",
        numbers,
        bars=bars,
        lines=(),
        across=span.months(),
        up=up,
        keys=keys,
        now=span.now(today),
    )


def _today_key(span: Span, today: dt.date) -> tuple[Key, ...]:
    return () if span.now(today) is None else (Key("now", f"today, {day(today)}"),)


def coming_chart(plan: Plan, today: dt.date) -> Strips:
    """When each crop comes in, and the sessions that put it by."""
    span = season_span(plan)
    lots = lots_by_crop(plan.lots)
    sessions = _sessions_by_crop(plan)
    ordered = sorted(lots, key=lambda crop: (lots[crop][0].ready, crop))
    strips, rows = [], []
    for crop in ordered:
        first, last = lots[crop][0].ready, lots[crop][-1].ready
        dates = sessions.get(crop, [])
        strips.append(Strip(one_line(crop_many(crop)), _coming_bars(span, lots[crop], dates)))
        rows.append((one_line(crop_many(crop)), day(first), day(last), str(len(dates))))
    sentence = "Nothing comes in."
    if ordered:
        first_lot, last_lot = min(plan.lots, key=_ready), max(plan.lots, key=_ready)
        sentence = (
            f"{_foods(len(lots), 'come')} in, from {crop_many(first_lot.crop)} on "
            f"{day(first_lot.ready)} "
            f"to {crop_many(last_lot.crop)} on {day(last_lot.ready)}."
        )
    numbers = Numbers(("Food", "First", "Last", "Sessions"), tuple(rows))
    keys = (Key("c3", "comes in"), Key("ink", "a session puts it by"), *_today_key(span, today))
    return Strips(
        "What comes in when",
        one_line(sentence),
        numbers,
        strips=tuple(strips),
        across=span.months(),
        keys=keys,
        now=span.now(today),
    )


def harvest_charts(plan: Plan, measures: Measures, today: dt.date) -> list[Plot]:
    """Each planted crop's harvest by week, low, likely and high, in order of the first pick."""
    span = season_span(plan)
    lots = lots_by_crop([lot for lot in plan.lots if lot.planting is not None])
    ordered = sorted(lots, key=lambda crop: (lots[crop][0].ready, crop))
    charts = [_harvest_chart(crop, lots[crop], span, measures=measures) for crop in ordered]
    return [replace(chart, now=span.now(today)) for chart in charts]


def _harvest_chart(crop: str, lots: Sequence[Lot], span: Span, *, measures: Measures) -> Plot:
    weeks = {
        monday: _harvest(list(found))
        for monday, found in itertools.groupby(lots, key=lambda lot: monday_of(lot.ready))
    }
    top = max(week.p90 for week in weeks.values()) or 1
    bars = [
        _column(span, monday, w.p90, top=top, css="band", low=w.p10) for monday, w in weeks.items()
    ]
    bars += [
        _column(span, monday, w.p50, top=top, css="c1 likely", low=w.p50 - top / 40)
        for monday, w in weeks.items()
    ]
    whole = _harvest(lots)
    most = max(weeks, key=lambda monday: weeks[monday].p50)
    sentence = f"{about(whole.p50, measures)} in all"
    if whole.p10 != whole.p90:
        sentence = (
            f"{about(whole.p50, measures)} (from {about(whole.p10, measures)} to "
            f"{about(whole.p90, measures)}) in all"
        )
    if len(weeks) > 1:
        sentence += f"; most in the week of {day(most)}, {about(weeks[most].p50, measures)}"
    else:
        sentence += f", in the week of {day(most)}"
    rows = tuple(
        (day(monday), *(about(grams, measures) for grams in (week.p10, week.p50, week.p90)))
        for monday, week in weeks.items()
    )
    numbers = Numbers(("Week of", "Low", "Likely", "High"), rows)
    up = (Tick(0.0, about(top, measures)), Tick(100.0, "0"))
    return Plot(
        one_line(crop_many(crop)).capitalize(),
        sentence + ".",
        numbers,
        bars=tuple(bars),
        lines=(),
        across=span.months(),
        up=up,
    )


def _harvest(lots: Iterable[Lot]) -> YieldSpread:
    """What the lots give together: those of a planting rise and fall as one, plantings do not."""
    plantings: dict[str | None, YieldSpread] = defaultdict(lambda: YieldSpread(0.0, 0.0, 0.0))
    for lot in lots:
        so_far = plantings[lot.planting]
        plantings[lot.planting] = YieldSpread(
            so_far.p10 + lot.low_grams, so_far.p50 + lot.grams, so_far.p90 + lot.high_grams
        )
    return together(plantings.values())


def freezer_charts(plan: Plan, measures: Measures, today: dt.date) -> list[Plot]:
    """How full each freezer is on each date, against what it holds."""
    names = dict.fromkeys(row.name for row in plan.freezer)
    by_name = {name: [row for row in plan.freezer if row.name == name] for name in names}
    return [_freezer_chart(name, rows, measures, today=today) for name, rows in by_name.items()]


def _freezer_chart(
    name: str, found: Sequence[FreezerDay], measures: Measures, *, today: dt.date
) -> Plot:
    rows = sorted(found, key=lambda row: row.date)
    span = Span(rows[0].date, rows[-1].date + dt.timedelta(days=1))
    capacity = max(row.capacity_ml for row in rows)
    fullest = max(rows, key=lambda row: row.used_ml)
    top = max(capacity, fullest.used_ml) * 1.05 or 1.0
    points = [(span.at(row.date), round(100 - 100 * row.used_ml / top, 2)) for row in rows]
    outline = "L".join(f"{x:g} {y:g}" for x, y in _steps(points))
    line = round(100 - 100 * capacity / top, 2)
    share = 100 * fullest.used_ml / fullest.capacity_ml if fullest.capacity_ml else 0
    title = one_line(name[:1].upper() + name[1:])
    sentence = (
        f"{title} is fullest on {day(fullest.date, year=True)}: "
        f"{volume(fullest.used_ml, measures)} of {volume(fullest.capacity_ml, measures)} "
        f"({share:.0f}%); {_full_days(rows)}."
    )
    weeks: dict[dt.date, FreezerDay] = {}
    for row in rows:
        best = weeks.setdefault(monday_of(row.date), row)
        if row.used_ml > best.used_ml:
            weeks[monday_of(row.date)] = row
    table = tuple(
        (day(monday, year=True), volume(row.used_ml, measures), volume(row.capacity_ml, measures))
        for monday, row in weeks.items()
    )
    lines = (
        ("c6 area", f"M0 100L{outline}L100 100Z"),
        ("edge", f"M{outline}"),
        ("limit", f"M0 {line:g}L100 {line:g}"),
        ("ink", f"M{span.at(fullest.date):g} {round(100 - 100 * fullest.used_ml / top, 2):g}V100"),
    )
    keys = (
        *(Key("c6", "filled"), Key("limit", "what it holds"), Key("ink", "fullest day")),
        *_today_key(span, today),
    )
    up = (Tick(line, volume(capacity, measures)), Tick(100.0, "0"))
    numbers = Numbers(("Week of", "Fullest in the week", "It holds"), table)
    return Plot(
        title,
        sentence,
        numbers,
        bars=(),
        lines=lines,
        across=span.months(),
        up=up,
        keys=keys,
        now=span.now(today),
    )


def _full_days(rows: Sequence[FreezerDay]) -> str:
    """From when to when a freezer is full, by its rows in order of date."""
    full = [row.date for row in rows if row.capacity_ml and row.used_ml >= FULL * row.capacity_ml]
    if not full:
        return "it never gets full"
    if full[0] == full[-1]:
        return f"it is full on {day(full[0], year=True)}"
    return f"it is full from {day(full[0], year=True)} to {day(full[-1], year=True)}"


def wants_chart(plan: Plan) -> Strips:
    """Portions planned, stored and short of each product that is wanted."""
    wanted = sum(want.wanted for want in plan.wants)
    planned = sum(want.planned for want in plan.wants)
    stored = sum(want.stored for want in plan.wants)
    short = [want for want in plan.wants if want.short]
    sentence = f"Of {plural(wanted, 'portion')} wanted, {planned} are planned"
    sentence += f" and {stored} stored already" if stored else ""
    lacking = sum(want.short for want in short)
    sentence += f"; {_foods(len(short), 'fall')} short by {lacking} in all" if short else ""
    strips = tuple(
        Strip(food_name(want.product), _want_bars(want), f"{want.counted} of {want.wanted}")
        for want in plan.wants
    )
    rows = tuple(
        (food_name(want.product), *map(str, (want.wanted, want.stored, want.planned, want.short)))
        for want in plan.wants
    )
    numbers = Numbers(("Food", "Wanted", "Stored", "Planned", "Short"), rows)
    keys = (Key("c2", "stored already"), Key("c3", "planned"), Key("empty", "short"))
    return Strips(
        "Wanted and planned", sentence + ".", numbers, strips=strips, across=(), keys=keys
    )


def _foods(count: int, do: str) -> str:
    """Like "1 food comes", "2 foods come"."""
    return f"1 food {do}s" if count == 1 else f"{count} foods {do}"


def _want_bars(want: WantLine) -> tuple[Bar, ...]:
    whole = max(want.wanted, want.counted, 1)
    stored = min(want.stored, want.counted)
    bars, x = [], 0.0
    for css, portions in (("c2", stored), ("c3", want.counted - stored), ("empty", want.short)):
        if portions:
            width = percent(portions, whole)
            bars.append(Bar(css, round(x, 2), 15, width=width, height=70))
            x += width
    return tuple(bars)


def lots_by_crop(lots: Iterable[Lot]) -> dict[str, list[Lot]]:
    """Each crop's lots by the day they are ready."""
    found: dict[str, list[Lot]] = defaultdict(list)
    for lot in sorted(lots, key=_ready):
        found[lot.crop].append(lot)
    return dict(found)


def _sessions_by_crop(plan: Plan) -> dict[str, list[dt.date]]:
    found: dict[str, dict[dt.date, None]] = defaultdict(dict)
    for session in _kept(plan):
        for run in session.runs:
            found[run.crop][session.start.date()] = None
    return {crop: list(dates) for crop, dates in found.items()}


def _coming_bars(span: Span, lots: Sequence[Lot], sessions: Iterable[dt.date]) -> tuple[Bar, ...]:
    bars = []
    for first, end in _stretches(sorted({monday_of(lot.ready) for lot in lots})):
        bars.append(
            Bar("c3", span.at(first), 30, width=round(span.at(end) - span.at(first), 2), height=40)
        )
    wide = max(0.6, percent(1, (span.end - span.start).days))
    return (*bars, *(Bar("ink", span.at(date), 5, width=wide, height=90) for date in sessions))


def _stretches(mondays: Sequence[dt.date]) -> list[tuple[dt.date, dt.date]]:
    """Weeks that follow each other, as (first day, day after the last)."""
    found: list[tuple[dt.date, dt.date]] = []
    for monday in mondays:
        if found and found[-1][1] == monday:
            found[-1] = (found[-1][0], monday + WEEK)
        else:
            found.append((monday, monday + WEEK))
    return found


def _column(
    span: Span,
    monday: dt.date,
    high: float,
    *,
    top: float,
    css: str,
    mark: str = "",
    low: float = 0,
) -> Bar:
    """A week's bar from `low` to `high` on a scale that ends at `top`."""
    days = (span.end - span.start).days
    low, high = max(0.0, low), min(high, top)
    x, width = percent((monday - span.start).days + 0.7, days), percent(5.6, days)
    y = round(100 - 100 * high / top, 2)
    return Bar(
        css, x, y, width=width, height=round(max(0.0, 100 * (high - low) / top), 2), mark=mark
    )


def _steps(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """A line that keeps each day's height until the next day."""
    path = list(points[:1])
    for (_, before), (x, y) in itertools.pairwise(points):
        path += [(x, before), (x, y)] if y != before else []
    return [*path, (100.0, points[-1][1])]


def _heights(top: float, words: Callable[[float], str]) -> tuple[Tick, ...]:
    return tuple(Tick(100 - 100 * part, words(top * part)) for part in (1, 0.5, 0))


def _round_up(value: float) -> float:
    return max(2.0, 2.0 * math.ceil(value / 2))


def _hours(session: Session) -> float:
    return (session.end - session.start).total_seconds() / 3600


def _kept(plan: Plan) -> list[Session]:
    kept = [session for session in plan.sessions if session.live]
    return sorted(kept, key=lambda session: (session.start, session.uid))


def _ready(lot: Lot) -> tuple[dt.date, str]:
    return lot.ready, lot.id
