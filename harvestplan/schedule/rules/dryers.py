"""Dryers: one run at a time, from its first sitting until the food is dry."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict

from harvestplan.kitchen.steps.dry import Dry, DrySettings
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.problem import Option

RULE = "dryer"
REASON = "the dryer"


def limit_dryers(season: SeasonRows) -> None:
    """No run while a kept session's food is in the dryer, and of all runs one at a time."""
    windows = season.problem.windows
    by_dryer: dict[str, list[Option]] = defaultdict(list)
    for option in season.problem.options:
        if (name := season.process_of(option).dryer) is not None:
            by_dryer[name].append(option)
    for name, options in by_dryer.items():
        for option in options:
            if _dryer_kept(season, name, option):
                made = {season.made[option.number]: 1}
                season.add(RULE, name, made, least=0, most=0, reason=REASON)
        for w, window in enumerate(windows):
            drying = [
                season.made[o.number]
                for o in options
                if o.first <= w and (o.first == w or window.start < _dry_at(season, o))
            ]
            if len(drying) > 1:
                season.add(RULE, name, Counter(drying), most=1, reason=REASON)


def _dryer_kept(season: SeasonRows, name: str, option: Option) -> bool:
    """Whether a kept session's food is in the dryer when the option would fill it."""
    window = season.problem.windows[option.first]
    return any(
        task.start < _dry_at(season, option)
        and window.start < task.end + dt.timedelta(hours=DrySettings.of(task).hours or 0)
        for session in season.problem.history.sessions
        for task in session.tasks
        if task.step == Dry.name and name in task.equipment
    )


def _dry_at(season: SeasonRows, option: Option) -> dt.datetime:
    least = dt.timedelta(seconds=season.process_of(option).wait_least)
    return season.problem.windows[option.first].end + least
