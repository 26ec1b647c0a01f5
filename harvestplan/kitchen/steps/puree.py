"""Puréeing, through a mill or in a blender."""

from __future__ import annotations

from harvestplan.kitchen.steps.step_kind import PlainStep


class Puree(PlainStep):
    """Soft food made fine."""

    name = "puree"
    cuts = True
    by_hand = True
    also = ("purée",)
