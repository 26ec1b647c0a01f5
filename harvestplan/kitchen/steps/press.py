"""Pressing: juice or pulp out of food."""

from __future__ import annotations

from harvestplan.kitchen.steps.hand_work import HandStep


class Press(HandStep):
    """What flows parted from what does not."""

    name = "press"
    cuts = True
    usual_verb = "press"
