"""Draining: water off, surface dry."""

from __future__ import annotations

from harvestplan.kitchen.steps.cool import Cool
from harvestplan.kitchen.steps.step_kind import PlainStep


class Drain(PlainStep):
    """Out of the ice water at once, so that it takes up no more of it."""

    name = "drain"
    at_once_after = (Cool.name,)
    unattended = True
