"""What devices share of a run sheet while it is worked through: ticks, timers, how late it is."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from harvestplan.page.kept_here import Keep

SETTING = re.compile(r"(?:[stbw]\d{1,4}:[01]|late:-?10)")
"""Ticks of steps, of what is to be ready (b) and written (w); timers (t); ten minutes later."""


@dataclass
class Shared:
    """The state of one sheet: by key when each step was ticked and each timer started (seconds of
    the epoch), and by how many minutes each step is late; `version` counts its changes."""

    ticked: dict[str, float] = field(default_factory=dict)
    started: dict[str, float] = field(default_factory=dict)
    late: dict[str, int] = field(default_factory=dict)
    version: int = 0


class Live:
    """The sheets that are worked through, kept so that neither a kill nor a night loses a tick."""

    def __init__(self, keep: Keep, clock: Callable[[], float] = time.time) -> None:
        self.keep, self.clock = keep, clock
        self._lock = threading.Lock()
        self._sheets: dict[str, Shared] = {}

    def state(self, sheet: str) -> Shared:
        """The state of a sheet."""
        with self._lock:
            return self._state(sheet)

    def _state(self, sheet: str) -> Shared:
        if sheet not in self._sheets:
            kept: dict[str, Any] = self.keep.read(f"sheet-{sheet}", {})
            parts = {name: dict(kept.get(name) or {}) for name in ("ticked", "started", "late")}
            self._sheets[sheet] = Shared(**parts, version=int(kept.get("version") or 0))
        return self._sheets[sheet]

    def put(self, sheet: str, setting: str, steps: Iterable[str]) -> None:
        """Take in what was tapped; what is set already stays as it was. Raises OSError."""
        with self._lock:
            state = self._state(sheet)
            if setting.startswith("late:"):
                minutes = int(setting.removeprefix("late:"))
                for key in steps:
                    if f"s{key}" not in state.ticked:
                        state.late[key] = max(0, state.late.get(key, 0) + minutes)
            else:
                key, _, on = setting.partition(":")
                where = state.started if key.startswith("t") else state.ticked
                if on == "1":
                    where.setdefault(key, self.clock())
                else:
                    where.pop(key, None)
            state.version += 1
            self.keep.write(
                f"sheet-{sheet}",
                {
                    "ticked": state.ticked,
                    "started": state.started,
                    "late": state.late,
                    "version": state.version,
                },
            )
