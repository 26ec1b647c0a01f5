"""What breaks ties: few runs. Nobody packs one bag of beans eight times."""

from __future__ import annotations

from collections import Counter

from harvestplan.schedule.goals.goal import Aim
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows


def fewest_runs(season: SeasonRows) -> Aim:
    """The number of runs; no level, so it has no proof."""
    return Aim(Sum(Counter(season.made)), lambda choice: len(choice.pouches), open_choice=True)
