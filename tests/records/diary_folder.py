"""A small season folder to keep a diary in."""

from __future__ import annotations

from pathlib import Path

GARDEN = """\
[household]
name = "Test"
timezone = "Europe/London"
measures = "{measures}"
[season]
start = 2027-04-01
end = 2027-11-30
[[planting]]
crop = "snap bean"
id = "beans-1"
row = "5 m"
sown = 2027-05-10
[[planting]]
crop = "green bean"
row = "5 m"
sown = 2027-06-10
[[planting]]
crop = "tomato"
plants = 4
set_out = 2027-05-20
"""


def make_folder(path: Path, diary: str | bytes | None = None, measures: str = "US") -> Path:
    path.mkdir(exist_ok=True)
    (path / "season.toml").write_text(GARDEN.format(measures=measures), encoding="utf-8")
    if diary is not None:
        raw = diary if isinstance(diary, bytes) else diary.encode("utf-8")
        (path / "diary.txt").write_bytes(raw)
    return path
