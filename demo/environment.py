"""A virtual environment of our own beside the checkout, made once, with nothing but Python."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
HOME = ROOT / ".venv"


def ready_python(extra: str = "") -> str:
    """The path of a Python that has harvestplan and what it needs (`extra`: "dev" for tools).

    Ends the program with one plain line where venv or the network is missing.
    """
    if sys.version_info < (3, 11):  # noqa: UP036 (this file meets whatever Python there is)
        sys.exit(f"harvestplan needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    python = HOME / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest() + extra
    stamp = HOME / f"installed-{extra or 'plain'}"
    if stamp.exists() and stamp.read_text() == wanted and python.exists():
        return str(python)
    if not python.exists():
        _run(
            [sys.executable, "-m", "venv", str(HOME)],
            "Python's venv module is missing; on Debian and Ubuntu: apt-get install python3-venv",
        )
    target = f"{ROOT}[{extra}]" if extra else str(ROOT)
    _run(
        [
            str(python),
            "-m",
            "pip",
            "install",
            "--quiet",
            "--disable-pip-version-check",
            "-e",
            target,
        ],
        "The packages could not be installed: the package index cannot be reached. "
        "Is the network there?",
    )
    stamp.write_text(wanted)
    return str(python)


def _run(command: list[str], sorry: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode:
        log = ROOT / ".venv-trouble.txt"
        log.write_text(done.stdout + done.stderr)
        sys.exit(f"{sorry} (What the tool itself said is in {log.name}.)")
