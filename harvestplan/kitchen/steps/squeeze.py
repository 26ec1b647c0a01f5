"""Squeezing: the last water out of drained leaves."""

from __future__ import annotations

from harvestplan.kitchen.steps.hand_work import HandStep


class Squeeze(HandStep):
    """By hand, a ball at a time."""

    name = "squeeze"
    usual_verb = "squeeze"
