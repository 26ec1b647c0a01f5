"""What plantings are called: by their id, or by their crop."""

from __future__ import annotations

import re
from collections.abc import Sequence


def planting_ids(plantings: Sequence[tuple[str, str | None]]) -> list[str]:
    """An id for each (crop, id or None): without one the crop's name, with -2, -3 for repeats."""
    taken = {written for _, written in plantings if written}
    ids: list[str] = []
    for crop, written in plantings:
        slug = _slug(crop)
        repeats = (f"{slug}-{count}" for count in range(2, len(plantings) + 2))
        ids.append(written or next(name for name in (slug, *repeats) if name not in taken))
        taken.add(ids[-1])
    return ids


def called(planting_id: str, crop: str) -> str:
    """What a planting is called to people: its crop where the id is made of that alone."""
    return crop if planting_id == _slug(crop) else planting_id


def _slug(crop: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", crop.lower()).strip("-") or "planting"
