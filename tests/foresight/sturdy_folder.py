"""A small season in which the weather decides what evenings are needed, with 37 real past years.

Weather: Champion, Nebraska 1982-2018 (tests/data/weather). Garden and wants are invented: peas,
beans and corn, which wait for nobody, and three evenings a week to put them by.
"""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

from places import CHAMPION
from season_tables import house, kitchen, write_season

AS_OF = dt.date(2027, 4, 20)
SEASON = house(
    "2027-06-01",
    "2027-09-30",
    "tue thu sat",
    hours=("17:30", "20:30"),
    zone="America/Denver",
    weather='daily = "weather.csv"\n\n',
)
GARDEN = """\
[[planting]]
id = "peas"
crop = "shelling pea"
row = "100 ft"
sown = 2027-04-08

[[planting]]
id = "beans"
crop = "snap bean"
row = "25 ft"
sown = 2027-05-20

[[planting]]
id = "corn"
crop = "sweet corn"
row = "80 ft"
sown = 2027-05-15

[[want]]
product = "shelling pea"
portions = 8
portion = "10 oz"

[[want]]
product = "snap bean, cut"
portions = 16
portion = "12 oz"

[[want]]
product = "sweet corn, kernel"
portions = 14
portion = "12 oz"
"""


def write_sturdy_folder(folder: Path, *changes: tuple[str, str]) -> Path:
    """The season with texts replaced, and its weather."""
    own = kitchen("12 qt", "2.4 kW", "6 gal", pouch="pack = 50\nprice = 8.25\n")
    write_season(folder, f"{SEASON}{own}\n{GARDEN}", *changes)
    shutil.copyfile(CHAMPION, folder / "weather.csv")
    return folder
