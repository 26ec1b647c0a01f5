"""What somebody else's page, device or network tries: each attempt is counted, none gets through.

The Host header against DNS rebinding and the Origin header against forged forms are common practice
of servers on one's own computer (OWASP cheat sheet on cross-site request forgery, from memory).
"""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urlencode

import pytest
from page.served import PORT, Form, Page, demo_season

from harvestplan.page.devices import Devices
from harvestplan.page.feeds import feed_path
from harvestplan.page.kept_here import Keep
from harvestplan.records.diary import read_diary

PAGES = (
    "/",
    "/season",
    "/garden",
    "/store",
    "/plan",
    "/diary",
    "/files",
    "/files/garden.toml/text",
    "/phones",
    "/what-if",
    "/more",
    "/book",
    "/labels/labels.html",
    "/labels/tally.html",
    "/seasons",
    "/begin/1",
    "/begin/6",
    "/begin/7",
    "/begin/8",
    "/plan/changes",
)


def _ate(page: Page) -> tuple[Form, bytes]:
    form = page.get("/store").form("/store/gone", product="tomato, purée")
    return form, urlencode(form.fields | {"verb": "ate", "portions": "1"}).encode()


HOSTS = (
    "evil.example",
    f"evil.example:{PORT}",
    "127.0.0.1",
    "localhost",
    f"127.0.0.1.evil.example:{PORT}",
    f"127.0.0.1:{PORT + 1}",
    f"[::1]:{PORT}",
    f"0.0.0.0:{PORT}",
    f"192.168.1.20:{PORT}",
    "",
    "127.0.0.1:",
    f"user@127.0.0.1:{PORT}",
    f"127.0.0.1:{PORT}.evil.example",
    f"127.1:{PORT}",
    f"2130706433:{PORT}",
)


@pytest.mark.parametrize("path", PAGES[:12])
def test_a_foreign_name_sees_nothing(page: Page, path: str) -> None:
    for host in HOSTS:
        told = page.get(path, host=host)
        assert told.status == 421, host
        assert "Willow Bend" not in told.text


ORIGINS: tuple[dict[str, str | None], ...] = (
    {"origin": "http://evil.example"},
    {"origin": "null"},
    {"origin": ""},
    {"origin": f"https://127.0.0.1:{PORT}"},
    {"origin": f"http://127.0.0.1:{PORT + 1}"},
    {"origin": f"http://127.0.0.1:{PORT}.evil.example"},
    {"origin": None},
    {"origin": None, "sec-fetch-site": "cross-site"},
    {"origin": None, "sec-fetch-site": "same-site"},
    {"origin": None, "sec-fetch-site": "none"},
    {"origin": None, "referer": "http://evil.example/"},
    {"origin": None, "referer": f"http://evil.example/?127.0.0.1:{PORT}"},
    {"origin": None, "referer": "not an address ["},
)


@pytest.mark.parametrize("headers", ORIGINS)
def test_a_form_from_elsewhere_changes_nothing(
    page: Page, folder: Path, headers: dict[str, str | None]
) -> None:
    form, body = _ate(page)
    assert page.ask("POST", form.action, body, headers).status == 403
    assert not read_diary(folder).events


def test_a_form_is_good_for_its_own_action_device_and_code_alone(
    page: Page, folder: Path, tmp_path: Path
) -> None:
    form, _ = _ate(page)
    stranger = Page(folder, tmp_path / "other keeps")
    for wrong in (
        {"token": ""},
        {"token": "0" * 64},
        {"token": form.fields["token"][:-1]},
        {"token": form.fields["token"].upper()},
        {"code": "abcdefgh"},
        {"code": ""},
        {"code": "../../..", "token": "x"},
    ):
        sent = form.fields | {"verb": "ate", "portions": "1"} | wrong
        assert page.ask("POST", form.action, urlencode(sent).encode()).status == 403
    for other in ("/store/count", "/diary/back", "/plan/begin", "/phones/share"):
        assert page.ask("POST", other, urlencode(form.fields).encode()).status == 403
    assert stranger.ask("POST", form.action, urlencode(form.fields).encode()).status == 403
    assert not read_diary(folder).events


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        (b"a=1" * 200_000, "application/x-www-form-urlencoded", 413),
        (b"&".join(b"a%d=1" % n for n in range(900)), "application/x-www-form-urlencoded", 400),
        (b"\xff\xfe=\x00", "application/x-www-form-urlencoded", 400),
        (b"a=%ff", "application/x-www-form-urlencoded", 400),
        (b"{}", "application/json", 415),
        (b"--x\r\n", "multipart/form-data; boundary=x", 415),
        (b"", "text/plain", 415),
        (b"", "application/x-www-form-urlencoded", 403),
    ],
)
def test_what_is_no_form_is_refused_before_it_is_read(
    page: Page, body: bytes, kind: str, status: int
) -> None:
    assert page.ask("POST", "/store/gone", body, {"content-type": kind}).status == status


def test_no_address_changes_anything_when_it_is_only_asked_for(
    page: Page, folder: Path, tmp_path: Path
) -> None:
    def state() -> list[tuple[str, bytes]]:
        kept = [*folder.rglob("*"), *(tmp_path / "keeps").rglob("*")]
        return sorted((str(p), p.read_bytes()) for p in kept if p.is_file())

    for path in PAGES[:-1]:
        page.get(path)
    before = state()
    actions = {f.action for path in PAGES[:-1] for f in page.get(path).forms()} - {""}
    assert len(actions) > 40
    for action in actions:
        for method in ("GET", "HEAD", "PUT", "DELETE", "OPTIONS"):
            page.ask(method, f"{action}?verb=ate&product=tomato&portions=1&what=all&sure=yes")
    assert state() == before


def test_every_page_says_what_it_may_load(page: Page) -> None:
    for path in PAGES[:-1]:
        told = page.get(path)
        assert told.status == 200, path
        csp = told.headers["content-security-policy"]
        assert "default-src 'none'" in csp and "frame-ancestors 'none'" in csp
        assert "unsafe-inline' ; script" not in csp and "script-src 'unsafe" not in csp
        assert told.headers["x-content-type-options"] == "nosniff"
        if "script-src 'self'" in csp:
            assert "unsafe" not in csp
            assert not re.search(r"<script(?![^>]*src=)|\son\w+=|style=\"", told.text), path


def test_no_page_shows_where_the_folder_lies(page: Page, folder: Path) -> None:
    (folder / "kitchen.toml").write_text("[[pot]\n", encoding="utf-8")
    (folder / "out" / "plan.json").write_text("{", encoding="utf-8")
    for path in (*PAGES[:-1], "/files/none.toml/text", "/sheet/none", "/session/none", "/nowhere"):
        told = page.get(path)
        assert str(folder) not in told.text and str(Path.home()) + "/" not in told.text, path


PATHS = (
    "/files/..%2f..%2fetc%2fpasswd/text",
    "/files/%2e%2e/text",
    "/files/garden.toml%00/text",
    "/files/.ssh/text",
    "/files/diary.txt/text",
    "/labels/..%2fplan.json",
    "/labels/plan.json",
    "/static/..%2fsite.py",
    "/static/site.py",
    "/sheets/..%2f..%2fdiary.txt",
    "/calendar/x/..%2fplan.ics",
    "/files/crops%2fx.toml/text",
    "/sheet/%2e%2e%2f",
    "/session/<script>",
    "/labels/%2fetc%2fpasswd",
)


@pytest.mark.parametrize("path", PATHS)
def test_no_path_leads_out(page: Page, folder: Path, path: str) -> None:
    told = page.get(path)
    assert told.status in (303, 404, 409)
    assert "root:" not in told.text and "<script>" not in told.text


def test_a_linked_file_is_not_followed(page: Page, folder: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret.toml"
    secret.write_text("hidden = 1\n", encoding="utf-8")
    (folder / "linked.toml").symlink_to(secret)
    (folder / "out" / "labels" / "labels.html").unlink()
    (folder / "out" / "labels" / "labels.html").symlink_to(secret)
    (folder / "out" / "sessions.ics").unlink()
    (folder / "out" / "sessions.ics").symlink_to(secret)

    for path in (
        "/files/linked.toml/text",
        "/labels/labels.html",
        feed_path(page.site, "sessions"),
    ):
        assert "hidden" not in page.get(path).text


def test_a_device_that_is_not_paired_sees_only_the_door(page: Page) -> None:
    page.door, page.site.shared_address = "192.168.7.7", "192.168.7.7"
    for path in PAGES:
        told = page.get(path)
        assert told.status == 403 and "Willow Bend" not in told.text, path
    assert page.get("/pair").status == 200
    assert page.get("/static/style.css").status == 200
    for cookie in ("household=x", "household=a.b", "household=" + "a" * 3000, "=;;\x01", "a=b"):
        assert page.get("/", cookie=cookie).status == 403


def test_a_paired_device_sees_the_page_until_it_is_sent_away(page: Page) -> None:
    figures = page.site.devices.new_code()
    phone = page
    phone.door, phone.site.shared_address = "192.168.7.7", "192.168.7.7"
    told = phone.send(phone.get(f"/pair?code={figures}").form("/pair"), figures=figures, name="Tab")
    assert told.status == 200 and "Willow Bend" in told.text
    used = phone.cookie
    phone.cookie = ""
    again = phone.send(phone.get("/pair").form("/pair"), figures=figures, name="Thief")
    assert again.status == 403
    phone.cookie = used
    # What only the computer may do, a phone may not.
    for action in ("/phones/alone", "/phones/code", "/phones/feeds"):
        form = Form(action)
        assert phone.ask("POST", form.action, b"").status == 403
    phone.site.devices.send_away(next(iter(phone.site.devices.all())))
    assert phone.get("/").status == 403


def test_guessing_the_code_is_hopeless(tmp_path: Path) -> None:
    clock = [0.0]
    devices = Devices(Keep(tmp_path), clock=lambda: clock[0])
    found = 0
    looked_at = 0
    for hour in range(200):
        right = devices.new_code()
        for guess in range(50):
            clock[0] += 1.0
            said = f"{(int(right) + 1 + guess) % 10**6:06}"
            before = len(devices._tries), list(devices._tries)
            found += devices.pair(said, "thief") is not None
            looked_at += list(devices._tries) != before[1]
        clock[0] += 3600 - 50
        assert devices.code() is None, hour
    assert found == 0
    assert looked_at <= 200 * 5  # 10,000 guesses, at most five a minute looked at
    clock[0] += 3600
    right = devices.new_code()
    assert devices.pair(right, "Phone") is not None
    assert devices.pair(right, "Thief") is None


def test_a_code_is_over_after_ten_minutes(tmp_path: Path) -> None:
    clock = [0.0]
    devices = Devices(Keep(tmp_path), clock=lambda: clock[0])
    right = devices.new_code()
    clock[0] = 601.0
    assert devices.pair(right, "Late") is None


NASTY = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7 * 7 }}",
    "</textarea><b>",
    "' onfocus='alert(1)",
    "\u202etxet",
    "a\x00b",
    "%0d%0aSet-Cookie: a=b",
    "javascript:alert(1)",
)


def test_what_a_household_wrote_is_escaped_wherever_it_stands(tmp_path: Path) -> None:
    folder = demo_season(tmp_path)
    for name, nasty in (("Willow Bend", NASTY[0]), ("big kettle", NASTY[1]), ("chest", NASTY[2])):
        for path in folder.glob("*.toml"):
            text = path.read_text(encoding="utf-8")
            path.write_text(
                text.replace(f'"{name}"', '"' + nasty.replace('"', '\\"') + '"'), encoding="utf-8"
            )
    page = Page(folder, tmp_path / "keeps")
    for path in PAGES[:-1]:
        told = page.get(path)
        assert "<script>alert" not in told.text and "<img src=x" not in told.text, path
        assert " 49 " not in told.words or "7 * 7" in told.words, path
    page.site.work.close()


@pytest.mark.parametrize("nasty", NASTY)
def test_nothing_that_is_typed_becomes_markup(page: Page, folder: Path, nasty: str) -> None:
    for path, action in (
        ("/store", "/store/count"),
        ("/garden", "/garden/picked"),
        ("/begin/1", "/begin/1"),
        ("/files", "/files/pot/add"),
    ):
        form = page.get(path).form(action)
        typed = {
            k: nasty for k in form.fields if k not in ("token", "code", "seen", "group", "planting")
        }
        told = page.send(form, **typed)
        assert told.status in (200, 409, 422)
        for raw in NASTY[:2]:
            assert raw not in told.text
        assert "set-cookie" not in told.headers
