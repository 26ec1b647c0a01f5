"""Shelling: peas and beans out of their pods, ears out of their husks."""

from __future__ import annotations

from harvestplan.kitchen.steps.hand_work import HandStep


class Shell(HandStep):
    """What is eaten taken out of what is not."""

    name = "shell"
    cuts = True
    usual_verb = "shell"
