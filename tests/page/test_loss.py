"""Nothing that was confirmed is lost or there twice; a full disk is told."""

from __future__ import annotations

import contextlib
import http.client
import os
import random
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from urllib.parse import urlencode

import pytest
from page.served import Form, Page, _Forms, demo_season

from harvestplan import disk
from harvestplan.records.diary import read_diary, read_whole

pytestmark = pytest.mark.heavy
KILLS = 12
"""In a usual run; --slow has all 300."""


class _Server:
    """The real command, begun anew after each kill at the same port."""

    def __init__(self, folder: Path, keeps: Path) -> None:
        self.folder = folder
        self.environment = os.environ | {"HARVESTPLAN_KEEPS": str(keeps), "PYTHONUNBUFFERED": "1"}
        self.port = 0
        self.process: subprocess.Popen[str] | None = None

    def begin(self) -> None:
        words = [sys.executable, "-m", "harvestplan", "open", str(self.folder), "--no-browser"]
        words += ["--as-of", "2027-08-21", *(["--port", str(self.port)] if self.port else [])]
        self.process = subprocess.Popen(
            words, stdout=subprocess.PIPE, encoding="utf-8", env=self.environment
        )
        assert self.process.stdout is not None
        self.port = int(self.process.stdout.readline().rsplit(":", 1)[1].strip(" /\n"))

    def kill(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.communicate()

    def ask(self, method: str, path: str, body: str = "") -> tuple[int, str]:
        """An answer that came whole, or OSError."""
        to = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        own = {"Origin": f"http://127.0.0.1:{self.port}"}
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        with contextlib.closing(to):
            to.request(method, path, body or None, own | kind if body else {})
            answer = to.getresponse()
            return answer.status, answer.read().decode()

    def form(self) -> Form:
        found = _Forms()
        found.feed(self.ask("GET", "/store")[1])
        return next(f for f in found.forms if f.action == "/store/gone")


@pytest.mark.parametrize("kills", [KILLS, pytest.param(300, marks=pytest.mark.slow)])
def test_killed_while_forms_are_sent(tmp_path: Path, kills: int) -> None:
    folder = demo_season(tmp_path)
    server, chance = _Server(folder, tmp_path / "keeps"), random.Random(7)
    confirmed: set[str] = set()
    asked: set[str] = set()
    done = 0
    while done < kills:
        server.begin()
        # Several kills' worth of forms are drawn first, as from pages that stand open on a tablet.
        forms = [server.form() for _ in range(6)]
        when = chance.uniform(0.0, 0.6)
        threading.Thread(target=lambda w=when: (time.sleep(w), server.kill()), daemon=True).start()
        for form in forms:
            body = urlencode(form.fields | {"verb": "ate", "portions": "1"})
            asked.add(form.fields["code"])
            with contextlib.suppress(OSError, http.client.HTTPException):
                if server.ask("POST", form.action, body)[0] == 303:
                    confirmed.add(form.fields["code"])
        assert server.process is not None
        server.process.wait()
        done += 1
        if done % 10 == 0:  # people send again what was not answered
            server.begin()
            for form in forms:
                body = urlencode(form.fields | {"verb": "ate", "portions": "1"})
                if server.ask("POST", form.action, body)[0] in (303,):
                    confirmed.add(form.fields["code"])
            server.kill()
    codes = [event.code for event in read_whole(folder)[1]]
    assert confirmed <= set(codes)
    assert len(codes) == len(set(codes)) and set(codes) <= asked
    # Kills came between answers, and between an answer and the next form.
    assert kills // 4 < len(confirmed) <= len(codes) < len(asked)


def test_a_full_disk_is_told_and_the_diary_stands(
    page: Page, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = page.get("/store").form("/store/gone", product="tomato, purée")
    page.send(form, verb="ate", portions="1")
    before = (folder / "diary.txt").read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    form = page.get("/store").form("/store/gone", product="tomato, purée")
    with monkeypatch.context() as broken:
        broken.setattr(disk.os, "fsync", full)
        told = page.send(form, verb="ate", portions="1")
    assert told.status == 409 and "No space left on device" in told.words
    assert (folder / "diary.txt").read_bytes() == before
    pots = page.get("/files").form("/files/pot/add")
    kitchen = (folder / "kitchen.toml").read_bytes()
    with monkeypatch.context() as broken:
        broken.setattr(disk.os, "fsync", full)
        told = page.send(pots, name="third", volume="6 qt", power="1.5 kW")
    assert told.status == 507 and "No space left on device" in told.words
    assert (folder / "kitchen.toml").read_bytes() == kitchen
    page.send(form, verb="ate", portions="1")
    assert len(read_diary(folder).events) == 2
