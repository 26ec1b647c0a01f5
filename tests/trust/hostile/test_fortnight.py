"""A fortnight with faults at random: the diary holds every confirmed line once, and every plan is
valid."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from each_case import each
from trust.hostile.fortnight import Fortnight

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="kills by signals")


@each("seed", range(3))
def test_a_fortnight_with_faults(tmp_path: Path, seed: int) -> None:
    Fortnight(tmp_path / "season", seed).live()


@pytest.mark.slow
@each("seed", range(3, 203))
def test_many_fortnights_with_faults(tmp_path: Path, seed: int) -> None:
    Fortnight(tmp_path / "season", seed).live()
