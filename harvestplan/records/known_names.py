"""Find the crop or product that a line of the diary begins with, or say why it is none."""

from __future__ import annotations

import re
from collections.abc import Mapping

from harvestplan.errors import HarvestPlanError
from harvestplan.inputs.explain import suggestion
from harvestplan.inputs.ids import QUOTES, fold
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.records.names import singulars

QUOTED = re.compile(rf"[{QUOTES}](.+?)[{QUOTES}] ?(.*)")
"""A name in quotes, and what follows it."""


class NotUnderstoodError(HarvestPlanError):
    """Words that tell of no event; `message` says why and `hint` how to write it."""

    exit_code = 2

    def __init__(self, message: str, hint: str = "") -> None:
        self.message, self.hint = message, hint
        super().__init__(f"{message} {hint}".strip())


def known_name(rest: str, known: Mapping[str, str], kind: str) -> tuple[str, str]:
    """The longest name at the start of `rest` as it is called here, and what follows it."""
    if quoted := QUOTED.fullmatch(rest):
        if name := _find(quoted[1], known):
            return name, quoted[2]
        raise _unknown(quoted[1], known, kind)
    words = rest.split()
    for length in range(min(len(words), 8), 0, -1):
        if name := _find(" ".join(words[:length]).rstrip(","), known):
            if words[length:] and words[length][0].isalpha():
                _refuse_unsafe(_without_numbers(rest), " ".join(words[:length]))
            return name, " ".join(words[length:])
    raise _unknown(_without_numbers(rest), known, kind)


def _refuse_unsafe(meant: str, known: str) -> None:
    """Where what is `meant` begins with a known name, but is something that nobody should make."""
    answer = safety_answer(meant) if safety_answer(known) is None else None
    if answer is not None:
        raise NotUnderstoodError(answer.reason(meant), answer.advice)


def _without_numbers(rest: str) -> str:
    """What stands before the first number."""
    return re.split(r" (?=[\d.½¼¾⅓⅔])", rest)[0]


def _find(written: str, known: Mapping[str, str]) -> str | None:
    """A name as written, or its singular."""
    return next((known[form] for form in singulars(fold(written)) if form in known), None)


def _unknown(written: str, known: Mapping[str, str], kind: str) -> NotUnderstoodError:
    hint = suggestion(fold(written), known) or "See the list: harvestplan crops"
    if not written:
        return NotUnderstoodError(f"Which {kind} was it?", hint)
    if (answer := safety_answer(written)) is not None:
        return NotUnderstoodError(answer.reason(written), answer.advice)
    return NotUnderstoodError(f'I know no {kind} "{written}".', hint)
