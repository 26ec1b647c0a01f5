"""A small season of beans and dry beans with invented weather, each past year as warm as it says.

The nights have 10 °C and the days 24 °C all the time, but for a warm and a cold year and for the
cold winter; what is reckoned from it can be checked by hand.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from season_tables import house, kitchen, write_season

from harvestplan.foresight.answers import Risk

AS_OF = dt.date(2027, 5, 20)
WARMER = {2019: 0.0, 2020: 4.0, 2021: -3.0, 2022: 0.0, 2023: 1.0}
"""°C by which the days of each past year differ."""
WEATHER = 'daily = "weather.csv"\n\n'
HOURS = ("17:00", "21:00")
SEASON = house("2027-06-01", "2027-09-30", "tue thu sat", hours=HOURS, weather=WEATHER)
GARDEN = """\
[[planting]]
id = "beans-1"
crop = "snap bean"
row = "30 ft"
sown = 2027-05-25

[[bought]]
item = "dry bean"
amount = "8 lb"
on = 2027-06-05

[[fresh]]
crop = "snap bean"
per_week = "1 lb"

[[want]]
product = "snap bean, cut"
portions = 8
portion = "12 oz"
priority = 2

[[want]]
product = "dry bean, sealed"
portions = 8
portion = "1 lb"
"""


def write_risk_folder(folder: Path, *changes: tuple[str, str]) -> Path:
    """The season with texts replaced, and its weather."""
    priced = kitchen(pouch="pack = 50\nprice = 8.25\n", freezer="5 cu ft")
    write_season(folder, f"{SEASON}{priced}\n{GARDEN}", *changes)
    lines = ["date,tmin_c,tmax_c"]
    for year, warmer in WARMER.items():
        day = dt.date(year, 1, 1)
        while day.year == year:
            winter = 20.0 if day.month in (1, 2, 3, 11, 12) else 0.0
            lines.append(f"{day},{10 + warmer - winter:.2f},{24 + warmer - winter:.2f}")
            day += dt.timedelta(days=1)
    (folder / "weather.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def timeless(found: Risk | None) -> Risk:
    """The answer without the seconds that it took."""
    assert found is not None
    return found.model_copy(update={"cpu_seconds": 0.0})
