"""Shelling: peas and beans out of their pods."""

from __future__ import annotations

from harvestplan.kitchen.steps.step_kind import PlainStep


class Shell(PlainStep):
    """What is eaten taken out of what is not."""

    name = "shell"
    cuts = True
    by_hand = True
