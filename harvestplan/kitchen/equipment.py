"""The household's kitchen, resolved once: pots on burners, baths, ovens, machine, freezers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harvestplan.inputs.season import Season
from harvestplan.inputs.season_kitchen import Bath, Dryer, Freezer, Oven, Pouch, Sealer
from harvestplan.kitchen.freezing_capacity import freezing_limit
from harvestplan.kitchen.machine_settings import Tries
from harvestplan.kitchen.own_pace import OwnPace
from harvestplan.kitchen.pot import Blancher, blanchers


@dataclass(frozen=True)
class Kitchen:
    """Equipment ready for questions. `altitude` in m; `paces` are the household's own paces of
    hand work, `tries` what they found out about the sealing machine's settings, both by "crop,
    form"."""

    altitude: float
    pots: tuple[Blancher, ...]
    pot_volumes: dict[str, float]
    baths: tuple[Bath, ...]
    ovens: tuple[Oven, ...]
    sealer: Sealer | None
    pouches: tuple[Pouch, ...]
    freezers: tuple[Freezer, ...]
    dryers: tuple[Dryer, ...] = ()
    paces: Mapping[str, OwnPace] = field(default_factory=dict)
    tries: Tries = field(default_factory=dict)

    @classmethod
    def from_season(
        cls,
        season: Season,
        paces: Mapping[str, OwnPace] | None = None,
        tries: Tries | None = None,
    ) -> Kitchen:
        """The kitchen of a season file, with what the diary tells of paces and settings."""
        pots = blanchers(season)
        boiling = {pot.name for pot in pots}
        return cls(
            altitude=season.household.altitude,
            pots=pots,
            pot_volumes={pot.name: pot.volume for pot in season.pot if pot.name in boiling},
            baths=season.bath,
            ovens=season.oven,
            sealer=season.machine,
            pouches=season.pouch,
            freezers=season.freezer,
            dryers=season.dryer,
            paces=paces or {},
            tries=tries or {},
        )

    def pot(self, name: str) -> Blancher:
        return next(pot for pot in self.pots if pot.name == name)

    def freezing_limit(self, name: str) -> int:
        return freezing_limit(self.freezer(name))

    def freezer(self, name: str) -> Freezer:
        return next(freezer for freezer in self.freezers if freezer.name == name)
