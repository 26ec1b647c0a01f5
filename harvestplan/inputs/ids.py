"""What plantings are called, by their id or by their crop, and when two names are the same."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

QUOTES = '"“”'
"""The diary puts names in any of these, so that no name of crop, product or planting has one."""
NO_QUOTES = "a double quote cannot stand in it, since the diary puts such quotes around it"


@lru_cache(maxsize=4096)  # a diary names the same few foods thousands of times
def fold(name: str) -> str:
    """A name without regard to capitals, accents and blanks."""
    plain = unicodedata.normalize("NFKD", name.lower())
    plain = "".join(char for char in plain if not unicodedata.combining(char))
    return " ".join(plain.replace(",", ", ").replace(" ,", ",").split())


def planting_ids(plantings: Sequence[tuple[str, str | None]]) -> list[str]:
    """An id for each (crop, id or None): without one the crop's name, with -2, -3 for repeats.

    As in a line of the diary, blanks stand only between words, one each.
    """
    own = [" ".join((written or "").split()) for _, written in plantings]
    taken = {written for written in own if written}
    ids: list[str] = []
    for (crop, _), written in zip(plantings, own, strict=True):
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
