"""Pressing: juice or water out of food."""

from __future__ import annotations

from harvestplan.kitchen.steps.step_kind import PlainStep


class Press(PlainStep):
    """What flows parted from what does not."""

    name = "press"
    cuts = True
    by_hand = True
