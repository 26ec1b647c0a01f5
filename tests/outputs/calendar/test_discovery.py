"""From a server's, an account's or a calendar's address to its calendars, on servers of two makes
(RFC 6764, RFC 5397, RFC 4791), and on one that answers what a test wants."""

from __future__ import annotations

import http.server
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from outputs.calendar.answering_server import OK, answering, multistatus
from outputs.calendar.dav_server import HOME_SET, MAKES, USER, ask, calendar_server
from outputs.written_plans import make_library, make_plan, make_season
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.discovery import Account, Place
from harvestplan.outputs.calendar.server import Login, ServerRefused
from harvestplan.outputs.write_all import write_outputs


@pytest.fixture(scope="module", params=MAKES)
def server(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[str, str]]:
    """The make, and where USER's calendars are."""
    with calendar_server(tmp_path_factory.mktemp("dav"), request.param) as address:
        yield request.param, address.removesuffix("preserving/")


@pytest.fixture(autouse=True)
def login(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HARVESTPLAN_CALDAV_USER", USER)
    monkeypatch.setenv("HARVESTPLAN_CALDAV_PASSWORD", "spoon")


@pytest.fixture
def season(tmp_path: Path) -> Path:
    """A season folder with a plan."""
    plan = make_plan()
    write_outputs(
        plan, make_season(plan.season.timezone), make_library(), out=tmp_path / "season" / "out"
    )
    return tmp_path / "season"


def look(url: str) -> Place:
    return Account(url, Login(USER, "spoon")).look()


def publish(season: Path, url: str, *more: str) -> tuple[int, str]:
    words = ["publish", url, "--in", str(season), "--as-of", "2027-10-26", *more]
    said = CliRunner().invoke(app, words)
    return said.exit_code, said.output + str(said.exception or "")


def collections(home: str) -> list[str]:
    """What the server itself lists in an account, told by its hrefs alone."""
    listed = ask(home, "PROPFIND", "")[1]
    return sorted(part.partition("<")[0] for part in listed.split("href>")[1::2])


def test_every_address_leads_to_the_same_calendars(server: tuple[str, str]) -> None:
    make, home = server
    root = home.removesuffix(HOME_SET[make])
    for url in (root, f"{root}/", f"{root}/{USER}/", home, home.rstrip("/")):
        place = look(url)
        assert place.calendar is None and place.home == HOME_SET[make], url
        assert f"{home}preserving/" in [each.url for each in place.calendars]
    own = look(f"{home}preserving/")
    assert own.calendar is not None and own.calendar.takes == {"VEVENT", "VTODO"}
    assert own.calendars


def test_an_account_is_no_calendar(server: tuple[str, str], season: Path) -> None:
    """Nothing is written at an address that is none; what there is, is named."""
    make, home = server
    before = collections(home)
    for url in (home, home.removesuffix(HOME_SET[make])):
        code, said = publish(season, url)
        assert code == 1 and f"{home}preserving/" in said and "--make" in said
    for url in (f"{home}nowhere/", f"{home}preserving/x.ics/"):
        code, said = publish(season, url)
        assert code == 1 and "no calendar at" in said
    assert collections(home) == before and not (season / "out" / "published.json").exists()


def test_a_calendar_is_made_where_asked_and_found_again(
    server: tuple[str, str], season: Path
) -> None:
    make, home = server
    root = home.removesuffix(HOME_SET[make])
    code, said = publish(season, root, "--make", "Kitchen & store")
    assert code == 0, said
    made = {each.url: each for each in look(root).calendars if "kitchen-store" in each.url}
    assert sorted(made) == [f"{home}kitchen-store-to-buy/", f"{home}kitchen-store/"]
    own = made[f"{home}kitchen-store/"]
    assert (own.name, own.takes) == ("Kitchen & store", {"VEVENT"})
    sessions = Collection(own.url, Login(USER, "spoon"))
    shopping = Collection(f"{home}kitchen-store-to-buy/", Login(USER, "spoon"))
    assert len(sessions.read()) == 2 == len(shopping.read("VTODO"))
    assert len(shopping.read()) == 1  # what is bought on the same errand
    code, said = publish(season, root)
    assert code == 0 and said.count(": 0 new, 0 changed, 0 deleted, ") == 3
    code, said = publish(season, root, "--pull")
    assert code == 0 and "as it was put" in said
    code, said = publish(season, root, "--make", "Kitchen & store")
    assert code == 1 and "of that name already" in said
    code, said = publish(season, own.url, "--make", "Other")
    assert code == 1 and "is a calendar already" in said


def test_calendars_made_under_the_former_name_move_along(
    server: tuple[str, str], season: Path
) -> None:
    """Those we made and put something on, once; one that a household named so itself stays."""
    make, home = server
    root = home.removesuffix(HOME_SET[make])
    account = Account(root, Login(USER, "spoon"))
    code, said = publish(season, root, "--make", "Putting by")
    assert code == 0, said
    their_own = account.make(
        HOME_SET[make], "Putting by: garden", color="#112233FF", parts=frozenset({"VEVENT"})
    )
    code, said = publish(season, root)
    assert code == 0 and 'is called "Kitchen and store" from now on' in said
    names = {each.url: each.name for each in look(root).calendars}
    assert names[f"{home}putting-by/"] == "Kitchen and store"
    assert names[f"{home}putting-by-to-buy/"] == "Kitchen and store: to buy"
    assert names[their_own.url] == "Putting by: garden"
    code, said = publish(season, root)
    assert code == 0 and "from now on" not in said and "2 as they were" in said


def test_a_list_of_to_dos_is_no_calendar(server: tuple[str, str], season: Path) -> None:
    make, home = server
    account = Account(home, Login(USER, "spoon"))
    new = account.make(HOME_SET[make], "Errands", color="#112233FF", parts=frozenset({"VTODO"}))
    code, said = publish(season, new.url)
    assert code == 1 and "events cannot be put there" in said and "takes to-dos" in said
    events = account.make(HOME_SET[make], "Dates", color="#112233FF", parts=frozenset({"VEVENT"}))
    code, said = publish(season, events.url)
    assert code == 0 and "takes events alone" in said and f"{new.url} (Errands)" in said
    assert not Collection(new.url, Login(USER, "spoon")).read("VTODO")
    code, said = publish(season, events.url, "--todos", new.url)
    assert code == 0 and "To-dos: 2 new" in said
    code, said = publish(season, events.url)
    assert code == 0 and "To-dos: 0 new, 0 changed, 0 deleted, 2 as they were" in said


def props(href: str, inner: str) -> str:
    return (
        f"<response><href>{href}</href><propstat><prop>{inner}</prop>"
        f"<status>{OK}</status></propstat></response>"
    )


CAL = "<resourcetype><collection/><C:calendar/></resourcetype>"
EVENTS = '<C:supported-calendar-component-set><C:comp name="VEVENT"/></C:supported-calendar-component-set>'  # noqa: E501
READ_ONLY = (
    "<current-user-privilege-set><privilege><read/></privilege></current-user-privilege-set>"
)


def test_a_calendar_that_may_only_be_read(season: Path) -> None:
    with answering(207, b"") as server:
        server.found = (207, multistatus(props("/cal/", CAL + EVENTS + READ_ONLY)))
        code, said = publish(season, server.address)
        assert code == 1 and "may only read it" in said
        assert not [asked for asked in server.asked if asked.startswith("PUT")]


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://other.example/home/",
        "//other.example/home/",
        "http://localhost:1/home/",
        "/home/%2e%2e/x/",
    ],
)
def test_calendars_on_another_server_get_no_password(season: Path, elsewhere: str) -> None:
    inner = f"<C:calendar-home-set><href>{elsewhere}</href></C:calendar-home-set>"
    with answering(207, b"") as server:
        server.found = (207, multistatus(props("/cal/", inner)))
        code, said = publish(season, server.address)
        assert code == 1 and "another server" in said and "password was not sent" in said
        assert server.asked == ["PROPFIND /cal/"]


def test_principals_in_a_circle_end() -> None:
    inner = "<current-user-principal><href>/a/</href></current-user-principal>"
    with answering(207, b"") as server:
        server.found = (207, multistatus(props("/cal/", inner)))
        with pytest.raises(ServerRefused, match="does not tell where"):
            look(server.address)
        assert len(server.asked) <= 5


@pytest.mark.parametrize("body", [b"", b"<a/>", b"<html>", b"<multistatus xmlns='DAV:'>"])
def test_answers_that_tell_nothing(body: bytes) -> None:
    with answering(207, b"") as server:
        server.found = (207, body)
        with pytest.raises(ServerRefused, match=r"no calendar server|incomplete"):
            look(server.address)


class _WellKnown(http.server.BaseHTTPRequestHandler):
    """A server whose root knows nothing, and whose calendars begin elsewhere (RFC 6764, 5)."""

    asked: list[tuple[str, bool]]
    to = "/dav/"

    def do_PROPFIND(self) -> None:
        self.rfile.read(int(self.headers.get("Content-Length", 0)))
        self.asked.append((self.path, "Authorization" in self.headers))
        if self.path == "/.well-known/caldav":
            self.send_response(301)
            self.send_header("Location", self.to)
            self.send_header("Content-Length", "0")
            self.end_headers()
            return
        home = "<C:calendar-home-set><href>/dav/ann/</href></C:calendar-home-set>"
        told = {"/dav/": props("/dav/", home), "/dav/ann/": props("/dav/ann/1/", CAL)}
        body = multistatus(told[self.path]) if self.path in told else b""
        self.send_response(207 if body else 404)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        pass


@pytest.mark.parametrize("to", ["/dav/", "https://other.example/dav/"])
def test_well_known(to: str) -> None:
    """Asked without the password, followed on the same server alone."""
    _WellKnown.asked, _WellKnown.to = [], to
    server = http.server.HTTPServer(("127.0.0.1", 0), _WellKnown)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    url = f"http://localhost:{server.server_address[1]}"
    try:
        if to.startswith("/"):
            assert [each.url for each in look(url).calendars] == [f"{url}/dav/ann/1/"]
        else:
            with pytest.raises(ServerRefused, match=r"at https://other\.example/dav/"):
                look(url)
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
    assert ("/.well-known/caldav", False) in _WellKnown.asked
    assert ("/.well-known/caldav", True) not in _WellKnown.asked


def test_several_calendars_known_by_the_record(server: tuple[str, str], season: Path) -> None:
    """Kinds apart: each calendar keeps what it was given, and one of them may be asked alone."""
    _, home = server
    for name in ("first", "second"):
        assert ask(f"{home}{name}/", "MKCALENDAR")[0] == 201
    assert publish(season, f"{home}first/", "--only", "sessions")[0] == 0
    assert publish(season, f"{home}second/", "--only", "garden")[0] == 0
    code, said = publish(season, home)
    assert code == 0 and "2 as they were" in said and "3 as they were" in said
    code, said = publish(season, home, "--only", "garden")
    assert code == 0 and "3 as they were" in said and "2 as they were" not in said
    code, said = publish(season, home, "--only", "shopping")
    assert code == 1 and "None of the calendars" in said
    code, said = publish(season, home, "--only", "meals")
    assert code == 2 or "sessions, garden, shopping" in said
