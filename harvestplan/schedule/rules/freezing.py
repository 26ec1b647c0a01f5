"""What freezers have to freeze in any 24 hours, own ice included.

All of it is linear in the runs' pouches, and never less than their tasks will state.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict

from harvestplan.plan.spans import DAY
from harvestplan.schedule.rules.own_ice import OwnIce
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.freezer_burden import load_per_pouch, loose_in_first
from harvestplan.schedule.statement.freezer_loads import loads

RULE = REASON = "freezing in 24 hours"


class _Freezing:
    """What each freezer has to freeze: by windows, and for kept sessions."""

    def __init__(self, season: SeasonRows) -> None:
        self.kept = loads(season.problem.history.sessions)
        self.runs: dict[tuple[int, str | None], Counter[int]] = defaultdict(Counter)
        for option in season.problem.options:
            process = season.process_of(option)
            begins = option.first if loose_in_first(process) else option.packs_in
            pouches = season.pouches[option.number]
            self.runs[begins, option.freezer][pouches] += load_per_pouch(process)

    def spoken_for(self, freezer: str, start: dt.datetime, end: dt.datetime) -> int:
        """Grams that kept sessions begin to freeze after start and before end."""
        return sum(e.grams for e in self.kept if e.freezer == freezer and start < e.start < end)


def limit_freezing(season: SeasonRows) -> None:
    """No freezer takes more than its limit in any 24 hours."""
    problem, freezing, ice = season.problem, _Freezing(season), OwnIce(season)
    for freezer in problem.kitchen.freezers:
        limit = problem.kitchen.freezing_limit(freezer.name)
        if freezer.name == ice.freezer:
            _limit_stretches(season, freezing, ice, limit=limit)
            continue
        for near in problem.near_sets():
            load: Counter[int] = Counter()
            for window in near:
                load.update(freezing.runs[window, freezer.name])
            if not load:
                continue
            first, last = problem.windows[near[0]], problem.windows[near[-1]]
            spoken_for = freezing.spoken_for(freezer.name, first.start - DAY, last.end + DAY)
            most = max(0, limit - spoken_for)
            if len(near) == 1:
                load[season.used[near[0]]] -= most
                most = 0
            season.add(RULE, freezer.name, load, most=most, reason=REASON)


def _limit_stretches(season: SeasonRows, freezing: _Freezing, ice: OwnIce, *, limit: int) -> None:
    """The same where ice is made: from any freezing in a window on, and from its ice on."""
    for i, window in enumerate(season.problem.windows):
        _limit_stretch(season, freezing, ice, limit=limit, start=window.start, end=window.end + DAY)
        if ice.needs.get(i):
            made_at = ice.made_at(i)
            _limit_stretch(season, freezing, ice, limit=limit, start=made_at, end=window.start)


def _limit_stretch(
    season: SeasonRows,
    freezing: _Freezing,
    ice: OwnIce,
    *,
    limit: int,
    start: dt.datetime,
    end: dt.datetime,
) -> None:
    """What may begin to freeze from start to before end, together with what kept sessions freeze
    within 24 hours of it, stays within the limit; cautious where that is longer than a day."""
    assert ice.freezer is not None
    load: Counter[int] = Counter()
    for j, window in enumerate(season.problem.windows):
        if window.start < end and window.end >= start:
            load.update(freezing.runs[j, ice.freezer])
        if start <= ice.made_at(j) < end:
            load.update(ice.load(j))
    if load:
        kept = freezing.spoken_for(ice.freezer, start - DAY, end)
        kept += sum(each.load for each in ice.kept if start - DAY < each.start < end)
        season.add(RULE, ice.freezer, load, most=max(0, limit - kept), reason=REASON)
