"""Killed while more is at stake than a season folder of its own: a session going on, last year's
folder, a calendar on a server."""

from __future__ import annotations

import json
import random
import shutil
import signal
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
import vobject
from outputs.calendar.dav_server import ask, calendar_server
from places import CROPS
from trust.at_server import LOGIN, killed_at_request, logged_in
from trust.forked import Before, killed_at, run
from trust.judged_folder import judge_whole
from trust.killed_command import changes, fresh, kill_and_judge
from trust.small_folder import write_small

from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.server import Login

CUT_SHORT = ("plan", "--quiet", "--as-of", "2027-06-05", "--now", "09:25")
"""In the middle of the small season's only session."""
NEXT_YEAR = "2027-12-01"


def some(most: int) -> list[int]:
    """The first, the last and two others of so many changes."""
    draw = random.Random(most)
    return sorted({1, most, *draw.sample(range(1, most + 1), 2)})


def kill_in_a_session(planned: Path, tmp_path: Path, chosen: Sequence[int]) -> None:
    for at in chosen:
        assert kill_and_judge(
            planned, tmp_path / "season", CUT_SHORT, at=at, with_what=signal.SIGKILL
        )
        ended = run([*CUT_SHORT, "--in", str(tmp_path / "season")])
        assert ended.code == 0, ended.told
        assert run(["check", "--in", str(tmp_path / "season")]).code == 0


def test_a_plan_from_now_on_killed(planned: Path, tmp_path: Path) -> None:
    """The session going on is never half laid out; the same words again do it."""
    kill_in_a_session(planned, tmp_path, some(changes(planned, tmp_path / "season", CUT_SHORT)))


@pytest.mark.slow
def test_a_plan_from_now_on_killed_at_every_change(planned: Path, tmp_path: Path) -> None:
    most = changes(planned, tmp_path / "season", CUT_SHORT)
    kill_in_a_session(planned, tmp_path, range(1, most + 1))


def test_next_years_folder_killed(planned: Path, tmp_path: Path) -> None:
    """Whole files or none in the new folder, nothing of another's, and last year's as it was."""
    old = fresh(planned, tmp_path / "old")
    (old / "crops").mkdir()
    shutil.copyfile(CROPS / "kale.toml", old / "crops" / "kale.toml")
    kept = {path: path.read_bytes() for path in old.rglob("*") if path.is_file()}
    words = ["--from", str(old), "--as-of", NEXT_YEAR]
    whole, new = tmp_path / "whole", tmp_path / "new"
    whole.mkdir()
    ended = run(["new", str(whole), *words], killed_at(whole, 0))
    assert ended.code == 0, ended.told
    assert ended.changes >= 4
    for at in range(1, ended.changes + 1):
        new.mkdir()
        (new / "note.txt").write_text("mine")
        assert run(["new", str(new), *words], killed_at(new, at)).code == -signal.SIGKILL
        found = {path.relative_to(new) for path in new.rglob("*") if path.is_file()}
        for name in (each for each in found if not each.name.startswith(".")):
            if name != Path("note.txt"):
                assert (new / name).read_bytes() == (whole / name).read_bytes()
        assert (new / "note.txt").read_text() == "mine"
        assert {path: path.read_bytes() for path in old.rglob("*") if path.is_file()} == kept
        shutil.rmtree(new)
        assert run(["new", str(new), *words]).code == 0
        shutil.rmtree(new)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with calendar_server(tmp_path_factory.mktemp("dav")) as address:
        yield address


@pytest.fixture(scope="module")
def two_plans(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The small season planned, and planned again with more to do."""
    first = write_small(tmp_path_factory.mktemp("first") / "season")
    assert run(["plan", "--quiet", "--as-of", "2027-05-01", "--in", str(first)]).code == 0
    second = fresh(first, tmp_path_factory.mktemp("second") / "season")
    assert run(["plan", "--quiet", "--as-of", "2027-05-02", "--in", str(second)]).code == 0
    return first, second


class Publishing:
    """A calendar of its own on the server, with an earlier plan on it or none, and a plan to put
    there."""

    def __init__(self, server: str, name: str, folder: Path) -> None:
        self.address = f"{server.removesuffix('preserving/')}{name}/"
        self.folder = folder
        assert ask(self.address, "MKCALENDAR")[0] == 201

    def publish(self, plan: Path, before: Before) -> tuple[int, str, int]:
        """Exit code, words and how much was counted of `publish` with `plan`'s files."""
        self.folder.mkdir(exist_ok=True)
        shutil.copytree(plan, self.folder, dirs_exist_ok=True)
        words = ["publish", self.address, "--only", "sessions", "--in", str(self.folder)]
        ended = run(words, logged_in(before))
        return ended.code, ended.said + ended.told, ended.changes

    def there(self) -> dict[str, str]:
        """Summary, start and end by UID, each entry once and whole."""
        found: dict[str, str] = {}
        for resource in Collection(self.address, Login(*LOGIN.values())).read():
            (event,) = vobject.readOne(resource.data.decode()).vevent_list
            assert event.uid.value not in found
            found[event.uid.value] = _told(event)
        return found

    def planned(self) -> dict[str, str]:
        text = (self.folder / "out" / "sessions.ics").read_text(encoding="utf-8")
        events = vobject.readOne(text).vevent_list
        live = (event for event in events if event.status.value != "CANCELLED")
        return {event.uid.value: _told(event) for event in live}


def _told(event: object) -> str:
    return str([getattr(event, name).value for name in ("summary", "dtstart", "dtend")])


def kill_and_publish_again(
    here: Publishing, plans: tuple[Path | None, Path], before: Before
) -> None:
    earlier, plan = plans
    if earlier is not None:
        assert here.publish(earlier, killed_at_request(0))[0] == 0
    was = here.there()
    assert here.publish(plan, before)[0] == -signal.SIGKILL
    for uid, told in here.there().items():
        assert told in (was.get(uid), here.planned().get(uid))
    ledger = here.folder / "out" / "published.json"
    assert not ledger.exists() or json.loads(ledger.read_text(encoding="utf-8"))
    judge_whole(here.folder / "out")
    code, said, _ = here.publish(plan, killed_at_request(0))
    assert code == 0, said
    assert "You changed these" not in said and "put back" not in said
    assert here.there() == here.planned()
    code, said, _ = here.publish(plan, killed_at_request(0))
    assert code == 0 and f"0 new, 0 changed, 0 deleted, {len(here.there())} as" in said


def kills(
    server: str, folder: Path, plans: tuple[Path | None, Path], name: str
) -> list[tuple[Publishing, Before]]:
    """Each request and each change on disk that publishing makes, with a calendar of its own."""
    counted = []
    for what in (killed_at_request(0), killed_at(folder / "count", 0)):
        here = Publishing(server, f"{name}-count-{len(counted)}", folder / "count")
        if plans[0] is not None:
            assert here.publish(plans[0], killed_at_request(0))[0] == 0
        counted.append(here.publish(plans[1], what)[2])
        shutil.rmtree(here.folder)
    assert min(counted) >= 3
    found = []
    for number in range(sum(counted)):
        here = Publishing(server, f"{name}-{number}", folder / str(number))
        at = number + 1
        on_disk = killed_at(here.folder, at - counted[0])
        found.append((here, killed_at_request(at) if at <= counted[0] else on_disk))
    return found


@pytest.mark.parametrize("name", ["first", "changed"])
def test_publishing_killed(
    server: str, two_plans: tuple[Path, Path], tmp_path: Path, name: str
) -> None:
    """At every third request or change on disk, whichever comes; all of them in the slow lane."""
    plans = (None, two_plans[0]) if name == "first" else two_plans
    for here, before in kills(server, tmp_path, plans, name=name)[::3]:
        kill_and_publish_again(here, plans, before)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["first", "changed"])
def test_publishing_killed_at_every_request(
    server: str, two_plans: tuple[Path, Path], tmp_path: Path, name: str
) -> None:
    plans = (None, two_plans[0]) if name == "first" else two_plans
    for here, before in kills(server, tmp_path, plans, name=f"{name}-all"):
        kill_and_publish_again(here, plans, before)
