"""Where things lie in the checkout."""

from __future__ import annotations

from pathlib import Path

TESTS = Path(__file__).resolve().parent
ROOT = TESTS.parent
CROPS = ROOT / "crops"
DATA = TESTS / "data"
DEMO = ROOT / "demo" / "willow-bend"
CHAMPION = DATA / "weather" / "champion_nebraska_1982_2018.csv"
"""The weather of Champion, Nebraska."""
