"""Judge the repeat rules of calendar entries before anything expands them.

A rule that is senseless or would take for ever is named; a sound one is cut off at the end of the
span that is looked at, so that no rule runs on without bound.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
from typing import Any
from zoneinfo import ZoneInfo

_SLOW = {"DAILY", "WEEKLY", "MONTHLY", "YEARLY"}
_LISTS = ("BYMONTH", "BYWEEKNO", "BYYEARDAY", "BYMONTHDAY", "BYDAY", "BYHOUR", "BYMINUTE",
          "BYSECOND", "BYSETPOS")  # fmt: skip
_CLOCK_LISTS = ("BYHOUR", "BYMINUTE", "BYSECOND")
_MOST_PRODUCT = 1000
_MOST_A_DAY = 24
_MOST_COUNT = 10_000
_EARLIEST_YEAR = 1900
_STEP_DAYS = {"DAILY": 1, "WEEKLY": 7}


def refuse_rule(rule: Any) -> str | None:
    """Why a parsed RRULE (name to list of values) must not be expanded, or None."""
    frequency = str((rule.get("FREQ") or [""])[0]).upper()
    if frequency not in _SLOW:
        return "repeats more often than daily" if frequency else "has a repeat rule without FREQ"
    if any(int(step) < 1 for step in rule.get("INTERVAL") or []):
        return "repeats at an interval below 1"
    sizes = {name: max(1, len(rule.get(name) or [])) for name in _LISTS}
    if math.prod(sizes.values()) > _MOST_PRODUCT:
        return "has too many combinations in its repeat rule"
    if math.prod(sizes[name] for name in _CLOCK_LISTS) > _MOST_A_DAY:
        return "repeats too often in a day"
    by_year = rule.get("BYYEARDAY") or rule.get("BYWEEKNO")
    if by_year and (rule.get("BYMONTH") or rule.get("BYMONTHDAY")):
        return "mixes days of the year and of the month in its repeat rule"
    if any(_year(until) < _EARLIEST_YEAR for until in rule.get("UNTIL") or []):
        return f"has a repeat rule that ends before {_EARLIEST_YEAR}"
    if not _some_day(rule):
        return "repeats on a day that no month has"
    return None


def _year(until: Any) -> int:
    return int(getattr(until, "year", _EARLIEST_YEAR))


def begin_later(event: Any, day: dt.date) -> None:
    """Let a series that repeats by days or weeks without COUNT begin shortly before `day`, at a
    time of its own: laying it out from long ago takes seconds. What it is on later days stays."""
    rules = event.get("RRULE")
    start, end = (getattr(event.get(key), "dt", None) for key in ("DTSTART", "DTEND"))
    if isinstance(rules, list) or not rules or rules.get("COUNT") or start is None:
        return
    step = _STEP_DAYS.get(str(rules["FREQ"][0]).upper(), 0) * int((rules.get("INTERVAL") or [1])[0])
    by = {name for name in _LISTS if rules.get(name)}
    begun = start.date() if isinstance(start, dt.datetime) else start
    if not step or not by <= {"BYDAY"}:
        return
    late = dt.timedelta(days=max(0, (day - begun).days // step - 1) * step)
    until = (rules.get("UNTIL") or [None])[0]
    last = until.date() if isinstance(until, dt.datetime) else until
    if late and (last is None or begun + late < last - dt.timedelta(days=1)):
        event["DTSTART"].dt = start + late
        if end is not None:
            event["DTEND"].dt = end + late


def plain_rule(rule: Any) -> bool:
    """Whether a rule that `refuse_rule` passed surely ends soon, as nearly all rules do.

    Without COUNT it ends by the last day; with COUNT a rule that never comes true runs on to the
    end of time, so only those that come true every week, month or year are plain.
    """
    by = {name for name in _LISTS if rule.get(name)}
    if not by <= {"BYDAY", "BYMONTH", "BYMONTHDAY"}:
        return False
    if any(len(rule.get(name) or []) > 12 for name in by):
        return False
    counts = [int(count) for count in rule.get("COUNT") or []]
    if not counts:
        return True
    frequency = str(rule["FREQ"][0]).upper()
    comes_true = not by or (frequency == "WEEKLY" and by == {"BYDAY"})
    return max(counts) <= _MOST_COUNT and comes_true


def _some_day(rule: Any) -> bool:
    """Whether any named month has any of the named days (counted from either end)."""
    days = [abs(int(day)) for day in rule.get("BYMONTHDAY") or []]
    months = [int(month) for month in rule.get("BYMONTH") or range(1, 13)]
    if not days:
        return all(1 <= month <= 12 for month in months)
    longest = [calendar.monthrange(2028, month)[1] for month in months if 1 <= month <= 12]
    return any(1 <= day <= length for day in days for length in longest)


def end_rule(rule: Any, start: dt.datetime | dt.date, last: dt.date, *, zone: ZoneInfo) -> None:
    """Let `rule` end with `last` at the latest, in the form that fits its start.

    A plain date in UNTIL takes in that whole day, as people mean it, also for timed entries.
    """
    if rule.get("COUNT"):
        return
    until = (rule.get("UNTIL") or [last])[0]
    day = until.date() if isinstance(until, dt.datetime) else until
    if isinstance(until, dt.datetime) and isinstance(start, dt.datetime) and day <= last:
        if start.tzinfo is None:
            rule["UNTIL"] = [_naive(until, zone)]
        else:
            aware = until if until.tzinfo else until.replace(tzinfo=start.tzinfo)
            rule["UNTIL"] = [aware.astimezone(dt.UTC)]
        return
    day = min(day, last)
    if not isinstance(start, dt.datetime):
        rule["UNTIL"] = [day]
        return
    midnight = dt.datetime.combine(day, dt.time(23, 59, 59))
    if start.tzinfo is not None:
        midnight = midnight.replace(tzinfo=start.tzinfo).astimezone(dt.UTC)
    rule["UNTIL"] = [midnight]


def _naive(moment: dt.datetime, zone: ZoneInfo) -> dt.datetime:
    return moment.astimezone(zone).replace(tzinfo=None) if moment.tzinfo else moment
