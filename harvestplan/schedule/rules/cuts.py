"""What was found not to fit together in one session."""

from __future__ import annotations

from collections import Counter

from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Cut, Together

RULE = "too much for one session"


def forbid(season: SeasonRows, cut: Cut) -> None:
    """Forbids the runs together in every window no roomier than where they failed."""
    for window, runs in season.by_window.items():
        if season.problem.length(window) > cut.room:
            continue
        if season.problem.windows[window].hands > cut.hands:
            continue
        switches = []
        of = f"window {window}"
        for demand, sitting, pouches in cut.runs:
            same = [o for o, s in runs if o.demand == demand and s == sitting]
            most = max((o.most for o in same), default=0)
            if most < pouches:
                break
            switch = season.new_variable("")
            made = Counter(season.pouches[o.number] for o in same)
            made[switch] = -(most - pouches + 1)
            season.add(RULE, of, made, most=pouches - 1)
            switches.append(switch)
        else:
            if not cut.proven:
                switches.append(season.heed_doubtful)
            season.add(RULE, of, Counter(switches), most=len(switches) - 1)


def limit_together(season: SeasonRows, limit: Together) -> None:
    """What its runs come to together, in each of its windows."""
    weights = dict(limit.weights)
    for window in limit.windows:
        terms = Counter(
            {
                season.pouches[o.number]: weights[o.demand, sitting]
                for o, sitting in season.by_window[window]
                if (o.demand, sitting) in weights
            }
        )
        terms[season.used[window]] = -limit.most
        season.add(RULE, f"window {window}", terms, most=0)
