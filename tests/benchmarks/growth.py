"""How time and memory grow with the households that share a kitchen.

    python3 tests/benchmarks/growth.py [--households 1,2,5,10,20,50] [--seeds 3] [--gap 0.03]
                                       [--out DIR]

Each season in a process of its own: seconds from its statement to the first valid plan and until
the plan is within the gap of its bound, and the most memory it took. The exponent is the
slope of a line through the logarithms, by least squares. Written: growth.csv, growth.png.
"""

from __future__ import annotations

import argparse
import dataclasses
import multiprocessing
import resource
import statistics
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import numpy as np  # noqa: E402  (needs the paths above)
from benchmarks.seasons import shared  # noqa: E402
from benchmarks.tables import write_rows  # noqa: E402

from harvestplan.schedule.search.effort import Effort  # noqa: E402
from harvestplan.schedule.search.solve_season import Solved, solve_season  # noqa: E402
from harvestplan.schedule.session.timed_sessions import TimedSessions  # noqa: E402

MIB = 1024
EFFORT = Effort(nodes=150, nearby=20.0, rounds=4)


@dataclass(frozen=True)
class Grown:
    """One season: computing seconds to the first plan and to the gap, worth and its bound in
    portions, and the most memory in MiB. `within` where the gap was reached."""

    households: int
    seed: int
    lots: int
    first: float
    seconds: float
    worth: float
    bound: float
    within: bool
    memory: float


def measure(households: int, seed: int, gap: float) -> Grown:
    """Solves the shared season, and looks when it came within the gap of its bound."""
    problem = shared(households, seed).problem()
    began = time.process_time()
    heard: list[tuple[float, float]] = []

    def hear(solved: Solved) -> None:
        heard.append((time.process_time() - began, solved.gap))

    found = solve_season(problem, TimedSessions(problem, seed), EFFORT, heard=hear)
    heard.append((time.process_time() - began, found.gap))
    reached = next((at for at, open_ in heard if open_ <= gap), heard[-1][0])
    return Grown(
        households,
        seed,
        len(problem.lots),
        first=round(heard[0][0], 2),
        seconds=round(reached, 2),
        worth=round(found.worth, 2),
        bound=round(found.bound, 2),
        within=found.gap <= gap,
        memory=round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MIB),
    )


def exponent(rows: Sequence[Grown]) -> float:
    """Of the power of the number of households with which the seconds grow."""
    sizes, seconds = zip(*_medians(rows).items(), strict=True)
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])


def _medians(rows: Sequence[Grown]) -> dict[int, float]:
    """Median seconds to the gap by households; those that never reached it count to their end."""
    sizes = sorted({row.households for row in rows})
    return {n: statistics.median(r.seconds for r in rows if r.households == n) for n in sizes}


def draw(rows: Sequence[Grown], gap: float, path: Path) -> None:
    """Every season as a point, and the line of the power it follows."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot

    figure, panel = pyplot.subplots(figsize=(6, 4), layout="constrained")
    for within, mark, label in ((True, "o", "within the gap"), (False, "x", "not within it")):
        points = [(r.households, r.seconds) for r in rows if r.within == within]
        if points:
            panel.plot(*zip(*points, strict=True), mark, label=label, color="#1b6e3c")
    medians = _medians(rows)
    sizes, power = np.array(list(medians)), exponent(rows)
    middle = np.exp(np.mean(np.log(list(medians.values())) - power * np.log(sizes)))
    panel.plot(sizes, middle * sizes**power, color="#8a5a00", label=f"n^{power:.2f}")
    panel.set(
        xscale="log",
        yscale="log",
        xlabel="households",
        ylabel="seconds of computing",
        title=f"Worth within {100 * gap:g} % of the bound",
    )
    panel.legend()
    figure.savefig(path, dpi=120)
    pyplot.close(figure)


def main() -> None:
    """Measures all, saying each as it comes, and writes the table and the picture."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--households", default="1,2,5,10,20,50")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--gap", type=float, default=0.03)
    parser.add_argument("--out", type=Path, default=Path("growth"))
    asked = parser.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    rows: list[Grown] = []
    # A new process for each, so that its memory is its own.
    with multiprocessing.get_context("spawn").Pool(1, maxtasksperchild=1) as pool:
        for households in map(int, asked.households.split(",")):
            for seed in range(1, asked.seeds + 1):
                rows.append(pool.apply(measure, (households, seed, asked.gap)))
                print(rows[-1], file=sys.stderr, flush=True)
    write_rows(asked.out / "growth.csv", map(dataclasses.asdict, rows))
    draw(rows, asked.gap, asked.out / "growth.png")
    print(
        f"{sum(r.within for r in rows)} of {len(rows)} within {100 * asked.gap:g} %; "
        f"seconds grow like n^{exponent(rows):.2f}"
    )


if __name__ == "__main__":
    main()
