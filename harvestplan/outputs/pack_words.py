"""What a household calls the things that it packs food in: pouches, zip bags, boxes."""

from __future__ import annotations

from collections.abc import Iterable

from harvestplan.inputs.season import Season
from harvestplan.inputs.season_kitchen import PackKind
from harvestplan.plan.models import Run
from harvestplan.words import MANY, joined, packs


def pack_kind(name: str | None, season: Season) -> PackKind:
    """The kind of a container of the kitchen; one that it no longer has is called a pouch."""
    return next((pouch.kind for pouch in season.pouch if pouch.name == name), "pouch")


def packs_of(run: Run, season: Season) -> str:
    """What a run fills: "6 zip bags"."""
    return packs(run.pouches, pack_kind(run.pouch, season))


def together(names: Iterable[str | None], season: Season) -> str:
    """What several containers are called together: "pouches", "zip bags and boxes"."""
    kinds = {pack_kind(name, season) for name in names} or {"pouch"}
    return joined([many for kind, many in MANY.items() if kind in kinds])


def all_packs(season: Season) -> str:
    """What all containers of the kitchen are called together."""
    return together((pouch.name for pouch in season.pouch), season)
