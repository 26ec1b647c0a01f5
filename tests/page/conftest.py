"""The page of the demo household, on the fullest evening of its saved plan."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from page.served import Page, demo_season

from harvestplan.page.long_work import LongWork


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return demo_season(tmp_path)


@pytest.fixture
def page(folder: Path, tmp_path: Path) -> Iterator[Page]:
    found = Page(folder, tmp_path / "keeps")
    yield found
    found.site.work.close()


@pytest.fixture
def working(folder: Path, tmp_path: Path) -> Iterator[Page]:
    """The same, where long work is really done."""
    found = Page(folder, tmp_path / "keeps", work=LongWork())
    yield found
    found.site.work.close()
