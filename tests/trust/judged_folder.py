"""Whether what lies in a folder is whole."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import vobject

from harvestplan.plan.file import read_plan


def judge_whole(out: Path) -> None:
    """Every file that a person or program opens is complete."""
    read_plan(out / "plan.json")
    for path in (p for p in out.rglob("*") if p.is_file()):
        if any(part.startswith(".") for part in path.relative_to(out).parts):
            continue
        text = path.read_text(encoding="utf-8")
        assert text.endswith(("\n", "}", "</html>")), path
        if path.suffix == ".json":
            assert json.loads(text)
        elif path.suffix == ".ics":
            vobject.readOne(text)
        elif path.suffix == ".csv":
            assert len({len(row) for row in csv.reader(io.StringIO(text))}) == 1
