"""What there is of each lot, and of each want."""

from __future__ import annotations

from collections import Counter, defaultdict

from harvestplan.schedule.rules.season_rows import SeasonRows


def limit_supply(season: SeasonRows) -> None:
    """No lot gives more than what is free of it."""
    by_lot: dict[int, list[int]] = defaultdict(list)
    for (_, lot), share in season.share.items():
        by_lot[lot].append(share)
    for lot, shares in by_lot.items():
        name, free = season.problem.lots[lot].id, season.problem.free[lot]
        season.add("supply", name, Counter(shares), most=free, reason="too little food")


def limit_wants(season: SeasonRows) -> None:
    """No more is put by than is wanted."""
    by_demand: dict[int, list[int]] = defaultdict(list)
    for option in season.problem.options:
        by_demand[option.demand].append(season.pouches[option.number])
    for d, pouches in by_demand.items():
        demand = season.problem.demands[d]
        season.add(
            "wants", demand.process.name, Counter(pouches), most=demand.portions, reason="enough"
        )


def keep_pinned(season: SeasonRows) -> None:
    """What the household moved stays where it put it."""
    for pinned in season.problem.pinned:
        there = Counter(season.pouches[o.number] for o in pinned.among(season.problem.options))
        season.add("pinned", f"window {pinned.window}", there, least=pinned.pouches)
