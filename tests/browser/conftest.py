"""One real browser for each module of tests; the pages of a saved plan of the demo household."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from browser.saved_plan import demo_data, demo_folder, write_pages

NAMES = ("chromium", "chromium-browser", "google-chrome")
Pages = dict[str, Path]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Headless Chromium; where the machine has none, the tests of pages are skipped.

    Closed after each module: the driver keeps an event loop running that others may want.
    """
    driver = pytest.importorskip(
        "playwright.sync_api", reason="pages are looked at with playwright, which is not installed"
    )
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip("pages are looked at with chromium, which is not installed")
    with driver.sync_playwright() as playwright:
        # Chromium refuses its sandbox to root, as in containers.
        root = hasattr(os, "geteuid") and os.geteuid() == 0
        shown = playwright.chromium.launch(
            executable_path=found, args=["--no-sandbox"] if root else []
        )
        yield shown
        shown.close()


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Pages:
    """The demo's pages: book, sheet, labels, tally by name."""
    return write_pages(demo_data(), demo_folder(), tmp_path_factory.mktemp("pages"))


@pytest.fixture
def show(browser: Any) -> Iterator[Callable[..., Any]]:
    """Opens a page; what it asks for, logs and throws is kept on it as `asked` and `said`."""
    contexts = []

    def opened(path: Path, width: int = 768, scheme: str = "light", **more: Any) -> Any:
        context = browser.new_context(
            viewport={"width": width, "height": 900}, color_scheme=scheme, **more
        )
        context.set_default_timeout(300_000)  # against hanging: a page takes less than 3 s
        contexts.append(context)
        page = context.new_page()
        page.asked, page.said = [], []
        context.on("request", lambda request: page.asked.append(request.url))
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.goto(path.as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
