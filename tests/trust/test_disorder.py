"""Whatever a household writes in whatever order: a plan that keeps every rule, or a sentence.

That people write late, miss evenings and change their minds is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from each_case import each
from trust.disorder import Disorder
from trust.small_folder import command

from harvestplan.kitchen.crop_library import load_library
from harvestplan.schedule.search import levels
from harvestplan.schedule.search.levels import Effort

LIBRARY = load_library()
LITTLE = Effort(wants=60, change=60, evenings=60, overtime=20, waiting=100)
TOLD = (0, 2, 3, 4)
"""Done, a wrong command line, a file that needs mending, no valid plan; never our fault."""


SEEDS = [*range(6), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(6, 306))]


@each("seed", SEEDS)
def test_a_household_without_order(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    seed: int,
) -> None:
    monkeypatch.setattr(levels, "Effort", lambda: LITTLE)
    household = Disorder(tmp_path, seed, LIBRARY)
    done: list[object] = []
    for words in household.commands():
        code, _, told = command(capsys, monkeypatch, *words, "--in", str(tmp_path))
        done.append((words, code))
        assert code in TOLD and "our fault" not in told and "Traceback" not in told, (done, told)
        if words[0] == "plan" and code == 0:
            code, found, _ = command(capsys, monkeypatch, "check", "--in", str(tmp_path))
            assert code == 0, (done, found)
        elif words[0] == "plan" and code == 3:
            household.take_back()
