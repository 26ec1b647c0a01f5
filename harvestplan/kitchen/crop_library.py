"""The crop library as this kitchen reads it: every step of a chain known, and complete."""

from __future__ import annotations

from pathlib import Path

from harvestplan.inputs.crops import Library
from harvestplan.inputs.library import read_library
from harvestplan.kitchen.steps.all_steps import KNOWN_STEPS


def load_library(extra_folder: Path | None = None) -> Library:
    """All crops by name and all sources by id, with those of a season folder over them.

    Raises FilesNeedMending as `read_library` does.
    """
    return read_library(extra_folder, KNOWN_STEPS)
