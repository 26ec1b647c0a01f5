"""A small sound season folder for the tests, and the crops it is read against."""

from __future__ import annotations

from pathlib import Path

from season_tables import kitchen

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.crops import Crop, Library, Refusal
from harvestplan.inputs.load import LoadedSeason, load_season
from harvestplan.kitchen.crop_library import load_library

HOUSEHOLD = """\
[household]
name = "The Lane"
timezone = "America/Chicago"
measures = "US"

[season]
start = 2027-04-01
end = 2027-11-30

[[window]]
days = ["mon", "thu"]
start = 18:30:00
end = 21:30:00

"""
GARDEN = """\

[[planting]]
crop = "snap bean"
row = "20 ft"
sown = 2027-05-10

[[bought]]
item = "pear"
amount = "20 lb"
on = 2027-09-04

[[want]]
product = "snap bean"
portions = 20
portion = "12 oz"
"""
SOUND = HOUSEHOLD + kitchen(pot="12 qt") + GARDEN


def make_library() -> Library:
    """The crops of the program and one bought in bulk, the pear, that may not be bottled."""
    library = load_library()
    bean = library.crops["snap bean"]
    changes = {
        "name": "pear",
        "also": ("cooking pear",),
        "kind": "bought",
        "growth": None,
        "picking": None,
        "yields": None,
        "refused": (Refusal(form="raw in oil", why="it may spoil.", source="X", seen=False),),
    }
    pear: Crop = bean.model_copy(update=changes)
    return Library.model_construct(crops={**library.crops, "pear": pear}, sources=library.sources)


LIBRARY = make_library()


def write(folder: Path, **files: str | bytes) -> Path:
    """Write files into `folder`; "garden" means garden.toml, "family_ics" family.ics."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        stem, _, ending = name.rpartition("_")
        path = folder / (f"{stem}.{ending}" if stem else f"{name}.toml")
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder


def load(folder: Path) -> LoadedSeason:
    return load_season(folder, LIBRARY)


def flaws_of(folder: Path) -> tuple[Flaw, ...]:
    """The flaws of a folder that needs mending."""
    try:
        load(folder)
    except FilesNeedMending as error:
        return error.flaws
    raise AssertionError("no flaw was found")
