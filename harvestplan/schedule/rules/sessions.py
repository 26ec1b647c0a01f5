"""How many sessions there may be, and that a window is used where something is made in it."""

from __future__ import annotations

from collections import Counter, defaultdict

from harvestplan.kitchen.layout import Sitting
from harvestplan.schedule.rules.season_rows import SeasonRows

RULE = "sessions"
REASON = "no session left"
ANOTHER = "another run of the same"


def limit_sessions(season: SeasonRows) -> None:
    """No more in all, nor in any week, than the household wants; kept sessions count, visits do
    not."""
    span = season.problem.season.season
    kept = [s.start.isocalendar()[:2] for s in season.problem.history.evenings]
    evenings = [w for w, window in enumerate(season.problem.windows) if not window.is_visit]
    if span.max_sessions is not None:
        left = max(0, span.max_sessions - len(kept))
        used = Counter(season.used[w] for w in evenings)
        season.add(RULE, "in all", used, most=left, reason=REASON)
    if span.max_sessions_per_week is None:
        return
    weeks: dict[tuple[int, int], list[int]] = defaultdict(list)
    for w in evenings:
        weeks[season.problem.windows[w].start.isocalendar()[:2]].append(season.used[w])
    for (year, week), switches in weeks.items():
        left = max(0, span.max_sessions_per_week - kept.count((year, week)))
        season.add(RULE, f"week {week} of {year}", Counter(switches), most=left, reason=REASON)


def switch_windows(season: SeasonRows) -> None:
    """A window is used where a run is made in it; of each product's sittings at most one."""
    for window, used in enumerate(season.used):
        runs, of = season.by_window.get(window, []), f"window {window}"
        if not runs:
            season.add("used", of, {used: 1}, most=0)
            continue
        same: dict[tuple[int, Sitting], list[int]] = defaultdict(list)
        for option, sitting in runs:
            same[option.demand, sitting].append(season.made[option.number])
        for alternatives in same.values():
            terms = Counter(alternatives)
            terms[used] -= 1
            season.add("one run", of, terms, most=0, reason=ANOTHER)
        made = Counter(season.made[option.number] for option, _ in runs)
        made[used] -= 1
        season.add("used", of, made, least=0)
