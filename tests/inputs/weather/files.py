"""Weather files written, packed and read for the tests."""

from __future__ import annotations

import bz2
import gzip
import io
import lzma
import zipfile
from collections.abc import Callable
from pathlib import Path

import pandas as pd
from inputs.weather.samples import Sample

from harvestplan.inputs.weather.daily_record import WeatherRecord, read_weather

PACKED: dict[str, Callable[[bytes], bytes]] = {
    "gzip": gzip.compress,
    "bzip2": bz2.compress,
    "xz": lzma.compress,
    "zip": lambda data: zipped({"a/table.csv": data, "map.png": b"\x89PNG\0", "note.txt": b"x"}),
}


def zipped(members: dict[str, bytes]) -> bytes:
    """A zip archive of these files."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return target.getvalue()


def written(folder: Path, *files: bytes) -> list[Path]:
    """Files with these bytes, of names that tell nothing."""
    paths = []
    for number, data in enumerate(files):
        path = folder / f"file{number}.dat"
        path.write_bytes(data)
        paths.append(path)
    return paths


def read(folder: Path, *files: bytes) -> WeatherRecord:
    return read_weather(written(folder, *files))


def encoded(sample: Sample) -> list[bytes]:
    return [text.encode("utf-8") for text in sample.texts]


def days_of(frame: pd.DataFrame) -> dict[str, tuple[float, float]]:
    return {
        f"{day:%Y-%m-%d}": (row["tmin_c"], row["tmax_c"])
        for day, row in frame.iterrows()
        if isinstance(day, pd.Timestamp)
    }
