"""A household as the planner knows it: one value, handed on whole."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from harvestplan.forecast.past_years import Temperatures
from harvestplan.forecast.season_forecast import Forecast
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import (
    FreeWindow,
    with_chosen,
    with_chosen_visits,
)
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.plan.models import Wish
from harvestplan.plan.season_id import SeasonId
from harvestplan.records.diary import NOTHING_WRITTEN, Diary
from harvestplan.records.moved_sessions import (
    NO_WISHES,
    Wishes,
    chosen_windows,
)

NOT_FORECAST = Forecast(dt.date.min, ())


@dataclass(frozen=True)
class Household:
    """A season folder, read: what was written, what is known, when there is time."""

    season: Season
    library: Library
    windows: tuple[FreeWindow, ...] = ()
    """When there is time, those times among them to which it moved sessions."""
    folder: Path = Path()
    weather: Temperatures | None = None
    """Daily temperatures of past years and this one, where there is a file of them."""
    forecast: Forecast = NOT_FORECAST
    notes: tuple[str, ...] = ()
    """Sentences about the files worth knowing (skipped calendar entries, filled weather)."""
    experience: Experience = NOTHING_YET
    """What the days before taught: own paces, failed seals, the machine's hours."""
    diary: Diary = NOTHING_WRITTEN
    """What happened up to the day the folder was read for, and after it."""
    wishes: Wishes = NO_WISHES
    """Sessions that the household moved, and times it keeps free."""
    usual: tuple[FreeWindow, ...] = ()
    """`windows` without the times that it moved sessions to."""
    usual_visits: tuple[FreeWindow, ...] = ()
    """`visits` likewise."""
    visits: tuple[FreeWindow, ...] = ()
    """When somebody may look in, those times among them to which it moved visits."""
    begins: dt.datetime | None = None
    """When the next new session may begin at the earliest, where a day is not planned anew."""
    impossible: Mapping[str, str] = field(default_factory=dict)
    """Why, by uid, sessions promised in the published plan are forbidden by the files of today."""
    own: SeasonId | None = None
    """The season's id, where what is planned will be written."""

    @property
    def seed(self) -> str:
        """What the UIDs of new sessions are made from."""
        return self.own.code if self.own else self.season.household.name

    def refusing(self, wish: Wish, why: str, as_of: dt.date) -> Household:
        """The same household, where that moved session cannot be where it was put."""
        told = wish.model_copy(update={"why": why})
        moves = tuple(told if each == wish else each for each in self.wishes.moves)
        wished = replace(self, wishes=replace(self.wishes, moves=moves))
        return wished.with_times(chosen_windows(moves, as_of))

    def with_times(self, chosen: Sequence[FreeWindow]) -> Household:
        """The same household with the times it chose beside its usual ones."""
        return replace(
            self,
            windows=with_chosen(self.usual, chosen),
            visits=with_chosen_visits(self.usual_visits, chosen),
        )
