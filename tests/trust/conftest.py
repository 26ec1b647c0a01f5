"""A season folder that is planned once, for tests in which commands are killed."""

from __future__ import annotations

from pathlib import Path

import pytest
from trust.forked import run
from trust.killed_command import BEANS, DIARY, PLAN
from trust.small_folder import GARDEN, write_small


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small season with a diary, planned, to be copied."""
    folder = write_small(tmp_path_factory.mktemp("planned") / "season")
    (folder / "garden.toml").write_text(GARDEN + BEANS, encoding="utf-8")
    (folder / "diary.txt").write_text(DIARY, encoding="utf-8")
    assert run([*PLAN, "--in", str(folder)]).code == 0
    return folder
