"""Known vulnerabilities of the run-time libraries, looked up where the machine can reach a list."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

CONSTRAINTS = Path(__file__).parent / "constraints.txt"
PATIENCE = 60.0
"""s for bringing the tool, and for asking."""


def audit(python: str) -> list[str]:
    """One line for each known vulnerability; says plainly how much could be looked up."""
    answer = _ask(python)
    if answer is None:
        print("Audit: the tool or its list cannot be had here; nothing was looked up.", flush=True)
        return []
    found, unknown = read_answer(answer)
    asked = len(answer["dependencies"])
    print(
        f"Audit: {asked - unknown} of {asked} libraries looked up, {len(found)} known "
        "vulnerabilities.",
        *found,
        sep="\n  ",
        flush=True,
    )
    return found


def read_answer(answer: dict[str, list[dict[str, object]]]) -> tuple[list[str], int]:
    """Findings in words, and how many libraries the list did not know."""
    found, unknown = [], 0
    for library in answer["dependencies"]:
        unknown += "skip_reason" in library
        flaws = library.get("vulns")
        for flaw in flaws if isinstance(flaws, list) else ():
            mended = ", ".join(flaw.get("fix_versions", ())) or "nothing yet"
            what = f"{library['name']} {library['version']}"
            found.append(f"{what}: {flaw['id']}, mended in {mended}")
    return found, unknown


def _ask(python: str) -> dict[str, list[dict[str, object]]] | None:
    bring = [
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
        "-c",
        str(CONSTRAINTS),
        "pip-audit>=2.7",
    ]
    ask = [
        "pip_audit",
        "-r",
        str(CONSTRAINTS),
        "--no-deps",
        "--disable-pip",
        "--format",
        "json",
        "--progress-spinner",
        "off",
        "--timeout",
        "10",
    ]
    try:
        subprocess.run([python, "-m", *bring], capture_output=True, timeout=PATIENCE, check=True)
        told = subprocess.run(
            [python, "-m", *ask], capture_output=True, text=True, timeout=PATIENCE
        )
        answer: dict[str, list[dict[str, object]]] = json.loads(told.stdout)
    except (subprocess.SubprocessError, ValueError, OSError):
        return None
    return answer
