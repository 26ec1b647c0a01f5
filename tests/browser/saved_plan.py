"""A plan of the demo household as it was once made, and ways to make it bigger or nastier.

After a change to what plans say: python3 demo/run.py, then .venv/bin/python
tests/browser/saved_plan.py saves the new one, and tests/browser/pictures.py takes the pictures.
"""

from __future__ import annotations

import copy
import datetime as dt
import gzip
import json
import re
import sys
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[n]) for n in (1, 2)]

from places import DEMO  # noqa: E402  (needs the paths above)

from harvestplan.inputs.load import load_season  # noqa: E402
from harvestplan.kitchen.crop_library import load_library  # noqa: E402
from harvestplan.outputs.write_all import write_outputs  # noqa: E402
from harvestplan.plan.models import Plan  # noqa: E402

HERE = Path(__file__).resolve().parent
SAVED = HERE / "willow_bend_plan.json.gz"
FULLEST = "2027-08-28"
"""The fullest evening: four foods, two pairs of hands, nearly every kind of step."""
SHEET = f"runsheets/{FULLEST}.html"

NASTY = {
    "snap bean": "<script>window.hit = 1</script>",
    "tomato": '"><img src=x onerror=window.hit=2>',
    "sweet corn": "תירס מתוק",
    "carrot": "🥕 'carrot' & \"co\"",
    "big kettle": "</style><script>window.hit = 3</script>",
    "sealer": "Sealer" + "withoutablank" * 9,
    "Willow Bend": "Bend & <b>Daughters</b> {{ 7 * 7 }} \u202etxet",
}
"""What a name of the demo becomes in a hostile folder."""


def demo_folder() -> Path:
    return DEMO


def demo_data() -> dict[str, Any]:
    """plan.json of the demo household."""
    data: dict[str, Any] = json.loads(gzip.decompress(SAVED.read_bytes()))
    return data


def write_pages(data: dict[str, Any], folder: Path, out: Path) -> dict[str, Path]:
    """All that a plan writes, from the demo's household; the pages by name."""
    library = load_library(folder)
    write_outputs(Plan.model_validate(data), load_season(folder, library).season, library, out=out)
    return {
        "book": out / "book.html",
        "sheet": out / SHEET,
        "labels": out / "labels" / "labels.html",
        "tally": out / "labels" / "tally.html",
    }


def nasty(data: Any) -> Any:
    """The data with hostile names in place of the usual ones, wherever they stand."""
    if isinstance(data, dict):
        return {key: nasty(value) for key, value in data.items()}
    if isinstance(data, list):
        return [nasty(value) for value in data]
    if isinstance(data, str):
        for name, other in NASTY.items():
            data = data.replace(name, other)
    return data


def big(data: dict[str, Any]) -> dict[str, Any]:
    """About twice the season: most foods once more under another name, sessions a day later."""
    wide = copy.deepcopy(data)
    crops = sorted({lot["crop"] for lot in data["lots"]})
    renamed = {crop: f"late {crop}" for crop in crops[:10]}
    for part in ("lots", "wants", "balance", "picks"):
        more = [_late(each, renamed) for each in copy.deepcopy(data[part])]
        wide[part] += [each for each in more if "late " in str(each.get("crop", each))]
    for session in copy.deepcopy(data["sessions"][:22]):
        later = _a_day_later(_late(session, renamed))
        wide["sessions"].append(later | {"uid": "9" + later["uid"][1:]})
    return wide


def _late(part: Any, renamed: dict[str, str]) -> Any:
    if isinstance(part, dict):
        return {key: _late(value, renamed) for key, value in part.items()}
    if isinstance(part, list):
        return [_late(value, renamed) for value in part]
    if isinstance(part, str):
        for crop, late in renamed.items():
            if part == crop or part.startswith(f"{crop},"):
                return part.replace(crop, late, 1)
    return part


def _a_day_later(part: Any) -> Any:
    if isinstance(part, dict):
        return {key: _a_day_later(value) for key, value in part.items()}
    if isinstance(part, list):
        return [_a_day_later(value) for value in part]
    if isinstance(part, str) and re.fullmatch(r"\d{4}-\d\d-\d\dT.{14}", part):
        return (dt.datetime.fromisoformat(part) + dt.timedelta(days=1)).isoformat()
    return part


def main() -> None:
    """Saves the plan that the demo made last."""
    made = (demo_folder() / "out" / "plan.json").read_bytes()
    SAVED.write_bytes(gzip.compress(made, mtime=0))


if __name__ == "__main__":
    main()
