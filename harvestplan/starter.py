"""A starter season folder: three commented files that plan something as they stand."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from harvestplan.errors import FilesNeedMending, Flaw

HOUSEHOLD = """\
# Who you are and when you have time. Lines that begin with # are remarks.

[household]
name = "Our kitchen"
timezone = "America/Chicago"   # as in the list of time-zone names: Europe/Berlin, ...
altitude = "0 ft"
measures = "US"                # or "UK" or "metric": how pints and cups are read
hands = 1                      # people in the kitchen, unless a window says otherwise

[season]
start = {year}-05-01
end = {year}-10-31
max_sessions_per_week = 2

# A file of past daily temperatures makes the forecast much better (see the README):
# [weather]
# daily = "weather.csv"

[[window]]
days = ["tue", "thu"]
start = 18:00:00
end = 21:00:00

[[window]]
days = ["sat"]
start = 09:00:00
end = 12:30:00

# [[away]]
# start = {year}-07-20
# end = {year}-07-27

# [calendars]
# busy = ["family.ics"]
"""

KITCHEN = """\
# What stands in your kitchen. Quantities are written with their unit, in quotes.

[[pot]]
name = "kettle"
volume = "8 qt"
power = "1.8 kW"               # of its burner
kind = "electric"              # or "gas" or "induction"
# batch = "8 oz"               # the batch you found to boil again within a minute

[[bath]]
name = "sink"
volume = "5 gal"

[[oven]]
name = "oven"
trays = 2
tray_load = "4 lb"

[sealer]
kind = "chamber"               # or "external"
bar = "12 in"
handling = "20 s"

[[pouch]]
name = "pint"
width = "6 in"
length = "10 in"
film = "3 mil"

[[pouch]]
name = "quart"
width = "8 in"
length = "12 in"
film = "3 mil"

[[freezer]]
name = "freezer"
volume = "7 cu ft"
used = "1 cu ft"               # what lies in it already

[cold]
cellar = false
"""

GARDEN = """\
# What grows, what you buy in bulk, and what you want on the shelf by winter.
# `harvestplan crops` lists every crop, good and product.

[[planting]]
crop = "snap bean"
row = "30 ft"                  # or plants = 12, or area = "4x10 ft"
sown = {year}-05-15

[[planting]]
crop = "tomato"
plants = 6
set_out = {year}-05-20

[[bought]]
item = "dry bean"
amount = "8 lb"
on = {year}-06-05

[[fresh]]
crop = "tomato"
per_week = "3 lb"

[[want]]
product = "snap bean, cut"
portions = 20
portion = "12 oz"

[[want]]
product = "tomato, purée"
portions = 10
portion = "2 cups"
priority = 2

[[want]]
product = "dry bean, sealed"
portions = 8
portion = "1 lb"
"""

FILES = {"household.toml": HOUSEHOLD, "kitchen.toml": KITCHEN, "garden.toml": GARDEN}


def write_starter(folder: Path) -> list[Path]:
    """Writes the three files into `folder` (made if needed) for the season ahead.

    Raises
    ------
    FilesNeedMending
        Where one of them is already there; nothing is written then.
    """
    there = [folder / name for name in FILES if (folder / name).exists()]
    if there:
        raise FilesNeedMending(
            [Flaw(str(path), None, "", "is already there.", "Choose an empty folder.")
             for path in there]
        )  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    today = dt.date.today()
    year = today.year if today.month < 8 else today.year + 1
    written = []
    for name, text in FILES.items():
        path = folder / name
        path.write_text(text.replace("{year}", str(year)), encoding="utf-8")
        written.append(path)
    return written
