"""One command at a time plans a season folder, so that no plan is made from a half-written one."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path

from harvestplan.disk import BusyError, locked
from harvestplan.errors import FilesNeedMending, Flaw

LOCK = ".plan.lock"
TURNS = 12
"""How often to wait for the other command, ten seconds each."""


@contextlib.contextmanager
def planning_alone(folder: Path, say: Callable[[str], None]) -> Iterator[None]:
    """Holds the season folder for planning; a command that dies, even by force, lets go of it.

    Raises FilesNeedMending where another command keeps it for two minutes, or where the folder
    cannot be written. Does nothing where there is no season, which reading it will tell.
    """
    if not any(folder.glob("*.toml")):
        yield
        return
    with contextlib.ExitStack() as held:
        for _ in range(TURNS):
            try:
                held.enter_context(locked(folder / LOCK))
                break
            except BusyError:
                say("Another command is planning this season; waiting for it.")
            except OSError as error:
                hint = "Give yourself the right to write in this folder, or copy it elsewhere."
                message = f"nothing can be written here: {error.strerror}."
                raise FilesNeedMending(
                    [Flaw(str(folder), None, "", message=message, hint=hint)]
                ) from None
        else:
            message = "another command is still planning this season; nothing was written."
            hint = "Wait until it is done, or end it, and plan again."
            raise FilesNeedMending([Flaw(str(folder), None, "", message=message, hint=hint)])
        yield
