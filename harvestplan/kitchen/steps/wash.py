"""Washing: once, for all of a run's food."""

from __future__ import annotations

from harvestplan.kitchen.steps.hand_work import HandStep


class Wash(HandStep):
    """Raw food washed whole."""

    name = "wash"
    scope = "run"
    usual_verb = "wash"
