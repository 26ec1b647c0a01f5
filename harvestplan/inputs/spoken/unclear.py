"""Words that cannot be understood, or that can be understood in two ways."""

from __future__ import annotations

from collections.abc import Sequence

from harvestplan.errors import HarvestPlanError


class Unclear(HarvestPlanError):
    """Words without one clear meaning; `message` says why, `hint` how to write it, and `choices`
    are what they may mean, as they would be written."""

    exit_code = 2

    def __init__(self, message: str, hint: str = "", choices: Sequence[str] = ()) -> None:
        self.message, self.hint, self.choices = message, hint, tuple(choices)
        super().__init__(f"{message} {hint}".strip())


def which(said: str, choices: Sequence[str]) -> Unclear:
    """The question which of several readings is meant."""
    named = ", ".join(f'"{each}"' for each in choices[:-1])
    asked = f'{named} or "{choices[-1]}"' if named else f'"{choices[-1]}"'
    return Unclear(f'"{said.strip()}" may be {asked}.', "Write which.", choices)
