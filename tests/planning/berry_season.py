"""A household with one evening a week and fruit that freezes on trays."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from season_tables import house, kitchen, write_season

from harvestplan.plan.models import Plan, Session

SPRING = dt.date(2027, 3, 1)
STRAWBERRY, PLUM = "strawberry, whole", "plum, halves"
GARDEN = """
[[planting]]
crop = "strawberry"
row = "30 ft"
set_out = 2026-04-20
[[planting]]
crop = "plum"
plants = 1
set_out = 2020-04-20
[[want]]
product = "strawberry, whole"
portions = 15
portion = "12 oz"
[[want]]
product = "plum, halves"
portions = 10
portion = "12 oz"
"""
SEASON = house("2027-05-01", "2027-10-15", days="thu", hours=("18:00", "21:00"), season="# more")
TRAYS = 'tray_area = "6 ft2"\n'


def berry_folder(folder: Path, *changes: tuple[str, str]) -> Path:
    """The season in a folder, some of its text changed."""
    return write_season(folder, SEASON + kitchen() + TRAYS + GARDEN, *changes)


def visits(plan: Plan) -> list[Session]:
    """The plan's visits, by start."""
    return sorted((s for s in plan.sessions if s.live and s.is_visit), key=lambda s: s.start)


def made(plan: Plan) -> dict[str, int]:
    """Portions planned of each want."""
    return {want.product: want.planned for want in plan.wants}
