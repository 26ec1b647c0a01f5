"""From the words of lines that name no food to the event they tell of."""

from __future__ import annotations

import datetime as dt
import re

from harvestplan.inputs.quantities import QuantityError, read_quantity
from harvestplan.inputs.spoken.said_dates import read_date
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.plan.spans import far_off
from harvestplan.records.events import (
    KeepFree,
    LabelsPrinted,
    Moved,
    PowerCut,
    Serviced,
    Undo,
)
from harvestplan.records.names import Names

Head = tuple[dt.date, str, int]
"""Date, code and line of the event to be read."""


_POWER = re.compile(r"(?P<span>.*?)(?:,? (?:door )?(?:kept )?(?P<door>shut|closed|opened|open))?")
LONGEST_CUT = 60 * 24
"""Hours of a power cut that one line may tell of."""


def read_serviced(rest: str, names: Names, head: Head) -> Serviced:
    """The oil change, whatever the machine is called."""
    if rest.lower() not in ("", "sealer", "the sealer", "sealing machine"):
        raise Unclear(f'I cannot read "{rest}".', "Write: serviced sealer")
    return Serviced(*head, "serviced sealer")


def read_power_cut(rest: str, names: Names, head: Head) -> PowerCut:
    """How long the power was off, and whether the freezer stayed shut."""
    found = _POWER.fullmatch(rest)
    assert found is not None  # the span takes whatever there is
    try:
        hours = read_quantity(found["span"], "time", "metric").value / 3600
    except QuantityError as error:
        raise Unclear(error.message, "Write: power-cut 30 h, door shut") from None
    if not 0 < hours <= LONGEST_CUT:
        raise Unclear(f'"{rest}" is no power cut.', "Write: power-cut 30 h, door shut")
    opened = (found["door"] or "shut").startswith("open")
    door = "opened" if opened else "shut"
    return PowerCut(*head, f"power-cut {found['span']}, door {door}", hours, opened)


_WHEN = r"(\d{4}-\d\d-\d\d) (\d\d:\d\d)"
_MOVED = re.compile(f"session {_WHEN} to {_WHEN}")
_KEEP = re.compile(r"free (\d{4}-\d\d-\d\d)(?: (\d\d:\d\d))?")
_KEEP_SAID = re.compile(r"free (?P<day>.+)", re.IGNORECASE)
_PRINTED = re.compile(r"(?:the )?labels(?: (?:of|for|on))?(?: (?P<day>.+))?", re.IGNORECASE)


def read_moved(rest: str, names: Names, head: Head) -> Moved:
    """Which session moved, and to when."""
    found = _MOVED.fullmatch(rest)
    if found is None:
        raise Unclear(
            f'I cannot read "{rest}" as a session that moves.',
            "Write: moved session 2027-07-14 18:00 to 2027-07-15 18:30",
        )
    session, to = (dt.datetime.combine(_day(found[n]), _clock(found[n + 1])) for n in (1, 3))
    return Moved(*head, f"moved {rest}", session, to)


def read_keep(rest: str, names: Names, head: Head) -> KeepFree:
    """The day, or the window, that is kept free."""
    found = _KEEP.fullmatch(rest)
    if found is None:
        said = _KEEP_SAID.fullmatch(rest)
        if said is None:
            raise Unclear(
                f'I cannot read "{rest}" as a day to keep free.', "Write: keep free 2027-07-14"
            )
        day = _said_day(said["day"], head)
        return KeepFree(*head, f"keep free {day}", day, None)
    time = _clock(found[2]) if found[2] else None
    return KeepFree(*head, f"keep {rest}", _day(found[1]), time)


def read_printed(rest: str, names: Names, head: Head) -> LabelsPrinted:
    """The day whose labels are printed."""
    found = _PRINTED.fullmatch(rest)
    if found is None or not found["day"]:
        raise Unclear("Of which day are the labels?", "Write: printed labels 2027-07-14")
    day = _said_day(found["day"], head)
    return LabelsPrinted(*head, f"printed labels {day}", day)


def _said_day(said: str, head: Head) -> dt.date:
    """A day in people's words, seen from the day of the line."""
    return _near(read_date(said, head[0]))


def _day(written: str) -> dt.date:
    try:
        day = dt.date.fromisoformat(written)
    except ValueError:
        raise Unclear(f'There is no day "{written}".') from None
    return _near(day)


def _near(day: dt.date) -> dt.date:
    """The day, where its year can be meant."""
    if why := far_off(day):
        raise Unclear(f"{why}.", "Look at the year.")
    return day


def _clock(written: str) -> dt.time:
    try:
        return dt.time.fromisoformat(written)
    except ValueError:
        raise Unclear(f'There is no time "{written}".', "Write like 18:30.") from None


def read_undo(rest: str, names: Names, head: Head) -> Undo:
    """The code of the event that is taken back."""
    if not re.fullmatch(r"#[0-9a-z]{4,8}", rest):
        raise Unclear(f'"{rest}" is no code.', "Write: undo #a1f3")
    return Undo(*head, f"undo {rest}", rest[1:])
