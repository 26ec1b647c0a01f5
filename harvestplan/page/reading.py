"""The season folder as it stands now, read again only where something in it changed."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.crops import Library
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.file import published_plan
from harvestplan.plan.models import Plan, Session
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

    def live_session(self, uid: str) -> Session | None:
        """The session of the plan with this uid, unless it was cancelled."""
        sessions = self.plan.sessions if self.plan else ()
        return next((s for s in sessions if s.uid == uid and s.live), None)

    @property
    def seen(self) -> str:
        """The last line of the diary, by its code."""
        return next((e.code for e in reversed(self.lines) if e.code), "")

    def now(self) -> dt.datetime:
        """The time by the household's clock."""
        return dt.datetime.now(ZoneInfo(self.season.household.timezone) if self.season else None)


@dataclass(frozen=True)
class _Part:
    """What one kind of file says, as long as none of them changes."""

    stamp: Stamp
    value: Any = None
    flaws: tuple[Flaw, ...] = ()


class Reader:
    """Reads one folder, and remembers what it read until a file is another: of each kind of file by
    itself, so that a new line of the diary has no season read again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._last: SeasonReading | None = None
        self._parts: dict[str, _Part] = {}

    def read(self) -> SeasonReading:
        """The folder as it stands now."""
        with self._lock:
            crops, season, diary, plan = map(stamp_of, _files_by_kind(self.folder))
            stamp = (*season, *crops, *diary, *plan)
            # What is wrong may be mended in a file that is not looked at here: a weather file.
            if self._last is None or self._last.stamp != stamp or self._last.flaws:
                parts = (
                    self._part("crops", crops, lambda: load_library(self.folder)),
                    self._part("season", (*season, *crops), self._season),
                    self._part("diary", diary, lambda: read_whole(self.folder)),
                    self._part("plan", plan, lambda: published_plan(self.folder)),
                )
                self._last = _put_together(self.folder, stamp, parts)
            return self._last

    def _season(self) -> Season | None:
        """The season, where its crops are known; what is wrong with those is told already."""
        library = self._parts["crops"].value
        return load_season(self.folder, library).season if library is not None else None

    def _part(self, kind: str, stamp: Stamp, read: Callable[[], Any]) -> _Part:
        """One kind of file, read again only where its stamp is another."""
        known = self._parts.get(kind)
        if known is None or known.stamp != stamp or known.flaws:
            try:
                known = _Part(stamp, read())
            except FilesNeedMending as error:
                known = _Part(stamp, flaws=tuple(error.flaws))
            self._parts[kind] = known
        return known


def _put_together(folder: Path, stamp: Stamp, parts: tuple[_Part, ...]) -> SeasonReading:
    crops, season, diary, plan = parts
    events, lines = diary.value or (NOTHING_WRITTEN, ())
    return SeasonReading(
        folder,
        stamp,
        season=season.value,
        library=crops.value,
        plan=plan.value,
        diary=events,
        lines=lines,
        flaws=tuple(dict.fromkeys(flaw for part in parts for flaw in part.flaws)),
    )


def season_files(folder: Path) -> list[Path]:
    """What people write in the folder, but for the diary."""
    return [*sorted(folder.glob("*.toml")), *sorted((folder / "crops").glob("*.toml"))]


def _files_by_kind(folder: Path) -> tuple[list[Path], ...]:
    """The crop files, the season files, the diary and what may be copies of it, the plan."""
    own = sorted((folder / "crops").glob("*.toml"))
    written = [path for path in season_files(folder) if path not in own]
    return own, written, sorted(folder.glob("[dD]iary*")), [folder / "out" / "plan.json"]


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
