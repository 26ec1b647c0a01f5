"""Washing: once, for all of a run's food."""

from __future__ import annotations

from harvestplan.kitchen.steps.step_kind import StepKind


class Wash(StepKind):
    """Raw food washed whole."""

    name = "wash"
    scope = "run"
    by_hand = True
