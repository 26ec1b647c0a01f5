"""The household's kitchen, resolved once: pots on burners, baths, ovens, machine, freezers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harvestplan.inputs.season import Bath, Dryer, Freezer, Oven, Pouch, Sealer, Season
from harvestplan.kitchen.freezing import freezing_limit
from harvestplan.kitchen.pot import Blancher


@dataclass(frozen=True)
class Kitchen:
    """Equipment ready for questions. `altitude` in m; `paces` are the household's own minutes of
    hand work per minute of the crop file, by "crop, form"."""

    altitude: float
    pots: tuple[Blancher, ...]
    pot_volumes: dict[str, float]
    baths: tuple[Bath, ...]
    ovens: tuple[Oven, ...]
    sealer: Sealer | None
    pouches: tuple[Pouch, ...]
    freezers: tuple[Freezer, ...]
    dryers: tuple[Dryer, ...] = ()
    paces: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def from_season(cls, season: Season, paces: Mapping[str, float] | None = None) -> Kitchen:
        altitude = season.household.altitude
        return cls(
            altitude=altitude,
            pots=tuple(Blancher.from_pot(pot, altitude) for pot in season.pot),
            pot_volumes={pot.name: pot.volume for pot in season.pot},
            baths=season.bath,
            ovens=season.oven,
            sealer=season.sealer,
            pouches=season.pouch,
            freezers=season.freezer,
            dryers=season.dryer,
            paces=paces or {},
        )

    def pot(self, name: str) -> Blancher:
        return next(pot for pot in self.pots if pot.name == name)

    def freezing_limit(self, name: str) -> int:
        return freezing_limit(self.freezer(name))

    def freezer(self, name: str) -> Freezer:
        return next(freezer for freezer in self.freezers if freezer.name == name)
