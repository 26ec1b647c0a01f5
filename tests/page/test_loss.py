"""Nothing that was confirmed is lost or there twice; a full disk is told."""

from __future__ import annotations

import datetime as dt
import random
import threading
import time
import tomllib
from pathlib import Path

import pytest
from page.running import Running
from page.served import Form, Page, demo_season

from harvestplan import disk
from harvestplan.records.diary import read_diary, read_whole

pytestmark = pytest.mark.heavy
KILLS = 12
"""In a usual run; --slow has all 300."""
FOODS = 4
"""Lines of the diary that are sent between two kills, each of another food: of the same one the
second would be asked about."""


class _Household:
    """Sends forms from pages that stand open on a tablet, and remembers what was answered."""

    def __init__(self, server: Running) -> None:
        self.server = server
        self.asked: set[str] = set()
        self.confirmed: set[str] = set()
        self.names = ["Willow Bend"]
        """What the household may be called: as was confirmed last, and as was sent since."""
        self.broken = 0
        """Forms that a kill left without an answer."""
        self.usual: dict[str, float] = {}
        """Seconds until a form is answered, by its action."""

    def drawn(self, number: int) -> list[Form]:
        shelves = [f for f in self.server.forms("/store") if f.action == "/store/count"]
        counted = [form for form in shelves if form.fields.get("product")][:FOODS]
        assert len(counted) == FOODS
        for form in counted:
            form.fields["counted"] = str(1 + number % 40)
        named = next(f for f in self.server.forms("/files") if "/household/" in f.action)
        named.fields["name"] = f"Willow Bend {number}"
        return [*counted[:2], named, *counted[2:]]

    def send(self, form: Form) -> bool:
        """Sends one; whether an answer came."""
        name = form.fields.get("name", "")
        if name:
            self.names.append(name)
        else:
            self.asked.add(form.fields["code"])
        began = time.monotonic()
        taken = self.server.takes(form)
        if taken:
            self.usual[form.action] = time.monotonic() - began
            self.names = [name] if name else self.names
            self.confirmed |= set() if name else {form.fields["code"]}
        return taken is not None


@pytest.mark.parametrize("kills", [KILLS, pytest.param(300, marks=pytest.mark.slow)])
def test_killed_while_forms_are_sent(tmp_path: Path, kills: int) -> None:
    folder = demo_season(tmp_path)
    server, chance = Running(folder, tmp_path / "keeps", dt.date(2027, 8, 21)), random.Random(7)
    people = _Household(server)
    for number in range(kills):
        server.begin()
        forms = people.drawn(number)
        # The kill comes while one of them is sent: before it is read, while it is written, while
        # it is answered, or just after.
        last = chance.randrange(len(forms))
        for form in forms[:last]:
            assert people.send(form)
        after = chance.uniform(0.0, 1.3 * people.usual.get(forms[last].action, 0.2))
        killer = threading.Thread(target=lambda s=after: (time.sleep(s), server.kill()))
        killer.start()
        came = people.send(forms[last])
        killer.join()
        people.broken += not came
        kept = tomllib.loads((folder / "household.toml").read_text(encoding="utf-8"))
        assert kept["household"]["name"] in people.names
        people.names = [kept["household"]["name"]]
        if not came and number % 5 == 0:  # people send again what was not answered
            server.begin()
            assert people.send(forms[last])
            server.kill()
    codes = [event.code for event in read_whole(folder)[1]]
    assert people.confirmed <= set(codes)
    assert len(codes) == len(set(codes)) and set(codes) <= people.asked
    unheard = set(codes) - people.confirmed
    print(
        f"{kills} kills: {len(people.asked)} lines sent, {len(people.confirmed)} confirmed, "
        f"{len(codes)} on disk, {people.broken} forms left without an answer, {len(unheard)} of "
        "them written."
    )
    # Kills came in the midst of forms, and not in all of them.
    assert kills // 4 < people.broken < kills and len(people.confirmed) > kills


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
