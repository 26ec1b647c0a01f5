"""What this computer keeps for the page, beside the season folders: their list, paired devices,
secrets, answers begun. None of it belongs in a season folder, which people copy and send on."""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import sys
import threading
from pathlib import Path
from typing import Any

from harvestplan.disk import write_atomic

PLACE = "HARVESTPLAN_KEEPS"
"""Names another place for all this, for tests and for people with places of their own."""
LARGEST = 2_000_000


def usual_place() -> Path:
    """Where programs of this system keep what is theirs."""
    if named := os.environ.get(PLACE):
        return Path(named)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home())) / "harvestplan"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "harvestplan"
    return Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local/state") / "harvestplan"


class Keep:
    """Small JSON files under one folder that only this person may read; each is written whole."""

    def __init__(self, place: Path | None = None) -> None:
        self.place = place or usual_place()
        self.lock = threading.RLock()

    def read(self, name: str, usual: Any) -> Any:
        """What is kept under the name, or `usual` where nothing sound is."""
        path = self._path(name)
        try:
            if path.stat().st_size > LARGEST:
                return usual
            found = json.loads(path.read_bytes())
        except (OSError, ValueError, RecursionError):
            return usual
        return found if isinstance(found, type(usual)) else usual

    def write(self, name: str, value: Any) -> None:
        """Keep the value; raises OSError where the disk refuses."""
        with self.lock:
            path = self._path(name)
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            write_atomic(path, json.dumps(value, ensure_ascii=False).encode("utf-8", "replace"))
            path.chmod(0o600)

    def drop(self, name: str) -> None:
        """Keep it no longer."""
        self._path(name).unlink(missing_ok=True)

    def secret(self, name: str) -> str:
        """A secret drawn by lot once and kept."""
        with self.lock:
            found: dict[str, str] = self.read("secrets", {})
            if not isinstance(found.get(name), str):
                found[name] = secrets.token_urlsafe(32)
                self.write("secrets", found)
            return found[name]

    def drop_secret(self, name: str) -> None:
        """Draw another one next time."""
        with self.lock:
            found: dict[str, str] = self.read("secrets", {})
            if found.pop(name, None) is not None:
                self.write("secrets", found)

    def _path(self, name: str) -> Path:
        return self.place / f"{name}.json"


def season_key(folder: Path) -> str:
    """A season folder's name among what is kept."""
    return hashlib.sha256(str(folder.resolve()).encode("utf-8", "replace")).hexdigest()[:16]


SEASONS = "seasons"


def known_seasons(keep: Keep) -> list[Path]:
    """Season folders opened before and still there, the last one first."""
    found: list[Any] = keep.read(SEASONS, [])
    paths = [Path(each) for each in found if isinstance(each, str)]
    return [path for path in paths if any(path.glob("*.toml"))]


def remember_season(keep: Keep, folder: Path) -> None:
    """Put the folder first among those known."""
    here = str(folder.resolve())
    found: list[Any] = keep.read(SEASONS, [])
    keep.write(SEASONS, [here, *(each for each in found if each != here)][:30])
