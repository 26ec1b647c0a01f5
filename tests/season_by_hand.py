"""A small season without a sealing machine: beans in zip bags, purée in boxes."""

from __future__ import annotations

from season_tables import house

HOUSE = house(
    "2027-06-01",
    "2027-09-30",
    "tue sat",
    ("09:00", "13:00"),
    season="max_sessions_per_week = 2\n",
)
BAG = """\
[[pouch]]
name = "quart bag"
kind = "zip bag"
width = "7 in"
length = "7.5 in"
pack = 20
price = 5.0
in_stock = 4

"""
BOX = """\
[[pouch]]
name = "quart box"
kind = "box"
volume = "1 US qt"
mouth = "wide"
in_stock = 2

"""
KITCHEN = f"""\
[[pot]]
name = "kettle"
volume = "12 qt"
power = "2.8 kW"

[[bath]]
name = "sink"
volume = "5 gal"

{BAG}{BOX}[[freezer]]
name = "chest"
volume = "7 cu ft"
tray_area = "12 sq ft"
"""
GARDEN = """\
[[planting]]
crop = "snap bean"
row = "20 ft"
sown = 2027-06-01
days_to_maturity = 55

[[planting]]
crop = "tomato"
plants = 4
set_out = 2027-05-20
days_to_maturity = 80

[[want]]
product = "snap bean, cut"
portions = 6
portion = "10 oz"
per_week = 1
from = 2027-09-01

[[want]]
product = "tomato, purée"
portions = 4
portion = "1 lb"
"""
SEASON = f"{HOUSE}\n{KITCHEN}\n{GARDEN}"
