"""What the usual effort of `harvestplan plan` comes to on seasons by their seeds.

    python3 tests/benchmarks/usual_effort.py [--season household] [--first 1] [--seeds 20]

For each seed: what the plan is worth in portions and how far from the bound, seconds of computing
(all cores) and by the clock, evenings and visits, runs and those of one or two pouches that do not
finish a want, evenings that bring less than they take, and days that perishable food waits (by
grams). The plan is the same on every machine; only the seconds are not.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from benchmarks.season_runs import instance, is_sound, worth_of  # noqa: E402  (needs the paths above)

from harvestplan.schedule.goals.worth import Goal, worth_of_season  # noqa: E402
from harvestplan.schedule.rules.all_rules import state_rules  # noqa: E402
from harvestplan.schedule.search.effort import Effort  # noqa: E402
from harvestplan.schedule.search.solve_season import solve_season  # noqa: E402
from harvestplan.schedule.session.timed_sessions import TimedSessions  # noqa: E402
from harvestplan.schedule.statement.carried_over import used_evenings, without_runs_in  # noqa: E402
from harvestplan.schedule.statement.choice import Choice  # noqa: E402
from harvestplan.schedule.statement.problem import Problem  # noqa: E402


@dataclass(frozen=True)
class Outcome:
    """One season planned; `gap` in per cent, `poor` evenings bring less than they take."""

    seed: int
    worth: float
    gap: float
    computing: float
    clock: float
    evenings: int
    visits: int
    runs: int
    small: int
    poor: int
    age: float
    sound: bool


def outcome(season: str, seed: int) -> Outcome:
    """The season planned with the usual effort."""
    problem = instance(season, seed).problem()
    began, busy = time.monotonic(), time.process_time()
    solved = solve_season(problem, TimedSessions(problem, 1), Effort())
    clock, computing = time.monotonic() - began, time.process_time() - busy
    goal = worth_of_season(state_rules(problem))
    told = worth_of(problem, goal, solved.choice)
    return Outcome(
        seed=seed,
        worth=round(solved.worth, 1),
        gap=round(100 * solved.gap, 2),
        computing=round(computing, 1),
        clock=round(clock, 1),
        evenings=told.evenings,
        visits=told.visits,
        runs=told.runs,
        small=told.small,
        poor=len(list(poor_evenings(problem, goal, solved.choice))),
        age=told.age,
        sound=is_sound(problem, solved.choice),
    )


def poor_evenings(problem: Problem, goal: Goal, choice: Choice) -> Iterator[int]:
    """Evenings without which the plan would be worth more."""
    for window in used_evenings(problem, choice):
        if goal.cost(without_runs_in(problem, choice, window)) < goal.cost(choice):
            yield window


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("--season", default="household")
    asked.add_argument("--first", type=int, default=1)
    asked.add_argument("--seeds", type=int, default=20)
    said = asked.parse_args()
    found = []
    for seed in range(said.first, said.first + said.seeds):
        found.append(outcome(said.season, seed))
        print(" ".join(f"{key} {value}" for key, value in asdict(found[-1]).items()), flush=True)
    for key in ("gap", "computing", "clock", "evenings", "age"):
        values = [getattr(each, key) for each in found]
        print(f"{key}: median {statistics.median(values):g}, worst {max(values):g}")
    runs, small = sum(each.runs for each in found), sum(each.small for each in found)
    print(f"small: {small} of {runs} runs; poor: {sum(each.poor for each in found)} evenings")


if __name__ == "__main__":
    main()
