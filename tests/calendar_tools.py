"""Calendar programs of other makes that our calendar files are held against.

`ready_calendar_tools` installs them where this machine lets us, beside the tests' own Python;
`need` gives the command of one, or skips the test with the reason why it cannot run.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from machine import install_debian

HERE = Path(__file__).resolve().parent
READERS = HERE / "readers"
HOME = HERE.parent / ".venv" / "calendar-tools"
MODULES = HOME / "node" / "node_modules"
PYTHON = HOME / "python"
SYSTEM_PYTHON = "/usr/bin/python3"
FROM_NPM = ("ical.js@2.2.1", "node-ical@0.26.1")
FROM_PIP = ("khal==0.14.1", "vdirsyncer==0.21.0", "xandikos==0.4.10")
PATIENCE = 60.0
"""s for each package manager."""
SAMPLE = """\
BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//sample//EN
BEGIN:VEVENT
UID:1
DTSTAMP:20270101T000000Z
DTSTART:20270101T000000Z
DTEND:20270101T010000Z
SUMMARY:One
STATUS:CONFIRMED
SEQUENCE:0
END:VEVENT
END:VCALENDAR
"""


@dataclass(frozen=True)
class Tool:
    """A program, its command, and whether it shows by reading a file or by telling its version."""

    command: tuple[str, ...]
    reads: bool = True


TOOLS = {
    "libical": Tool((SYSTEM_PYTHON, str(READERS / "read_libical.py"))),
    "ical.js": Tool(("node", str(READERS / "read_ical_js.mjs"), str(MODULES))),
    "node-ical": Tool(("node", str(READERS / "read_node_ical.cjs"), str(MODULES))),
    "khal": Tool((str(PYTHON / "bin" / "khal"),), reads=False),
    "vdirsyncer": Tool((str(PYTHON / "bin" / "vdirsyncer"),), reads=False),
    "xandikos": Tool((str(PYTHON / "bin" / "xandikos"),), reads=False),
}


def need(name: str) -> list[str]:
    """The command of a tool; skips the test where it does not run on this machine."""
    import pytest

    if not _runs(name):
        pytest.skip(f"{name} does not run here; python3 tests/run.py installs it where it can")
    return list(TOOLS[name].command)


def ready_calendar_tools() -> None:
    """Installs what is missing, within limits of time; says in a line what could not be had."""
    missing = {name for name in TOOLS if not _runs(name)}
    if not missing:
        return
    print(f"Installing {', '.join(sorted(missing))} ...", flush=True)
    packages = ["gir1.2-ical-3.0", "python3-gi"] if "libical" in missing else []
    by_node = missing & {"ical.js", "node-ical"}
    if by_node:
        packages += [name for name in ("nodejs", "npm") if shutil.which(name[:4]) is None]
    if packages:
        install_debian(packages, PATIENCE)
    started = []
    if by_node and shutil.which("npm"):
        words = ["npm", "install", "--silent", "--no-audit", "--no-fund", "--ignore-scripts"]
        started.append(_start([*words, "--prefix", str(MODULES.parent), *FROM_NPM]))
    if missing & {"khal", "vdirsyncer", "xandikos"} and _made_python():
        words = [str(PYTHON / "bin" / "python"), "-m", "pip", "install", "--quiet"]
        started.append(_start([*words, "--disable-pip-version-check", *FROM_PIP]))
    for process in started:
        try:
            process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
    _runs_before.clear()
    for name in sorted(missing):
        if not _runs(name):
            print(f"No {name} here: the tests that need it are skipped.", flush=True)


def _start(command: list[str]) -> subprocess.Popen[bytes]:
    quiet = subprocess.DEVNULL
    MODULES.parent.mkdir(parents=True, exist_ok=True)
    return subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet)


def _made_python() -> bool:
    command = [sys.executable, "-m", "venv", str(PYTHON)]
    return subprocess.run(command, capture_output=True).returncode == 0


_runs_before: dict[str, bool] = {}


def _runs(name: str) -> bool:
    """Whether the tool does its work here; asked once."""
    if name not in _runs_before:
        _runs_before[name] = _does_run(TOOLS[name])
    return _runs_before[name]


def _does_run(tool: Tool) -> bool:
    with tempfile.TemporaryDirectory() as folder:
        sample = Path(folder, "sample.ics")
        sample.write_bytes(SAMPLE.replace("\n", "\r\n").encode())
        words = [str(sample)] if tool.reads else ["--version"]
        try:
            done = subprocess.run([*tool.command, *words], capture_output=True, timeout=30)
        except (OSError, subprocess.TimeoutExpired):
            return False
    return done.returncode == 0
