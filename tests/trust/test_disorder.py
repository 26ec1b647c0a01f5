"""Whatever a household writes in whatever order: a plan that keeps every rule, or a sentence.

That people write late, miss evenings and change their minds is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from each_case import each, named
from trust.disorder import Disorder
from trust.small_folder import command

from harvestplan.kitchen.crop_library import load_library
from harvestplan.schedule.search import effort
from harvestplan.schedule.search.effort import Effort

LIBRARY = load_library()
LITTLE = Effort(nodes=30, nearby=0.5, rounds=1)
TOLD = (0, 2, 3, 4)
"""Done, a wrong command line, a file that needs mending, no valid plan; never our fault."""

Judge = Callable[[Path, int], None]


@pytest.fixture
def judge(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Judge:
    """Lives through a household's season in a folder: whatever it does ends in a sound plan, or in
    a sentence."""
    usual = effort.Effort
    monkeypatch.setattr(effort, "Effort", lambda **own: usual(**own) if own else LITTLE)
    return lambda folder, seed: live_through(folder, seed, capsys, monkeypatch=monkeypatch)


@each("seed", range(6))
def test_a_household_without_order(tmp_path: Path, judge: Judge, seed: int) -> None:
    judge(tmp_path, seed)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(3))
def test_many_households_without_order(tmp_path: Path, judge: Judge, block: int) -> None:
    for seed in range(6 + 100 * block, 106 + 100 * block):
        folder = tmp_path / str(seed)
        folder.mkdir()
        with named(seed):
            judge(folder, seed)


def live_through(
    folder: Path,
    seed: int,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    household = Disorder(folder, seed, LIBRARY)
    done: list[object] = []
    for words in household.commands():
        code, _, told = command(capsys, monkeypatch, *words, "--in", str(folder))
        done.append((words, code))
        assert code in TOLD and "our fault" not in told and "Traceback" not in told, (done, told)
        if words[0] == "plan" and code == 0:
            code, found, _ = command(capsys, monkeypatch, "check", "--in", str(folder))
            assert code == 0, (done, found)
        elif words[0] == "plan" and code == 3:
            household.take_back()
