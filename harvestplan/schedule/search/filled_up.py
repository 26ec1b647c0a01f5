"""An evening filled up with what is there: whether one more pouch fits, and which rule says no.

Nothing is timed to the minute. Limits on sessions are left to who fills: what was begun on other
evenings counts in them.
"""

from __future__ import annotations

from collections import defaultdict

from harvestplan.kitchen.layout import Sitting
from harvestplan.schedule.rules import sessions
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.rules.slack import Slack
from harvestplan.schedule.statement.problem import Option, Problem

ANOTHER, TIME = sessions.ANOTHER, "time"


class FilledSessions:
    """The runs made on some evenings, added one by one."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._slack = Slack(state_rules(problem), but={sessions.RULE})
        self._in: dict[int, list[tuple[Option, Sitting]]] = defaultdict(list)

    @property
    def pouches(self) -> dict[int, int]:
        """Pouches by option number."""
        return self._slack.pouches

    def add(self, option: Option, pouches: int) -> None:
        """Makes so many pouches by the option, in place of what it made."""
        if option.number not in self.pouches:
            for window, sitting in option.sittings():
                self._in[window].append((option, sitting))
        self._slack.put(option, pouches)

    def runs(self, window: int) -> list[tuple[Option, Sitting]]:
        """What is made in a window."""
        return self._in[window]

    def most(self, option: Option, wanted: int) -> int:
        """How many of the wanted pouches fit; none where they are not worth the pot."""
        most = self._slack.most(option, wanted)
        return most if most >= self.problem.demands[option.demand].least else 0

    def limit(self, option: Option, pouches: int) -> str | None:
        """The limit that forbids the option so many pouches in all, or None."""
        row = self._slack.forbids(option, pouches)
        if row is not None:
            return row.reason
        return TIME if pouches > option.most else None
