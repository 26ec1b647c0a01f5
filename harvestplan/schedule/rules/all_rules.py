"""Every rule of the season, in the order in which its rows are stated.

A new rule is a module beside this one with a function that adds its rows, and a line here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from harvestplan.schedule.rules.cuts import forbid
from harvestplan.schedule.rules.dryers import limit_dryers
from harvestplan.schedule.rules.freezing import limit_freezing
from harvestplan.schedule.rules.fridge_nights import limit_fridge
from harvestplan.schedule.rules.runs import limit_part_full, state_runs, state_shares
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.rules.sessions import limit_sessions, switch_windows
from harvestplan.schedule.rules.space import limit_space
from harvestplan.schedule.rules.supply import keep_pinned, limit_supply, limit_wants
from harvestplan.schedule.rules.trays import limit_trays
from harvestplan.schedule.rules.whole_pouches import limit_whole_pouches
from harvestplan.schedule.rules.work import limit_work
from harvestplan.schedule.statement.choice import Cut
from harvestplan.schedule.statement.problem import Problem

RULES: tuple[Callable[[SeasonRows], None], ...] = (
    limit_sessions,
    state_runs,
    state_shares,
    switch_windows,
    limit_part_full,
    limit_supply,
    limit_whole_pouches,
    limit_wants,
    keep_pinned,
    limit_work,
    limit_freezing,
    limit_trays,
    limit_dryers,
    limit_space,
    limit_fridge,
)


def state_rules(problem: Problem, cuts: Iterable[Cut] = ()) -> SeasonRows:
    """The problem's variables and the rows of every rule, those of the cuts last."""
    season = SeasonRows(problem)
    for rule in RULES:
        rule(season)
    for cut in cuts:
        forbid(season, cut)
    return season
