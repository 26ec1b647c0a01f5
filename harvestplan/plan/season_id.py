"""The season's own id: what tells its calendar entries from those of every other season."""

from __future__ import annotations

import json
import re
import secrets
from dataclasses import dataclass
from pathlib import Path

from harvestplan.disk import write_atomic
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.plan.file_names import LEDGER, PLAN, SEASON_ID, SESSIONS

CODE = re.compile(r"[0-9a-f]{32}")
"""How a season's code is written; the marks of before there were codes are written otherwise."""
_LONGEST = 1000


@dataclass(frozen=True)
class SeasonId:
    """`code` is random: no other season has it, be it of the same household and year.

    `by_name` tells of a season begun before there were codes: the UIDs of its picks, gifts and
    orders, which stand in people's calendars, are still made from the household's name.
    """

    code: str
    by_name: bool = False

    @property
    def seed(self) -> str | None:
        """What UIDs of entries are made from; None stands for the household's name."""
        return None if self.by_name else self.code

    def file_bytes(self) -> bytes:
        """The id as its file holds it."""
        return (json.dumps({"id": self.code, "by_name": self.by_name}) + "\n").encode()


def season_id(out: Path) -> SeasonId:
    """The id kept in the out folder, or where there is none one made now and not yet written.

    Raises FilesNeedMending where the file is none of ours any more.
    """
    path = out / SEASON_ID
    if not path.is_file():
        begun = any((out / name).exists() for name in (PLAN, SESSIONS, LEDGER))
        return SeasonId(secrets.token_hex(16), by_name=begun)
    with path.open("rb") as file:
        data = file.read(_LONGEST)
    try:
        found = json.loads(data)
        kept = SeasonId(found["id"], found.get("by_name", False) is True)
        if CODE.fullmatch(kept.code):
            return kept
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        pass
    hint = "Put it back from a copy, or delete it; publish may then ask whose the entries are."
    raise FilesNeedMending(
        [Flaw(str(path), None, "", message="it is torn or no season's id.", hint=hint)]
    )


def keep_season_id(out: Path, kept: SeasonId) -> None:
    """Write the id where there is none yet."""
    if not (out / SEASON_ID).is_file():
        write_atomic(out / SEASON_ID, kept.file_bytes())
