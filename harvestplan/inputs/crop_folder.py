"""Where the crop files lie that come with the program."""

from __future__ import annotations

from pathlib import Path

SOURCES = "sources.toml"


def crop_folder() -> Path | None:
    """The folder inside the installed package, or that of the source tree; None without either."""
    package = Path(__file__).resolve().parents[1]
    folders = (package / "crops", package.parent / "crops")
    return next((folder for folder in folders if folder.is_dir()), None)
