"""Two households that wrote the very same files, and one household's next year: no entry of one
season has the name of another's."""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
from pathlib import Path

from outputs.calendar.dav_server import calendar_server
from trust.at_server import killed_at_request, logged_in
from trust.forked import run
from trust.small_folder import write_small

from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.season_id import season_id
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

SPRING, SUMMER = "2027-05-01", "2027-05-10"


def plan(folder: Path, day: str = SPRING) -> None:
    ended = run(["plan", "--quiet", "--as-of", day, "--in", str(folder)])
    assert ended.code == 0, ended.told


def uids(folder: Path) -> set[str]:
    """Names of all entries and tasks, and of the plan's sessions."""
    texts = [(folder / "out" / name).read_text() for name in ("sessions.ics", "tasks.ics")]
    named = {uid for text in texts for uid in re.findall(r"^UID:(.*)$", text, re.MULTILINE)}
    data = json.loads((folder / "out" / "plan.json").read_text())
    sessions = {session["uid"] for session in data["sessions"]}
    assert sessions and sessions < named
    return named


def as_before_ids(folder: Path) -> Path:
    """The season planned as it was before seasons had ids: names come from the household's."""
    household = read_household(write_small(folder), dt.date.fromisoformat(SPRING))
    made = make_plan(household, dt.date.fromisoformat(SPRING), None, effort=Effort(), say=str)
    write_outputs(made, household.season, household.library, out=folder / "out")
    return folder


def test_the_same_files_twice_are_two_seasons(tmp_path: Path) -> None:
    first, second = (write_small(tmp_path / name) for name in ("first", "second"))
    for folder in (first, second):
        plan(folder)
    assert not uids(first) & uids(second)


def test_the_same_files_with_the_same_id_are_the_same_season(tmp_path: Path) -> None:
    first, second = (write_small(tmp_path / name) for name in ("first", "second"))
    plan(first)
    (second / "out").mkdir()
    shutil.copy(first / "out" / "season-id.json", second / "out")
    plan(second)
    assert uids(first) == uids(second)


def test_a_plan_anew_keeps_the_names(tmp_path: Path) -> None:
    """Also where plan.json was lost."""
    folder = write_small(tmp_path / "season")
    plan(folder)
    before, own = uids(folder), season_id(folder / "out")
    plan(folder, SUMMER)
    assert uids(folder) == before
    (folder / "out" / "plan.json").unlink()
    plan(folder)
    assert uids(folder) == before and season_id(folder / "out") == own


def test_next_year_is_another_season(tmp_path: Path) -> None:
    old, new = write_small(tmp_path / "old"), tmp_path / "new"
    plan(old)
    ended = run(["new", str(new), "--from", str(old), "--as-of", "2027-12-01"])
    assert ended.code == 0, ended.told
    assert not (new / "out").exists()
    garden = (new / "garden.toml").read_text().replace("portions = 4", "portions = 12", 1)
    (new / "garden.toml").write_text(garden)
    plan(new, "2028-05-01")
    assert season_id(new / "out").code != season_id(old / "out").code
    assert not uids(old) & uids(new)


def test_a_season_of_before_there_were_ids_keeps_its_names(tmp_path: Path) -> None:
    """Its calendar stays as it is to the byte; what is new in it has the new names."""
    folder, other = as_before_ids(tmp_path / "season"), as_before_ids(tmp_path / "other")
    assert uids(folder) == uids(other)
    before, calendar = uids(folder), (folder / "out" / "sessions.ics").read_bytes()
    plan(folder)
    own = season_id(folder / "out")
    assert own.by_name and (folder / "out" / "sessions.ics").read_bytes() == calendar
    more = '[[bought]]\nitem = "dry bean"\namount = "8 lb"\non = 2027-07-03\n'
    for each in (folder, other):
        garden = (each / "garden.toml").read_text().replace("portions = 4", "portions = 12")
        (each / "garden.toml").write_text(garden + more)
        plan(each, SUMMER)
    assert season_id(folder / "out") == own
    assert before < uids(folder) and uids(folder) & uids(other) < uids(folder)


def test_two_seasons_in_one_calendar(tmp_path: Path) -> None:
    """Published in turn and again, each finds its own entries as it left them."""
    with calendar_server(tmp_path / "dav") as address:
        for name in ("first", "second", "first", "second"):
            folder = tmp_path / name
            if not folder.exists():
                plan(write_small(folder))
            words = ["publish", address, "--in", str(folder), "--json"]
            ended = run(words, logged_in(killed_at_request(0)))
            assert ended.code == 0, ended.told
            done = json.loads(ended.said)
            assert not (done["updated"] or done["deleted"] or done["unread"] or done["put_back"])
            assert bool(done["created"]) != bool(done["unchanged"])
            record = json.loads((folder / "out" / "published.json").read_text())
            (told,) = record["calendars"].values()
            assert set(told["sent"]) == {*done["created"], *done["unchanged"]}
