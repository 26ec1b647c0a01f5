"""Programs that some tests use and that pip cannot bring: installed where this machine lets us.

A test whose program is missing is skipped with its reason, so that no network is needed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Sequence

DEBIAN = {"chromium": ("chromium", "fonts-dejavu-core")}
"""Program, and the Debian packages that bring it."""
PATIENCE = 240.0
"""s for each call of the package manager."""


def ready_machine() -> None:
    """Installs what is missing on Debian as root; says in a line what could not be had."""
    missing = [program for program in DEBIAN if shutil.which(program) is None]
    if not missing:
        return
    packages = [package for program in missing for package in DEBIAN[program]]
    print(f"Installing {', '.join(packages)} ...", flush=True)
    install_debian(packages)
    for program in missing:
        if shutil.which(program) is None:
            print(f"No {program} here: the tests that need it are skipped.", flush=True)


def install_debian(packages: Sequence[str], patience: float = PATIENCE) -> None:
    """Installs the packages on Debian as root; elsewhere nothing happens."""
    if _may_install():
        _apt(patience, "update")
        _apt(patience, "install", "--yes", "--no-install-recommends", *packages)


def _may_install() -> bool:
    return shutil.which("apt-get") is not None and os.geteuid() == 0


def _apt(patience: float, *words: str) -> None:
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    try:
        subprocess.run(
            ["apt-get", "--quiet=2", *words],
            env=env,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=patience,
            check=False,
        )
    except subprocess.TimeoutExpired:
        print("The package manager takes too long.", flush=True)
