"""The fridge: on every night all that waits there for its sitting fits."""

from __future__ import annotations

from collections import Counter, defaultdict

from harvestplan.schedule.rules.season_rows import SeasonRows

RULE = "fridge"
REASON = "the fridge"


def limit_fridge(season: SeasonRows) -> None:
    """There is a row only for nights after which some of what waits goes, and only where all that
    may wait would be too much."""
    problem, fridge = season.problem, season.problem.fridge
    if fridge is None:
        return
    waiting = [
        (stay, lot, share)
        for (option, lot), share in season.share.items()
        for stay in problem.stays(problem.options[option], lot)
    ]
    for night in fridge.fullest_nights(stay for stay, _, _ in waiting):
        there = [each for each in waiting if each[0].since <= night < each[0].until]
        largest: dict[int, int] = defaultdict(int)
        for stay, lot, _ in there:
            largest[lot] = max(largest[lot], stay.volume)
        if sum(volume * problem.free[lot] for lot, volume in largest.items()) > fridge.left(night):
            taken: Counter[int] = Counter()
            for stay, _, share in there:
                taken[share] += stay.volume
            season.add(RULE, f"night of {night}", taken, most=fridge.left(night), reason=REASON)
