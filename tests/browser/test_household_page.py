"""The household's page in a real browser, from the first question to the freezer."""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import re
import tomllib
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from itertools import chain
from pathlib import Path
from typing import Any

import icalendar
import pytest
from browser.household import HOME, Person, served
from browser.measures import AXE, SIDEWAYS, SMALL_TEXT
from browser.saved_plan import FULLEST
from page.served import demo_season

from harvestplan.new_season.starter import Answers, write_starter
from harvestplan.records.diary import read_diary
from harvestplan.records.events import Froze, Moved

pytestmark = pytest.mark.heavy

CROPS = (
    ("green beans", "30 ft"), ("tomatoes", "6 plants"), ("sweet corn", "40 ft"),
    ("peas", "20 ft"), ("spinach", "10 ft"), ("carrots", "4x6 ft"),
)  # fmt: skip
PAGES = (
    "/", "/season", "/garden", "/store", "/plan", "/diary", "/files", "/files/garden.toml/text",
    "/phones", "/what-if", "/more", "/seasons", "/begin/1", "/begin/4", "/begin/5", "/begin/6",
    "/begin/7", "/begin/8", "/pair",
)  # fmt: skip
SPRING = "2027-04-20"


def _device(browser: Any, width: int, scheme: str = "light", **more: Any) -> Any:
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, **more
    )
    context.set_default_timeout(2_400_000)  # against hanging: planning takes a minute or two
    page = context.new_page()
    page.said = []
    page.on("console", lambda message: _heard(page, message.text))
    page.on("pageerror", lambda error: page.said.append(str(error)))
    return page


def _heard(page: Any, said: str) -> None:
    """What a browser complains of, but for answers that are meant: a slip told at its field (422),
    a device not paired yet (403), the line that broke when the server was begun anew, and the
    pointer left where somebody quicker than the page had set it already."""
    meant = (
        "status of 422", "status of 403", "ERR_CONNECTION", "ERR_INCOMPLETE",
        "Autofocus processing was blocked because a document already has a focused element",
    )  # fmt: skip
    if not any(each in said for each in meant):
        page.said.append(said)


def _begin(person: Person, address: str) -> None:
    """All questions, most of them left open."""
    person.go(address)
    person.tap("Begin a season", "link")
    person.write("What is your household called?", "Three Elms")
    person.write("Time zone, or a large city in it", "Chicago")
    person.tap("Go on")
    person.write(re.compile("Last frost"), "31 Junember")
    person.tap("Go on")
    person.page.locator("[aria-invalid=true]").wait_for()
    person.write(re.compile("Last frost"), "10 May")
    for _ in range(4):
        person.tap("Go on")
    for name, size in CROPS:
        person.write("What do you grow?", name)
        person.write("How much of it?", size)
        person.tap("Add it to the list")
    person.page.locator("main .rows li").nth(len(CROPS) - 1).wait_for()
    person.tap("Go on", "link")
    for _ in CROPS:
        person.tap(re.compile("^Want "))
    person.page.locator("main .rows li").nth(len(CROPS) - 1).wait_for()
    person.tap("Go on", "link")
    person.tap("Write the season’s files")


def _plan(person: Person, button: str) -> None:
    """Plans to the end by the keyboard; whoever has a mouse has enough of the first good plan."""
    person.tap(button)
    new = person.page.get_by_role("heading", name="The new plan")
    if not person.keyboard:
        so_far = person.page.locator("[data-lines]", has_text="So far")
        so_far.or_(new).wait_for()
        with contextlib.suppress(Exception):  # where it has just ended there is nothing to press
            person.page.get_by_role("button", name=re.compile("^Enough")).click(timeout=30_000)
    new.wait_for()


@pytest.mark.parametrize(
    ("width", "keyboard"), [(390, False), (1024, False), (1440, False), (1024, True)]
)
def test_from_the_first_question_to_the_freezer(
    browser: Any, tmp_path: Path, width: int, keyboard: bool
) -> None:
    with served(tmp_path, None, SPRING) as address:
        person = Person(_device(browser, width), keyboard)
        _begin(person, address)
        _plan(person, "Make a plan")
        person.tap("Take the new one")
        person.page.get_by_role("heading", name="The season", exact=True).wait_for()
        assert not person.page.said
    folder = tmp_path / "seasons" / "Kitchen and store 2027"
    plan = json.loads((folder / "out" / "plan.json").read_text(encoding="utf-8"))
    sessions = [s for s in plan["sessions"] if s["kind"] == "session"]
    assert len(sessions) >= 2 and sum(want["planned"] for want in plan["wants"]) > 20
    with served(tmp_path, folder, sessions[0]["start"][:10]) as address:
        person.go(address)
        phone = _paired(person, browser, address)
        _tonight(person, phone)
        frozen = [e for e in read_diary(folder).events if isinstance(e, Froze)]
        assert sum(event.portions for event in frozen) > 0
        person.go(f"{address}/plan")
        _plan(person, "Plan again from today")
        person.tap("Keep the old plan")
        person.page.get_by_role("heading", name="Your plan").wait_for()
        _moved(person, address, sessions[-1]["uid"])
        assert len([e for e in read_diary(folder).events if isinstance(e, Moved)]) == 1
        _subscribed(person, address, sessions[-1]["uid"])
        person.go(f"{address}/book")
        assert len(person.page.pdf()) > 20_000
        assert not person.page.said + phone.said


def _paired(person: Person, browser: Any, address: str) -> Any:
    """A second device, let in by the six figures."""
    person.go(f"{address}/phones")
    person.tap("Use it on this home network")
    person.tap("Show the figures for a new device")
    figures = person.page.locator(".number").inner_text().replace(" ", "")
    phone = _device(browser, 390)
    home = address.replace("127.0.0.1", HOME)
    phone.goto(f"{home}/")
    assert "not paired" in phone.inner_text("main")
    phone.get_by_role("link", name="Pair this device").click()
    phone.get_by_label("The six figures").fill(figures)
    phone.get_by_label("What this device is called").fill("Phone of Ben")
    phone.get_by_role("button", name="Pair this device").click()
    phone.get_by_role("link", name="Open the run sheet").wait_for()
    return phone


def _tonight(person: Person, phone: Any) -> None:
    """The sheet, ticked on both devices, and what came of it."""
    person.go(person.page.url.split("/phones")[0] + "/")
    person.tap("Open the run sheet", "link")
    phone.get_by_role("link", name="Open the run sheet").click()
    person.page.locator("#s0-box").wait_for()
    if person.keyboard:
        person.reach(person.page.locator("#s0-box"))
        person.page.keyboard.press("Enter")
    else:
        person.page.locator("#s0-box").click()
    phone.locator("#s0.done").wait_for()
    phone.locator("#s1-box").click()
    person.page.locator("#s1.done").wait_for()
    before = person.page.locator("#s3 .time").inner_text()
    phone.get_by_role("button", name="We are 10 minutes late").click()
    person.page.wait_for_function(
        "before => document.querySelector('#s3 .time').textContent !== before", arg=before
    )
    timer = phone.locator(".timer").first
    if timer.count():
        key = timer.get_attribute("id")
        timer.click()
        person.page.locator(f"#{key}.running").wait_for()
    person.tap("One more: Seals that failed")
    person.tap("Write it down")
    person.page.get_by_text("Written down: froze").wait_for()


def _moved(person: Person, address: str, uid: str) -> None:
    """The last session, moved to a time that can hold it."""
    person.go(f"{address}/session/{uid}")
    person.tap("Show the free times that can hold it")
    person.page.get_by_role("button", name="Look again").wait_for()
    assert (
        person.page.get_by_role("group", name="To another free time").get_by_role("radio").count()
    )
    person.tap("What would it mean?")
    person.page.get_by_role("heading", name=re.compile(" instead$")).wait_for()
    assert "portions" in person.page.locator(".card").inner_text()
    person.tap(re.compile("^Move it to "))
    person.page.get_by_text("Asked of the next plan").wait_for()


def _looked_for_a_time(person: Person, session: str) -> None:
    person.go(session)
    person.tap("Show the free times that can hold it")
    person.page.get_by_role("button", name="Look again").wait_for()


def _subscribed(person: Person, address: str, uid: str) -> None:
    """The calendar, fetched as a calendar program does and read by one's parser."""
    person.go(f"{address}/phones")
    link = person.page.get_by_role("link", name="Subscribe on this device").first
    found = (link.get_attribute("href") or "").replace("webcal://", "http://")
    with urllib.request.urlopen(found) as answer:
        calendar = icalendar.Calendar.from_ical(answer.read())
        tag, kind = answer.headers["etag"], answer.headers["content-type"]
    assert kind == "text/calendar; charset=utf-8"
    urls = {str(e["uid"]): str(e.get("url", "")) for e in calendar.walk("VEVENT")}
    assert urls[uid].endswith(f":{address.rsplit(':', 1)[1]}/sheet/{uid}")
    again = urllib.request.Request(found, headers={"If-None-Match": tag})
    with pytest.raises(urllib.error.HTTPError) as unchanged:
        urllib.request.urlopen(again)
    with unchanged.value as told:
        assert told.code == 304


def test_a_screen_that_slept_shows_what_was_ticked_meanwhile(browser: Any, tmp_path: Path) -> None:
    folder = demo_season(tmp_path)
    with served(tmp_path, folder, FULLEST) as address:
        sheet = f"{address}/sheet/{_uid(folder, FULLEST)}"
        tablet, computer = _device(browser, 768), _device(browser, 1024)
        tablet.route("**/changes", lambda route: route.abort())  # as where the line was lost
        tablet.goto(sheet)
        computer.goto(sheet)
        computer.locator("#s0-box").click()
        computer.locator("#s0.done").wait_for()
        assert not tablet.locator("#s0.done").count()
        tablet.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        tablet.locator("#s0.done").wait_for()
        tablet.locator("#s1-box").click()
        tablet.locator("#s1.done").wait_for()
        computer.locator("#s1.done").wait_for()


def test_recording_works_without_scripts(browser: Any, tmp_path: Path) -> None:
    folder = demo_season(tmp_path)
    with served(tmp_path, folder, FULLEST) as address:
        page = _device(browser, 390, java_script_enabled=False)
        person = Person(page)
        person.go(address)
        person.tap("Open the run sheet", "link")
        page.locator("#s0-box").click()
        page.locator("#s0.done").wait_for()
        page.locator(".timer").first.click()
        page.locator(".timer.running").first.wait_for()
        person.tap("We are 10 minutes late")
        person.tap("Write it down")
        page.get_by_text("Written down: froze").wait_for()
        person.tap("Take this back")
        page.get_by_text("Taken back.").wait_for()
        person.go(f"{address}/garden")
        person.write("Picked", "3", page.locator("#tomato"))
        page.locator("#tomato").get_by_role("button", name=re.compile("Write down")).click()
        page.get_by_text("Written down: picked tomato 3 lb").wait_for()
    assert (
        len([e for e in read_diary(folder).events if isinstance(e, Froze)]) == 2
    )  # of three, one taken back


def _without_scripts(browser: Any) -> Person:
    return Person(_device(browser, 390, java_script_enabled=False))


def test_planning_works_without_scripts(browser: Any, tmp_path: Path) -> None:
    folder = tmp_path / "small"
    write_starter(folder, Answers.example(dt.date.fromisoformat(SPRING)))
    written = folder / "out" / "plan.json"
    with served(tmp_path, folder, SPRING) as address:
        person = _without_scripts(browser)
        page = person.page
        person.go(address)
        person.tap("Make a plan", "link")
        _send(person, "Make a plan")
        _send(person, "Enough: keep the best so far")
        _seen_through(page)
        if page.get_by_role("button", name="Put it away").count():
            _send(person, "Put it away")  # or it came before there was anything to keep
        assert not written.exists()
        _send(person, "Make a plan")
        _seen_through(page)
        person.tap("Take the new one")
        page.get_by_role("heading", name="The season", exact=True).wait_for()
        taken = written.read_bytes()
        person.go(f"{address}/files")
        _row(page, "want", 0).locator("summary").click()
        person.write("How many portions", "3", _row(page, "want", 0))
        _row(page, "want", 0).get_by_role("button", name="Keep this").click()
        person.tap("plan again", "link")
        _send(person, "Plan again from today")
        _seen_through(page)
        page.get_by_role("heading", name="What changes").wait_for()
        person.tap("Keep the old plan")
        page.get_by_role("heading", name="Your plan").wait_for()
        assert written.read_bytes() == taken


def _send(person: Any, name: str) -> None:
    """Sends a form and waits for its answer: no script tells when the page is another."""
    with person.page.expect_navigation():
        person.tap(name)


def _seen_through(page: Any) -> None:
    """Waits for the planner as people do without scripts: by asking how far it is."""
    far = page.get_by_role("link", name="See how far it is")
    while far.count():
        page.wait_for_timeout(300)
        with page.expect_navigation():  # else the link of the page before is still counted
            far.click()


def _row(page: Any, table: str, number: int) -> Any:
    """One of the rows of a table on the page of the files; the last is to add one."""
    return page.locator(f"section[aria-labelledby={table}] details").nth(number)


def _press(page: Any, row: Any, name: str) -> None:
    """Presses a row's button and waits for the page that comes."""
    with page.expect_navigation():
        row.get_by_role("button", name=name).click()


def test_the_files_are_changed_without_scripts(browser: Any, tmp_path: Path) -> None:
    folder = demo_season(tmp_path)
    kitchen, before = folder / "kitchen.toml", (folder / "kitchen.toml").read_text("utf-8")
    with served(tmp_path, folder, FULLEST) as address:
        person = _without_scripts(browser)
        page = person.page
        person.go(f"{address}/files")
        rows = page.locator("section[aria-labelledby=pot] > details")
        count = rows.count()
        rows.nth(count - 1).locator("summary").click()
        person.write("What you call it", "third", rows.nth(count - 1))
        person.write("How much it holds", "6 pints of it", rows.nth(count - 1))
        person.write("Power of its burner", "1.5 kW", rows.nth(count - 1))
        _press(page, rows.nth(count - 1), "Add it")
        wrong = page.locator("[aria-invalid=true]")
        assert wrong.get_attribute("name") == "volume" and wrong.is_visible()
        assert kitchen.read_text("utf-8") == before
        wrong.fill("6 US qt")
        _press(page, rows.nth(count - 1), "Add it")
        assert rows.count() == count + 1
        rows.nth(count - 1).locator("summary").click()
        person.write("How much it holds", "7 US qt", rows.nth(count - 1))
        _press(page, rows.nth(count - 1), "Keep this")
        pots = tomllib.loads(kitchen.read_text("utf-8"))["pot"]
        assert (pots[-1]["name"], pots[-1]["volume"]) == ("third", "7 US qt")
        rows.nth(count - 1).locator("summary").click()
        _press(page, rows.nth(count - 1), "Take this pot out")
        assert rows.count() == count
        assert kitchen.read_text("utf-8").split() == before.split()
        person.tap("kitchen.toml", "link")
        text = page.get_by_label("The whole file; lines that begin with # are remarks")
        text.fill("# By hand.\n" + text.input_value() + "[[pot]\n")
        _send(person, "Keep this text")
        page.locator("[role=alert]").wait_for()
        assert "# By hand." in text.input_value() and "# By hand." not in kitchen.read_text("utf-8")
        text.fill(text.input_value().replace("[[pot]\n", ""))
        _send(person, "Keep this text")
        page.get_by_role("heading", name="Pots").wait_for()
        assert kitchen.read_text("utf-8").startswith("# By hand.\n")


def _uid(folder: Path, day: str) -> str:
    """The session of a day."""
    plan = json.loads((folder / "out" / "plan.json").read_text(encoding="utf-8"))
    found: str = next(s["uid"] for s in plan["sessions"] if s["start"].startswith(day))
    return found


def _pages(folder: Path) -> list[str]:
    uid = _uid(folder, FULLEST)
    return [*PAGES, f"/sheet/{uid}", f"/session/{uid}"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_is_accessible(browser: Any, tmp_path: Path, scheme: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    script = Path(axe.__file__).parent / "axe.min.js"
    folder = demo_season(tmp_path)
    with served(tmp_path, folder, FULLEST) as address:
        page = _device(browser, 1024, scheme, bypass_csp=True)
        wrong = {}
        for shown in chain(_each_page(page, address, folder), _each_state(page, address, folder)):
            page.add_script_tag(content=script.read_text(encoding="utf-8"))
            found = page.evaluate(AXE)
            assert found["passed"] > 10
            if found["wrong"]:
                wrong[shown] = found["wrong"]
        assert not wrong


def _each_page(page: Any, address: str, folder: Path) -> Iterator[str]:
    for path in _pages(folder):
        page.goto(address + path)
        yield path


def _each_state(page: Any, address: str, folder: Path) -> Iterator[str]:
    """What stands on pages only after something was sent."""
    person = Person(page)
    person.go(f"{address}/season")
    person.tap("Write it down")
    page.locator("[aria-invalid=true]").wait_for()
    yield "a slip"
    person.go(f"{address}/nowhere")
    yield "no such page"
    person.go(f"{address}/garden")
    person.write("Picked", "900", page.locator("#tomato"))
    page.locator("#tomato").get_by_role("button", name=re.compile("Write down")).click()
    page.get_by_role("button", name="Yes, write it down").wait_for()
    yield "a doubt"
    person.go(f"{address}/store")
    person.tap("Eaten")
    page.get_by_text("Written down: ate").wait_for()
    yield "written down"
    _looked_for_a_time(person, f"{address}/session/{_uid(folder, '2027-10-16')}")
    person.tap("What would it mean?")
    page.get_by_role("heading", name=re.compile(" instead$")).wait_for()
    yield "what a move means"
    person.tap(re.compile("^Move it to "))
    page.get_by_text("Asked of the next plan").wait_for()
    yield "a wish"
    (folder / "kitchen.toml").write_text("[[pot]\n", encoding="utf-8")
    person.go(f"{address}/season")
    yield "something to mend"


def test_no_page_is_wider_than_a_small_phone_nor_in_small_letters(
    browser: Any, tmp_path: Path
) -> None:
    folder = demo_season(tmp_path)
    with served(tmp_path, folder, FULLEST) as address:
        narrow, large = _device(browser, 320), _device(browser, 390)
        measure: Callable[[Any], int] = lambda page: page.evaluate(SIDEWAYS)  # noqa: E731
        wide, small = {}, {}
        for path in _pages(folder):
            narrow.goto(address + path)
            wide[path] = measure(narrow)
            small[path] = narrow.evaluate(SMALL_TEXT, 12)
            large.goto(address + path)
            large.evaluate("document.documentElement.style.fontSize = '200%'")
            wide[f"{path} at 200 %"] = measure(large)
        for state in _each_state(narrow, address, folder):
            wide[state], small[state] = measure(narrow), narrow.evaluate(SMALL_TEXT, 12)
        assert not {path: by for path, by in wide.items() if by > 0}
        assert not {path: found for path, found in small.items() if found}
