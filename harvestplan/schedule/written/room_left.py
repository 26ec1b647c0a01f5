"""Whether a plan leaves room for more of a want: then it is short because more is not worth it."""

from __future__ import annotations

from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.rules.slack import Slack
from harvestplan.schedule.statement.choice import Choice, left_over, windows_used
from harvestplan.schedule.statement.problem import Option


class RoomLeft:
    """What the season's rows leave beside a choice; no session is timed to the minute."""

    def __init__(self, season: SeasonRows, choice: Choice) -> None:
        self._season, self._choice = season, choice
        self._used = windows_used(season.problem, choice)
        self._slack = Slack(season)
        for number, pouches in choice.pouches.items():
            option = season.problem.options[number]
            shares = {
                self._share(option, lot): grams for lot, grams in choice.shares[number].items()
            }
            self._slack.put(option, pouches, shares)
        self._free = left_over(season.problem, choice)

    def on_a_new_evening(self, demand: int, wanted: int) -> int:
        """The most pouches of the demand that a run on an evening not used yet could make."""
        problem = self._season.problem
        options = [
            option
            for option in problem.options
            if option.demand == demand and not any(w in self._used for w, _ in option.sittings())
        ]
        return max((self._room(option, wanted) for option in options), default=0)

    def _room(self, option: Option, wanted: int) -> int:
        food = sum(self._free[lot] for lot in option.lots)
        pouches = self._season.process_of(option).pouches_of(food)
        return self._slack.most(option, min(wanted, pouches))

    def _share(self, option: Option, lot: int) -> int:
        head = self._season.groups[option.demand, option.first, option.second][0]
        return self._season.share[head.number, lot]
