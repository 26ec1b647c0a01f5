"""Whether a command that met something hostile ended as it should."""

from __future__ import annotations

import contextlib
import io
import re
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from harvestplan.commands.cli import main

ENDS = {0, 1, 2, 3, 4}
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


@dataclass(frozen=True)
class Ended:
    """Exit code, output and error output."""

    code: int
    said: str
    told: str


def run(*words: str) -> Ended:
    """The command line in this process; raises AssertionError for an end that no input may bring
    about: a traceback, "our fault", no sentence beside an error, or codes that steer a terminal."""
    said, told = io.StringIO(), io.StringIO()
    line = mock.patch.object(sys, "argv", ["harvestplan", *words])
    with line, contextlib.redirect_stdout(said), contextlib.redirect_stderr(told):
        try:
            main()
            code = 0
        except SystemExit as left:
            code = int(left.code or 0)
    ended = Ended(code, said.getvalue(), told.getvalue())
    both = ended.said + ended.told
    assert code in ENDS, (words, ended)
    assert "our fault" not in both and "Traceback" not in both, (words, ended)
    assert code == 0 or ended.told.strip() or ended.said.strip(), (words, ended)
    assert not _CONTROL.search(both), (words, ended)
    return ended


def contents(folder: Path, but: Iterable[str] = ()) -> dict[str, bytes | str]:
    """Every file below a folder by its name, without those so called; links by where they lead."""
    found: dict[str, bytes | str] = {}
    for path in sorted(folder.rglob("*")):
        if path.name in but:
            continue
        name = path.relative_to(folder).as_posix()
        if path.is_symlink():
            found[name] = str(path.readlink())
        elif path.is_file():
            found[name] = path.read_bytes()
    return found
