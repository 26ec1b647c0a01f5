"""A planting with all that is known of it beforehand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from harvestplan.forecast import stages
from harvestplan.forecast.climate import Climate
from harvestplan.forecast.clock import Clock, set_clock, taught
from harvestplan.forecast.learning import Lesson
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.season import Planting, Season


@dataclass(frozen=True)
class Case:
    """A planting with all that is known of it beforehand. Days count from `clock.start`."""

    planting: Planting
    id: str
    crop: Crop
    season: Season
    climate: Climate | None
    as_of: dt.date
    clock: Clock

    @property
    def today(self) -> int:
        return self.day(self.as_of)

    @property
    def emerges(self) -> float:
        """Days to the seedlings of a crop sown in place, as a rule."""
        return stages.EMERGENCE_SHARE * self.clock.days

    def day(self, date: dt.date) -> int:
        return (date - self.clock.start).days

    def date(self, day: int) -> dt.date:
        return self.clock.start + dt.timedelta(days=day)


def set_case(
    planting: Planting,
    planting_id: str,
    crop: Crop,
    *,
    season: Season,
    climate: Climate | None,
    as_of: dt.date,
) -> Case:
    """Raises FilesNeedMending if the crop cannot be grown."""
    if climate is not None and planting.under is not None:
        climate = climate.under(planting.under)
    clock = set_clock(planting, crop, season, climate=climate)
    clock = taught(clock, lessons_before(season, crop), season.household.measures)
    return Case(
        planting, planting_id, crop, season=season, climate=climate, as_of=as_of, clock=clock
    )


def lessons_before(season: Season, crop: Crop) -> list[Lesson]:
    """What the first picks of earlier seasons took, as the season file has them."""
    names = {name.lower() for name in (crop.name, *crop.also)}
    told = [each.took for each in season.ripened if each.crop.lower() in names]
    return [Lesson(ratio) for took in told for ratio in took]


def taught_by(case: Case, lessons: Sequence[Lesson]) -> Case:
    """The planting in the light of this season's other plantings of its crop."""
    if not lessons:
        return case
    whole = [*lessons_before(case.season, case.crop), *lessons]
    return replace(case, clock=taught(case.clock, whole, case.season.household.measures))
