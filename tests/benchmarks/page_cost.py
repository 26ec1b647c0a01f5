"""What the household's page costs the computer, for a household of 30 foods with a full diary.

    python3 tests/benchmarks/page_cost.py [--lines 5000] [--times 20] [--out DIR]

Served by the real command in a process of its own; what it computed is read from the system
(/proc, so on Linux alone): until the first page is there, for each page (the first time after a
line was written, and usually), for recording, and its memory at rest. Written: page_cost.csv.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import statistics
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from benchmarks.seasons import YEAR, write_big  # noqa: E402  (needs the paths above)
from benchmarks.tables import write_rows  # noqa: E402
from page.running import Running  # noqa: E402

from harvestplan.outputs.write_all import write_outputs  # noqa: E402
from harvestplan.planning.make import make_plan  # noqa: E402
from harvestplan.planning.read import read_household  # noqa: E402
from harvestplan.planning.remedies import NEARBY_ONLY  # noqa: E402
from harvestplan.records.diary import append_events  # noqa: E402

TODAY = dt.date(YEAR, 8, 15)
TICKS = os.sysconf("SC_CLK_TCK")
PAGES = (
    "/", "/season", "/garden", "/store", "/plan", "/diary", "/files", "/files/season.toml/text",
    "/phones", "/what-if", "/more", "/book", "/begin/7",
)  # fmt: skip


def large_household(folder: Path, lines: int) -> str:
    """Writes the season with its plan and a diary of so many lines; the uid of a session ahead."""
    write_big(folder)
    household = read_household(folder, TODAY)
    plan = make_plan(household, TODAY, None, effort=NEARBY_ONLY, say=print)
    write_outputs(plan, household.season, household.library, out=folder / "out")
    wanted = [want.product for want in household.season.want]
    words = [f'"{wanted[n % len(wanted)]}" {n % 40 + 1}' for n in range(lines)]
    append_events(folder, "count", words, on=TODAY - dt.timedelta(days=3))
    return next(s.uid for s in plan.sessions if s.live and s.start.date() >= TODAY)


def computed(pid: int) -> float:
    """Seconds that a process has computed so far."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def resident(pid: int) -> float:
    """MiB that a process keeps in memory."""
    pages = int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def measured(folder: Path, keeps: Path, lines: int, times: int) -> Iterator[tuple[str, float, str]]:
    """What is measured, its figure and its unit."""
    uid = large_household(folder, lines)
    server = Running(folder, keeps, TODAY)
    server.begin()
    pid = server.pid
    try:
        server.ask("GET", "/")
        yield "start to first page", computed(pid), "s"
        yield "memory then", resident(pid), "MiB"
        for path in (*PAGES, f"/sheet/{uid}", f"/session/{uid}"):
            server.ask("GET", path)
            began = computed(pid)
            for _ in range(times):
                assert server.ask("GET", path)[0] == 200, path
            yield path.replace(uid, "…"), 1000 * (computed(pid) - began) / times, "ms"
        spent = {"recording": [], "/ after a line was written": []}
        for _ in range(times):
            form = next(f for f in server.forms("/store") if f.action == "/store/gone")
            form.fields |= {"verb": "ate", "portions": "1"}
            for name, ask in (
                ("recording", lambda form=form: server.takes(form)),
                ("/ after a line was written", lambda: server.ask("GET", "/")),
            ):
                began = computed(pid)
                assert ask()
                spent[name].append(1000 * (computed(pid) - began))
        for name, each in spent.items():
            yield name, statistics.fmean(each), "ms"
        yield "memory at rest", resident(pid), "MiB"
    finally:
        server.kill()


def main() -> None:
    """Prints and writes what was measured."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--lines", type=int, default=5000)
    asked.add_argument("--times", type=int, default=20)
    asked.add_argument("--out", type=Path, default=None)
    told = asked.parse_args()
    rows = []
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "season"
        folder.mkdir()
        for what, figure, unit in measured(folder, Path(made) / "keeps", told.lines, told.times):
            print(f"{what:30} {figure:8.2f} {unit}", flush=True)
            rows.append({"what": what, "figure": round(figure, 3), "unit": unit})
    if told.out:
        write_rows(told.out / "page_cost.csv", rows)


if __name__ == "__main__":
    main()
