"""A household's page served by the real command, and a person who uses it."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

HOME = "127.0.0.2"
"""Stands for the computer's address in the home network: another than that of the computer itself,
and nothing leaves the machine."""


@contextlib.contextmanager
def served(place: Path, folder: Path | None, as_of: str) -> Iterator[str]:
    """The page's address while it is served; what it keeps lies in `place`."""
    environment = os.environ | {
        "HARVESTPLAN_KEEPS": str(place / "keeps"),
        "HARVESTPLAN_SEASONS": str(place / "seasons"),
        "PYTHONUNBUFFERED": "1",
    }
    (place / "seasons").mkdir(exist_ok=True)
    words = [sys.executable, "-m", "harvestplan", "open", *([str(folder)] if folder else [])]
    words += ["--no-browser", "--as-of", as_of, "--home", HOME]
    server = subprocess.Popen(
        words, stdout=subprocess.PIPE, encoding="utf-8", env=environment, cwd=place
    )
    try:
        assert server.stdout is not None
        line = server.stdout.readline()
        yield line.split(" at ")[1].strip().rstrip("/")
    finally:
        server.terminate()
        server.communicate()


class Person:
    """Somebody before a page, with a mouse or with the keyboard alone."""

    def __init__(self, page: Any, keyboard: bool = False) -> None:
        self.page, self.keyboard = page, keyboard

    def tap(self, what: str | re.Pattern[str], role: str = "button", nth: int = 0) -> None:
        """Press a button, or follow a link, by its name."""
        found = self.page.get_by_role(role, name=what, exact=isinstance(what, str)).nth(nth)
        if self.keyboard:
            self.reach(found)
            self.page.keyboard.press("Enter")
        else:
            found.click()

    def write(self, label: str | re.Pattern[str], text: str, within: Any = None) -> None:
        """Type into a field by its label."""
        found = (within or self.page).get_by_label(label, exact=isinstance(label, str)).first
        if self.keyboard and found.get_attribute("type") not in ("date", "time"):
            self.reach(found)
            self.page.keyboard.press("Control+A")
            self.page.keyboard.type(text)
        else:
            found.fill(text)

    def reach(self, found: Any) -> None:
        """Go to something by the Tab key alone."""
        found.wait_for()
        handle = found.element_handle()
        for _ in range(900):
            if handle.evaluate("each => each === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError("the Tab key never comes there")

    def go(self, address: str) -> None:
        """Open an address."""
        self.page.goto(address)
