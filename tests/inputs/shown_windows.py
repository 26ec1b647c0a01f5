"""Free windows in words."""

from __future__ import annotations

from harvestplan.inputs.windows import FreeWindow


def shown(windows: tuple[FreeWindow, ...]) -> list[str]:
    return [
        f"{w.start:%m-%d %H:%M}-{w.end:%H:%M} {w.hands}{' extra' if w.extra else ''}"
        for w in windows
    ]
