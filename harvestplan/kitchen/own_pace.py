"""The pace of a household's hands beside the crop file's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harvestplan.plan.models import Run


@dataclass(frozen=True)
class OwnPace:
    """What plans reckon with: minutes of hand work per minute of the crop file, of those `steps`
    that were timed by themselves, and of all others (`factor`)."""

    factor: float = 1.0
    steps: Mapping[str, float] = field(default_factory=dict)

    def of(self, step: str) -> float:
        return self.steps.get(step, self.factor)


BOOK_PACE = OwnPace()


def pace_of(run: Run) -> OwnPace:
    """The pace that a run of a plan was laid out at."""
    return OwnPace(run.pace, run.step_paces)
