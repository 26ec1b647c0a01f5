"""What the server loads, and what it reads again when a file has changed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from page.served import Page

from harvestplan.page import reading

HEAVY = ("numpy", "pandas", "ortools", "dateparser", "icalendar")


def test_the_server_loads_nothing_heavy() -> None:
    told = subprocess.run(
        [sys.executable, "-c", "import sys, harvestplan.page.serve; print(*sys.modules)"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    loaded = told.stdout.split()
    assert "harvestplan.page.season_page" in loaded
    assert not set(HEAVY) & set(loaded)


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The kinds of files that are read, as they are read."""
    found: list[str] = []

    def heard(name: str) -> None:
        usual = getattr(reading, name)
        monkeypatch.setattr(
            reading, name, lambda *given: (found.append(name), usual(*given))[1]
        )  # fmt: skip

    for name in ("load_library", "load_season", "read_whole", "published_plan"):
        heard(name)
    return found


def test_only_what_changed_is_read_again(page: Page, folder: Path, read: list[str]) -> None:
    page.get("/more")
    assert sorted(read) == ["load_library", "load_season", "published_plan", "read_whole"]
    read.clear()
    page.get("/more")
    assert not read
    page.send(page.get("/store").form("/store/gone"), verb="ate", portions="1")
    assert read == ["read_whole"]
    read.clear()
    plan = folder / "out" / "plan.json"
    plan.write_bytes(plan.read_bytes() + b"\n")
    page.get("/more")
    assert read == ["published_plan"]
    read.clear()
    kitchen = folder / "kitchen.toml"
    kitchen.write_text(kitchen.read_text(encoding="utf-8") + "# by hand\n", encoding="utf-8")
    page.get("/more")
    assert read == ["load_season"]


def test_what_was_mended_elsewhere_is_seen(page: Page, folder: Path) -> None:
    """A file that the season only names is not watched; what is wrong is looked at anew."""
    kitchen = folder / "kitchen.toml"
    whole = kitchen.read_bytes()
    kitchen.write_bytes(whole + b"[[pot]\n")
    assert "mended" in page.get("/season").words
    kitchen.write_bytes(whole)
    assert "The season" in page.get("/season").words
    (folder / "crops").mkdir()
    (folder / "crops" / "odd.toml").write_text("[[crop]\n", encoding="utf-8")
    assert "odd.toml" in page.get("/season").words
    (folder / "crops" / "odd.toml").unlink()
    assert "The season" in page.get("/season").words
