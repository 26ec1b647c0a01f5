"""A season of squash: roasted on Tuesday, chilled, and packed on Wednesday."""

from __future__ import annotations

import datetime as dt

from season_tables import kitchen

AUTUMN = dt.date(2027, 9, 1)


# Each trayful is in the oven for an hour, 4 1/2 min under the masher, 53 1/2 min in ice water: the
# second is cold at 21:25, and with 20 min to clean up that is the evening. Packing is 10 min more.
SEASON = f"""\
[household]
name = "The Lane"
timezone = "America/Chicago"

[season]
start = 2027-06-01
end = 2027-11-30
evening_is_worth = "0.1 portions"
food_is_worth = "0 portions"

[[window]]
days = ["tue"]
start = 18:00:00
end = 21:50:00

[[window]]
days = ["wed"]
start = 18:00:00
end = 19:30:00

{kitchen()}
[[oven]]
name = "range"
trays = 1
tray_load = "1.4 lb"

[[planting]]
crop = "winter squash"
plants = 3
sown = 2027-05-20
first_pick = 2027-09-14
yield = "24 lb"

[[want]]
product = "winter squash, purée"
portions = 4
portion = "1 lb"
"""
