"""Washing: once, for all of a run's food."""

from __future__ import annotations

from harvestplan.kitchen.steps.step_kind import PlainStep


class Wash(PlainStep):
    """Raw food washed whole."""

    name = "wash"
    scope = "run"
    by_hand = True
