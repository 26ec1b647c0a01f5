"""Puréeing, through a mill or in a blender."""

from __future__ import annotations

from harvestplan.kitchen.steps.hand_work import HandStep


class Puree(HandStep):
    """Soft food made fine."""

    name = "puree"
    cuts = True
    usual_verb = "purée"
    also = ("purée",)
