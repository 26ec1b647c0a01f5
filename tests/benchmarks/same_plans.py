"""Whether a change of the code left the plans as they were, byte for byte.

python tests/benchmarks/same_plans.py --save FILE       before the change
python tests/benchmarks/same_plans.py --against FILE    after it

Plans twenty generated households in spring, and again on the first of July beside that plan; a
quarter of an hour of computing. Each plan is kept as a digest, and with what it is worth.
"""

from __future__ import annotations

import argparse
import datetime as dt
import hashlib
import json
import sys
import time
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[n]) for n in (1, 2)]

from benchmarks.seasons import AS_OF, YEAR, household  # noqa: E402

from harvestplan.plan.models import Plan  # noqa: E402
from harvestplan.planning.make import make_plan  # noqa: E402
from harvestplan.schedule.search.effort import Effort  # noqa: E402

IN_SUMMER = dt.date(YEAR, 7, 1)
SEEDS = range(1, 21)


def told(plan: Plan) -> dict[str, Any]:
    """Digest and worth of a plan, without when and how fast it was made."""
    data = plan.model_dump(mode="json")
    del data["made_at"]
    del data["proof"]["seconds"]
    text = json.dumps(data, sort_keys=True)
    digest = hashlib.sha256(text.encode()).hexdigest()
    return {"digest": digest, "worth": data["proof"]["worth"], "bound": data["proof"]["bound"]}


def plans(seed: int) -> dict[str, Any]:
    """What is told of a household's two plans, and the seconds of computing of both."""
    home = household(seed).household
    began = time.process_time()
    spring = make_plan(home, AS_OF, None, effort=Effort(), say=lambda text: None)
    summer = make_plan(home, IN_SUMMER, spring, effort=Effort(), say=lambda text: None)
    seconds = round(time.process_time() - began, 1)
    return {"spring": told(spring), "summer": told(summer), "seconds": seconds}


def main() -> int:
    """Saves what is told of each household's plans, or says where it differs from what was."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--save", type=Path)
    parser.add_argument("--against", type=Path)
    parser.add_argument("--seeds", type=int, nargs="*", default=SEEDS)
    asked = parser.parse_args()
    before = json.loads(asked.against.read_text()) if asked.against else {}
    found: dict[str, Any] = {}
    differ = 0
    for seed in asked.seeds:
        now = found[str(seed)] = plans(seed)
        was = before.get(str(seed))
        same = was is not None and all(now[when] == was[when] for when in ("spring", "summer"))
        differ += was is not None and not same
        story = "" if was is None else "as before" if same else f"DIFFERS: {was} became {now}"
        print(f"household {seed}: {now['seconds']} s of computing {story}", flush=True)
        if asked.save:
            asked.save.write_text(json.dumps(found, indent=1))
    return 1 if differ else 0


if __name__ == "__main__":
    sys.exit(main())
