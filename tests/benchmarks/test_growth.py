"""What the benchmark of growing kitchens says is what it measured."""

from __future__ import annotations

from pathlib import Path

import pytest
from benchmarks import growth
from benchmarks.growth import Grown, draw, exponent, measure

from harvestplan.schedule.search.effort import Effort


def test_a_season_is_solved_until_it_is_within_the_gap(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(growth, "EFFORT", Effort(nodes=20, nearby=0.5, rounds=1))
    loose, tight = measure(1, 1, 0.9), measure(1, 1, 0.0)
    for found, gap in ((loose, 0.9), (tight, 0.0)):
        assert found.bound >= found.worth
        assert found.within == (found.bound - found.worth <= gap * found.worth)
        assert 0 < found.first <= found.seconds
        assert found.memory > 10
    assert loose.within


@pytest.mark.parametrize("power", [0.5, 1.0, 1.3])
def test_the_power_is_found_again(power: float, tmp_path: Path) -> None:
    """Seconds that grow by it exactly, two seeds on either side of the median among them."""
    rows = [
        Grown(
            n,
            seed,
            40 * n,
            first=0.1,
            seconds=spread * 2 * n**power,
            worth=10,
            bound=10,
            within=seed != 3,
            memory=100,
        )
        for n in (1, 2, 5, 10)
        for seed, spread in ((1, 0.8), (2, 1.0), (3, 9.0))
    ]
    assert exponent(rows) == pytest.approx(power)
    draw(rows, 0.03, tmp_path / "growth.png")
    assert (tmp_path / "growth.png").stat().st_size > 1000
