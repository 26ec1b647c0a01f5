"""Filling ice-cube trays."""

from __future__ import annotations

from harvestplan.kitchen.steps.hand_work import HandStep


class FillCubes(HandStep):
    """Spooned or poured into the moulds of a tray, with what covers it, to be frozen in cubes."""

    name = "fill cubes"
    usual_verb = "fill ice-cube trays with"
