"""The season folder as it stands now, read again only where something in it changed."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from zoneinfo import ZoneInfo

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.crops import Library
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.file import published_plan
from harvestplan.plan.models import Plan
from harvestplan.records.diary import NOTHING_WRITTEN, Diary, read_whole
from harvestplan.records.events import Event

Stamp = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True)
class SeasonReading:
    """What the folder says; where files need mending, `flaws` say so and the rest is missing."""

    folder: Path
    stamp: Stamp
    season: Season | None = None
    library: Library | None = None
    plan: Plan | None = None
    diary: Diary = NOTHING_WRITTEN
    lines: tuple[Event, ...] = ()
    """Every line of the diary, what was taken back too."""
    flaws: tuple[Flaw, ...] = ()

    @property
    def measures(self) -> Measures:
        return self.season.household.measures if self.season else "US"

    @property
    def seen(self) -> str:
        """The last line of the diary, by its code."""
        return next((e.code for e in reversed(self.lines) if e.code), "")

    def now(self) -> dt.datetime:
        """The time by the household's clock."""
        return dt.datetime.now(ZoneInfo(self.season.household.timezone) if self.season else None)


class Reader:
    """Reads one folder, and remembers what it read until a file is another."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._last: SeasonReading | None = None
        self._library: tuple[Stamp, Library] | None = None

    def read(self) -> SeasonReading:
        """The folder as it stands now."""
        with self._lock:
            stamp = stamp_of(_all_files(self.folder))
            if self._last is None or self._last.stamp != stamp:
                self._last = self._anew(stamp)
            return self._last

    def _anew(self, stamp: Stamp) -> SeasonReading:
        found = SeasonReading(self.folder, stamp)
        flaws: list[Flaw] = []
        try:
            library = self._crops()
            found = replace(found, library=library)
            found = replace(found, season=load_season(self.folder, library).season)
        except FilesNeedMending as error:
            flaws += error.flaws
        try:
            diary, lines = read_whole(self.folder)
            found = replace(found, diary=diary, lines=lines)
        except FilesNeedMending as error:
            flaws += error.flaws
        try:
            found = replace(found, plan=published_plan(self.folder))
        except FilesNeedMending as error:
            flaws += error.flaws
        return replace(found, flaws=tuple(dict.fromkeys(flaws)))

    def _crops(self) -> Library:
        stamp = stamp_of(sorted((self.folder / "crops").glob("*.toml")))
        if self._library is None or self._library[0] != stamp:
            self._library = stamp, load_library(self.folder)
        return self._library[1]


def season_files(folder: Path) -> list[Path]:
    """What people write in the folder, but for the diary."""
    return [*sorted(folder.glob("*.toml")), *sorted((folder / "crops").glob("*.toml"))]


def _all_files(folder: Path) -> Iterator[Path]:
    yield from season_files(folder)
    yield from sorted(folder.glob("[dD]iary*"))
    yield folder / "out" / "plan.json"


def stamp_of(paths: Iterator[Path] | list[Path]) -> Stamp:
    """When each file was last changed, and how long it is; a file that is not there is left out."""
    found = []
    for path in paths:
        try:
            about = path.stat()
        except OSError:
            continue
        found.append((path.name, about.st_mtime_ns, about.st_size))
    return tuple(found)
