"""A virtual environment of our own beside the checkout, made once, with nothing but Python."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
HOME = ROOT / ".venv"


def ready_python(extra: str = "", tested: Path | None = None) -> str:
    """The path of a Python that has harvestplan and what it needs (`extra`: "dev" for tools).

    `tested` names a file of exact versions to take; where they cannot all be had, the newest that
    fit are taken, and that is said.
    Ends the program with one plain line where venv or the network is missing.
    """
    if sys.version_info < (3, 11):  # noqa: UP036 (this file meets whatever Python there is)
        sys.exit(f"harvestplan needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    python = HOME / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
    files = [ROOT / "pyproject.toml", *([tested] if tested else [])]
    wanted = hashlib.sha256(b"".join(map(Path.read_bytes, files))).hexdigest() + extra
    stamp = HOME / f"installed-{extra or 'plain'}"
    if stamp.exists() and stamp.read_text() == wanted and python.exists():
        return str(python)
    if not python.exists():
        _run(
            [sys.executable, "-m", "venv", str(HOME)],
            "Python's venv module is missing; on Debian and Ubuntu: apt-get install python3-venv",
        )
    install = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    install += ["-e", f"{ROOT}[{extra}]" if extra else str(ROOT)]
    if tested and _works([*install, "-c", str(tested)]):
        stamp.write_text(wanted)
        return str(python)
    if tested:
        print("The tested versions are not all to be had; taking the newest that fit.", flush=True)
    _run(
        install,
        "The packages could not be installed: the package index cannot be reached. "
        "Is the network there?",
    )
    stamp.write_text(wanted)
    return str(python)


def _works(command: list[str]) -> bool:
    return subprocess.run(command, capture_output=True).returncode == 0


def _run(command: list[str], sorry: str) -> None:
    done = subprocess.run(command, capture_output=True)
    if done.returncode:
        log = ROOT / ".venv-trouble.txt"
        log.write_bytes(done.stdout + done.stderr)
        sys.exit(f"{sorry} (What the tool itself said is in {log.name}.)")
