"""Trimming and cutting."""

from __future__ import annotations

from harvestplan.kitchen.steps.hand_work import HandStep


class Trim(HandStep):
    """Ends off, cut to size."""

    name = "trim"
    cuts = True
    usual_verb = "trim and cut"
    also = ("cut", "slice", "peel")
