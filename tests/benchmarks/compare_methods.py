"""Our planner against planning by hand, a plain model and a general-purpose library.

    python3 tests/benchmarks/compare_methods.py [--seeds 3] [--limit 60] [--out DIR]
                                               [--seasons household,big,shared-3] [--sessions-only]

Seasons: harvestplan, the plan made by hand (schedule/search/by_hand.py), a plain time-indexed
CP-SAT model (plain_model.py) and our season model given to CP-SAT as it comes. Seeds count from
--first, so that others than ever before can be asked. Sessions: our minute model and PyJobShop
(general_library.py) on published job shops and projects and on the sessions of plans made by hand.
Same machine, limit and seeds.
Written: seasons.csv, sessions.csv (every run), comparison.md (median and worst), comparison.png.
"""

from __future__ import annotations

import argparse
import importlib.util
import math
import statistics
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "demo")]

if __name__ == "__main__" and importlib.util.find_spec("pyjobshop") is None:
    from environment import ready_python

    again = [ready_python("dev"), __file__, *sys.argv[1:]]
    sys.exit(subprocess.run(again).returncode)

from benchmarks.general_library import solve_generally, without_kitchen  # noqa: E402  (needs the paths above)
from benchmarks.judged_times import faults  # noqa: E402
from benchmarks.published import job_shops, projects  # noqa: E402
from benchmarks.season_runs import METHODS, Run, instance, run  # noqa: E402
from benchmarks.tables import write_rows  # noqa: E402

from harvestplan.schedule.rules.all_rules import state_rules  # noqa: E402
from harvestplan.schedule.search.by_hand import plan_by_hand  # noqa: E402
from harvestplan.schedule.session.minutes import time_session  # noqa: E402
from harvestplan.schedule.session.tasks import SessionTasks, SessionTimes  # noqa: E402
from harvestplan.schedule.session.timed_sessions import (  # noqa: E402
    TimedSessions,
    session_tasks,
    window_runs,
)

COLOURS = {
    "harvestplan": "#1b6e3c",
    "by hand": "#8a5a00",
    "plain model": "#34558b",
    "CP-SAT alone": "#8b3455",
}
EFFORT_A_SECOND = 0.05
"""Deterministic seconds of our minute model to a second of the limit: it ends well within."""


@dataclass(frozen=True)
class Timing:
    """One session laid out: makespan in s (None where none was found) and s it took."""

    group: str
    name: str
    method: str
    length: int | None
    proven: bool
    sound: bool
    seconds: float


def season_runs(
    names: Sequence[str], seeds: Sequence[int], limit: float, methods: Sequence[str] = METHODS
) -> Iterator[Run]:
    """Every season, seed and method in turn."""
    for name in names:
        for seed in seeds:
            for method in methods:
                yield run(name, method, seed, limit=limit)


def session_timings(seeds: int, limit: float) -> Iterator[Timing]:
    """Every published problem and every session of `seeds` plans made by hand, without what only
    our own model can say, both methods."""
    for group, name, asked in _sessions(seeds):
        began = time.monotonic()
        ours = time_session(asked, limit * EFFORT_A_SECOND)
        seconds = time.monotonic() - began
        length, sound = None, False
        if isinstance(ours, SessionTimes):
            length, sound = ours.length, not faults(asked, ours.times)
        yield Timing(
            group,
            name,
            "harvestplan",
            length=length,
            proven=ours.proven,
            sound=sound,
            seconds=seconds,
        )
        theirs = solve_generally(asked, limit, 1)
        ends = [theirs.times[t.key].start + t.seconds for t in asked.tasks] if theirs.times else []
        length = max(ends, default=None)
        yield Timing(
            group,
            name,
            "PyJobShop",
            length=length,
            proven=length is not None and theirs.bound >= length,
            sound=theirs.times is not None and not faults(asked, theirs.times),
            seconds=theirs.seconds,
        )


def _sessions(seeds: int) -> Iterator[tuple[str, str, SessionTasks]]:
    for name, (asked, _) in job_shops().items():
        yield "job shops", name, asked
    for name, (asked, _) in projects().items():
        yield "projects", name, asked
    for seed in range(1, seeds + 1):
        problem = instance("household", seed).problem()
        by_hand = plan_by_hand(state_rules(problem), TimedSessions(problem, 1))
        for window, runs in window_runs(problem, by_hand).items():
            asked = session_tasks(problem, window, runs)
            yield "evenings", f"{seed}-{window}", without_kitchen(asked)


def season_table(runs: Sequence[Run]) -> str:
    """Median and worst over the seeds, as a table in markdown."""
    groups: dict[tuple[str, str], list[Run]] = defaultdict(list)
    for each in runs:
        groups[each.season, each.method].append(each)
    rows = [
        "| season | method | runs | sound | worth | portions missed | evenings | visits "
        "| runs of 1 or 2 pouches | age of food, d | first plan, s | computing, s | best plan, s "
        "| computing, s | ended | gap |",
        "|---" * 16 + "|",
    ]
    for (season, method), group in groups.items():
        cells = [
            season,
            method,
            str(len(group)),
            str(sum(each.sound for each in group)),
            _spread([-each.best.cost for each in group], lowest=True),
            _spread([each.best.missed for each in group]),
            _spread([each.best.evenings for each in group]),
            _spread([each.best.visits for each in group]),
            _spread([100 * each.best.small / max(1, each.best.runs) for each in group], " %"),
            _spread([each.best.age for each in group]),
            _spread([each.first.seconds for each in group if each.first]),
            _spread([each.first.computing for each in group if each.first]),
            _spread([each.last.seconds for each in group]),
            _spread([each.last.computing for each in group]),
            f"{sum(not math.isnan(each.finished) for each in group)} of {len(group)}",
            _spread([100 * each.gap for each in group if not math.isnan(each.gap)], " %"),
        ]
        rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows)


def session_table(timings: Sequence[Timing]) -> str:
    """Totals of each group of sessions, as a table in markdown."""
    groups: dict[tuple[str, str], list[Timing]] = defaultdict(list)
    for each in timings:
        groups[each.group, each.method].append(each)
    rows = [
        "| sessions | method | number | laid out soundly | proven shortest | sum of lengths "
        "| s each, median and worst |",
        "|---" * 7 + "|",
    ]
    for (group, method), some in groups.items():
        cells = [
            group,
            method,
            str(len(some)),
            str(sum(each.sound for each in some)),
            str(sum(each.proven for each in some)),
            str(sum(each.length or 0 for each in some)),
            _spread([each.seconds for each in some], digits=2),
        ]
        rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows)


def _spread(
    values: Sequence[float], unit: str = "", digits: int = 1, *, lowest: bool = False
) -> str:
    """Median and worst: the largest, or the lowest."""
    if not values:
        return "-"
    middle, worst = statistics.median(values), min(values) if lowest else max(values)
    return f"{middle:.{digits}f}, {worst:.{digits}f}{unit}"


def draw(runs: Sequence[Run], limit: float, path: Path) -> None:
    """Worth over time: one panel a season, one line a run."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot

    names = list(dict.fromkeys(each.season for each in runs))
    figure, panels = pyplot.subplots(
        1, len(names), figsize=(5 * len(names), 4), squeeze=False, layout="constrained"
    )
    for panel, name in zip(panels[0], names, strict=True):
        for each in (r for r in runs if r.season == name):
            times = [max(0.1, step.seconds) for step in each.steps] + [limit]
            worth = [-step.worth.cost for step in each.steps]
            first = not any(line.get_label() == each.method for line in panel.lines)
            panel.step(
                times,
                [*worth, worth[-1]],
                where="post",
                color=COLOURS[each.method],
                label=each.method if first else None,
            )
        panel.set(xscale="log", xlabel="seconds", title=name, ylim=(0, None))
    panels[0][0].set_ylabel("worth in portions")
    panels[0][0].legend()
    figure.savefig(path, dpi=120)
    pyplot.close(figure)


def _row(each: Run) -> dict[str, object]:
    return {
        "season": each.season,
        "method": each.method,
        "seed": each.seed,
        "sound": each.sound,
        **vars(each.best),
        "first_s": round(each.first.seconds, 2) if each.first else "",
        "first_computing_s": round(each.first.computing, 2) if each.first else "",
        "best_s": round(each.last.seconds, 2),
        "best_computing_s": round(each.last.computing, 2),
        "ended_s": "" if math.isnan(each.finished) else round(each.finished, 2),
        "gap": "" if math.isnan(each.gap) else round(each.gap, 5),
    }


def main() -> None:
    """Runs all, saying each as it comes, and writes the tables and the picture."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--first", type=int, default=1, help="the first of the seeds")
    parser.add_argument("--methods", default=",".join(METHODS))
    parser.add_argument("--seasons-only", action="store_true")
    parser.add_argument("--limit", type=float, default=60.0, help="seconds for each season")
    parser.add_argument("--seasons", default="household,big,shared-3")
    parser.add_argument("--sessions-only", action="store_true")
    parser.add_argument("--out", type=Path, default=Path("comparison"))
    asked = parser.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    tables = []
    if not asked.seasons_only:
        timings = list(session_timings(asked.seeds, asked.limit))
        write_rows(asked.out / "sessions.csv", (vars(each) for each in timings))
        tables.append(session_table(timings))
    if not asked.sessions_only:
        runs = []
        for each in season_runs(
            asked.seasons.split(","),
            range(asked.first, asked.first + asked.seeds),
            asked.limit,
            asked.methods.split(","),
        ):
            print(_row(each), file=sys.stderr, flush=True)
            runs.append(each)
        write_rows(asked.out / "seasons.csv", map(_row, runs))
        tables.insert(0, season_table(runs))
        draw(runs, asked.limit, asked.out / "comparison.png")
    head = f"Limit {asked.limit:g} s, {asked.seeds} seeds. Two figures: median, worst.\n\n"
    text = head + "\n\n".join(tables) + "\n"
    (asked.out / "comparison.md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
