"""Why a forecast is as it is, in a few plain words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Literal

from harvestplan.forecast.clock import Clock
from harvestplan.forecast.ensemble import HORIZON, FirstPick
from harvestplan.forecast.picks import Learnt
from harvestplan.forecast.seen import Seen
from harvestplan.forecast.thermal import show_degree_days
from harvestplan.inputs.dates import say
from harvestplan.inputs.quantities import show

State = Literal["ahead", "due", "untold", "over", "begun", "picked"]
"""Where a planting stands: its first pick ahead, about now, taken as made when it was expected, for
which nobody told of it, no longer to be had, made as planned, or made and written down."""

FACTOR_WORTH_SAYING = 0.05


def of_date(
    clock: Clock,
    first: FirstPick,
    likely: int,
    *,
    state: State,
    origin: dt.date,
    measures: str,
    rough: bool = False,
) -> str:
    """Why the first pick is on day `likely`; `origin` is the date the ripening begins, and the
    climate `rough` where nothing was observed."""
    usual = clock.needed is not None and first.observed > 0
    lead = (
        f"{_lead(first.normal - likely)}: {_warmth_words(first.ahead, measures)}" if usual else ""
    )
    if state == "picked":
        seen = f"first pick seen on {say(clock.start + dt.timedelta(days=likely))}"
        return f"{seen}, {lead}" if lead else seen
    if state == "begun":
        return f"picked as planned from {say(origin)} on; no pick of it is written down"
    if state == "over":
        return "its time is over, and no pick of it is written down"
    if state == "untold":
        return (
            f"taken as picked from about {say(origin)} on, as was expected: no pick of it is "
            "written down"
        )
    if state == "due":
        return "ready about now: no pick of it is written down yet" + (f"; {lead}" if lead else "")
    if clock.needed is None:
        return f"counted in days, since there is no weather to go by: {clock.basis}"
    if likely >= HORIZON:
        return f"too cool here to ripen: it needs {clock.basis}"
    if not usual:
        years = "by a rough climate of your place" if rough else "as in past years"
        return f"{years}: it needs {clock.basis}"
    rest = "; the climate behind it is a rough one" if rough else ""
    return f"{lead}; it needs {clock.basis}{rest}"


def of_stages(seen: Seen) -> Iterator[str]:
    """What was seen of the planting, as long as no pick has settled its date."""
    if seen.picks:
        return
    if seen.emerged is not None:
        yield f"it came up on {say(seen.emerged)}"
    if seen.flowering is not None:
        yield f"it flowered on {say(seen.flowering)}"
    if seen.none_yet is not None:
        yield f"none yet on {say(seen.none_yet)}"


def of_picks(seen: Seen, learnt: Learnt, measures: str) -> Iterator[str]:
    """What was picked against what was expected, and what that means for the rest."""
    if not seen.picks:
        return
    picked = show(sum(seen.picks.values()), "mass", measures)
    if learnt.expected <= 0:
        yield f"{picked} picked so far"
        return
    words = f"{picked} picked so far where {show(learnt.expected, 'mass', measures)} was expected"
    more = learnt.factor - 1
    if abs(more) >= FACTOR_WORTH_SAYING:
        words += (
            f", so {abs(more) * 100:.0f} % {'more' if more > 0 else 'less'} is expected of the rest"
        )
    yield words


def _lead(days: int) -> str:
    if days == 0:
        return "about the usual date"
    plural = "day" if abs(days) == 1 else "days"
    return f"about {abs(days)} {plural} {'early' if days > 0 else 'late'}"


def _warmth_words(ahead: float, measures: str) -> str:
    if abs(ahead) < 0.5:
        return "as warm as a normal year"
    side = "ahead of" if ahead > 0 else "behind"
    return f"{show_degree_days(abs(ahead), measures)} {side} a normal year"
