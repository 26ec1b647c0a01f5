"""A file in the season folder that opens its page by a double click."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

from harvestplan.disk import write_atomic

NAMES = {
    "win32": "Open the season.cmd",
    "darwin": "Open the season.command",
    "linux": "Open the season.desktop",
}
WINDOWS = """\
@echo off
rem Opens the household's page of this season in the browser.
cd /d "%~dp0"
"{python}" -m harvestplan open .
if errorlevel 1 pause
"""
MAC = """\
#!/bin/sh
# Opens the household's page of this season in the browser.
cd "$(dirname "$0")" || exit 1
exec {python} -m harvestplan open .
"""
LINUX = """\
[Desktop Entry]
Type=Application
Name=Open the season
Comment=The household's page of this season, in the browser
Terminal=true
Exec={python} -m harvestplan open %k
"""


def write_start_file(folder: Path, system: str = sys.platform, python: str = "") -> Path:
    """Writes the file for this computer's system; it names this computer's Python, so on another
    computer it is written anew. Raises OSError where it cannot be written."""
    python = python or sys.executable
    kind = system if system in NAMES else "linux"
    path = folder / NAMES[kind]
    if kind == "win32":
        # A per cent sign would begin a variable.
        text = WINDOWS.format(python=python.replace("%", "%%")).replace("\n", "\r\n")
    elif kind == "darwin":
        text = MAC.format(python=shlex.quote(python))
    else:
        # %k is this file itself, wherever the folder is moved.
        text = LINUX.format(python=_exec(python))
    write_atomic(path, text.encode("utf-8", "surrogateescape"))
    if kind != "win32":
        path.chmod(0o755)
    return path


def _exec(argument: str) -> str:
    """An argument of an Exec key: quoted, its own marks escaped, then the file's escapes (Desktop
    Entry Specification 1.5, "The Exec key" and "Possible value types")."""
    quoted = "".join(f"\\{letter}" if letter in '"`$\\' else letter for letter in argument)
    return f'"{quoted}"'.replace("\\", "\\\\").replace("%", "%%")
