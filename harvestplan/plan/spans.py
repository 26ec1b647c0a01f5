"""Stretches of time: sessions, free windows, reserved times."""

from __future__ import annotations

import datetime as dt
from typing import Protocol

DAY = dt.timedelta(days=1)


class Stretch(Protocol):
    """What has a start and an end."""

    @property
    def start(self) -> dt.datetime: ...
    @property
    def end(self) -> dt.datetime: ...


def overlap(one: Stretch, other: Stretch) -> bool:
    """Whether both go on at some moment; where one ends as the other starts they do not."""
    return one.start < other.end and other.start < one.end
