"""Takes the README's pictures: .venv/bin/python tests/browser/pictures.py (needs chromium)."""

from __future__ import annotations

import contextlib
import datetime as dt
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[n]) for n in (1, 2)]

from browser.household import served  # noqa: E402  (needs the paths above)
from browser.saved_plan import FULLEST, demo_data, demo_folder, write_pages  # noqa: E402  (needs the paths above)
from page.served import demo_season  # noqa: E402  (needs the paths above)
from places import ROOT  # noqa: E402  (needs the paths above)

from harvestplan.inputs.load import load_season  # noqa: E402
from harvestplan.kitchen.crop_library import load_library  # noqa: E402
from harvestplan.outputs.paper.printed import write_book  # noqa: E402
from harvestplan.plan.models import Plan  # noqa: E402

FOLDER = ROOT / "demo" / "pictures"
WIDTH = 820
TODAY = dt.date(2027, 8, 15)


@dataclass(frozen=True)
class Picture:
    """What is to be seen from the top of `begin` to the bottom of `end` or at most `most` px;
    `ready` brings the page into the state to be shown."""

    page: str
    begin: str
    end: str
    most: int
    ready: Callable[[Any], None] = lambda page: None


def _in_the_midst(page: Any) -> None:
    """The sheet at the first potful, ten minutes late, with its timer running."""
    steps = page.locator("[data-step]")
    first = page.locator("[data-step]:has(.timer)").first.evaluate("each => each.dataset.step")
    for number in range(int(first)):
        steps.nth(number).locator("label.tick").click()
    page.locator("#late").click()
    steps.nth(int(first)).locator(".timer").click()
    page.evaluate("document.activeElement.blur()")
    page.wait_for_timeout(1200)


def _opened(page: Any) -> None:
    """The book with every session's timeline."""
    page.evaluate("document.querySelectorAll('.timeline').forEach(each => { each.open = true; })")


EVENING = f"article:has(a[href$='{FULLEST}.html'])"
PICTURES = {
    "week.png": Picture("book", "#week", ".week > div:nth-child(3)", most=800),
    "season.png": Picture("book", "#season .chart:last-child", "#season .keys >> nth=1", most=1200),
    "evening.png": Picture("book", EVENING, f"{EVENING} .keys", most=800, ready=_opened),
    "sheet.png": Picture(
        "sheet", "[data-step='4']", "[data-step='7']", most=760, ready=_in_the_midst
    ),
    "today.png": Picture("/", "header", ".card >> nth=4", most=760),
    "garden.png": Picture("/garden", "#beans-2", "#corn-1", most=900),
    "begin.png": Picture("/begin/4", "h1", "form .field >> nth=2", most=900),
}
"""By their file: of what a plan writes, and by an address of the household's page."""


@contextlib.contextmanager
def shown(place: Path) -> Iterator[dict[str, str]]:
    """Addresses of the demo's pages, with the book as of a week in the midst of the season, and of
    its household's page on a full evening."""
    pages = {name: path.as_uri() for name, path in write_shown(place / "out").items()}
    with served(place, demo_season(place), FULLEST) as address:
        served_pages = (p.page for p in PICTURES.values() if p.page.startswith("/"))
        yield pages | {path: address + path for path in served_pages}


def write_shown(out: Path) -> dict[str, Path]:
    """The demo's pages with the book as of a week in the midst of the season."""
    pages = write_pages(demo_data(), demo_folder(), out)
    library = load_library(demo_folder())
    season = load_season(demo_folder(), library).season
    write_book(Plan.model_validate(demo_data()), season, library, out=out, today=TODAY)
    return pages


def take(browser: Any, pages: dict[str, str], picture: Picture) -> bytes:
    """A PNG of the picture, `WIDTH` px wide."""
    page = browser.new_page(viewport={"width": WIDTH, "height": 900}, bypass_csp=True)
    page.goto(pages[picture.page])
    picture.ready(page)
    # What sticks to the window's edge would lie across a picture of the whole page.
    page.add_style_tag(content=".bar { position: static; }")
    top, bottom = (
        page.locator(part).first.evaluate(f"each => each.getBoundingClientRect().{edge} + scrollY")
        for part, edge in ((picture.begin, "top"), (picture.end, "bottom"))
    )
    height = round(min(bottom - top + 24, picture.most))
    clip = {"x": 0, "y": max(0, top - 12), "width": WIDTH, "height": height}
    data: bytes = page.screenshot(full_page=True, clip=clip)
    page.close()
    return data


def main() -> int:
    """Writes every picture into demo/pictures."""
    from playwright.sync_api import sync_playwright

    FOLDER.mkdir(exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        shown(Path(folder)) as pages,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        for name, picture in PICTURES.items():
            (FOLDER / name).write_bytes(take(browser, pages, picture))
            print(FOLDER / name, (FOLDER / name).stat().st_size)
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
