"""Long work in processes of its own: planned, ended with the best so far, taken or put away."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest
from page.served import SATURDAY, Page

from harvestplan.new_season.starter import Answers, write_starter
from harvestplan.page import session_page
from harvestplan.page.difference import difference
from harvestplan.page.long_work import LongWork
from harvestplan.page.plan_page import draft_place
from harvestplan.plan.file import published_plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.planning.remedies import NEARBY_ONLY
from harvestplan.words import clock, day

pytestmark = pytest.mark.heavy
SPRING = dt.date(2027, 4, 20)


@pytest.fixture
def small(tmp_path: Path) -> Page:
    """The example that `new --yes` writes: two plantings, a purchase, three wants."""
    folder = tmp_path / "small"
    write_starter(folder, Answers.example(SPRING))
    return Page(folder, tmp_path / "keeps", SPRING, work=LongWork())


def _planned(page: Page) -> None:
    page.send(page.get("/plan").form("/plan/begin"))
    job = page.site.work.job(f"plan-{page.site.key}")
    assert job.over.wait(600)  # against hanging
    assert job.state == "done", job.trouble


def test_nothing_counts_before_it_is_taken(small: Page, tmp_path: Path) -> None:
    written = tmp_path / "small" / "out" / "plan.json"
    _planned(small)
    assert not written.exists()
    shown = small.get("/plan")
    assert "The new plan" in shown.words and "portions of 38 wanted" in shown.words
    small.send(shown.form("/plan/keep"))
    assert not draft_place(small.site).exists() and not written.exists()
    _planned(small)
    small.send(small.get("/plan").form("/plan/take"))
    assert json.loads(written.read_text(encoding="utf-8"))["as_of"] == "2027-04-20"
    assert "18:00" in small.get("/season").words or "pm" in small.get("/season").words
    # Taken twice, by two devices: the second finds it taken.
    again = small.get("/plan").form("/plan/begin")
    again.action = "/plan/take"
    assert small.send(again).status == 403


def test_another_plan_taken_meanwhile_is_not_written_over(small: Page, tmp_path: Path) -> None:
    _planned(small)
    take = small.get("/plan").form("/plan/take")
    written = tmp_path / "small" / "out" / "plan.json"
    written.parent.mkdir(exist_ok=True)
    draft = (draft_place(small.site) / "plan.json").read_bytes()
    written.write_bytes(draft.replace(b'"made_at": "2', b'"made_at": "2', 1) + b"\n")
    told = small.send(take)
    assert told.status == 422 and "Another plan was taken" in told.words
    assert written.read_bytes() == draft + b"\n"


def test_where_nothing_changes_there_is_nothing_to_take(small: Page) -> None:
    _planned(small)
    small.send(small.get("/plan").form("/plan/take"))
    _planned(small)
    shown = small.get("/plan")
    assert "Nothing changes" in shown.words and "Take the new one" not in shown.words
    assert "What changes" not in shown.words
    small.send(shown.form("/plan/keep"))
    assert "Your plan" in small.get("/plan").words


def test_enough_ends_it_with_the_best_so_far(small: Page) -> None:
    begun = small.send(small.get("/plan").form("/plan/begin"))
    assert "Enough: keep the best so far" in begun.words
    name = f"plan-{small.site.key}"
    small.send(begun.form("/plan/enough"))
    job = small.site.work.job(name)
    assert job.over.wait(600)
    # It may have come before there was anything to keep; either way it ends in words.
    assert job.state == "done" or "stopped before there was anything" in job.trouble
    assert small.get("/plan").status == 200


def test_a_worker_ends_with_its_server(small: Page) -> None:
    small.send(small.get("/plan").form("/plan/begin"))
    process = small.site.work.job(f"plan-{small.site.key}").process
    process.stdin.close()  # as the system does where the server was killed
    assert process.wait(600) == 3


def test_a_torn_file_is_told_where_planning_was_asked_for(small: Page, tmp_path: Path) -> None:
    begin = small.get("/plan").form("/plan/begin")
    (tmp_path / "small" / "garden.toml").write_text("[[want]\n", encoding="utf-8")
    told = small.send(begin)
    assert told.status in (200, 422)
    assert "mended" in told.words and str(tmp_path) not in told.text


def test_what_if_answers_in_portions_and_evenings(small: Page, tmp_path: Path) -> None:
    before = {p: p.read_bytes() for p in (tmp_path / "small").glob("*.toml")}
    form = next(f for f in small.get("/what-if").forms() if ("what", "want") in f.buttons)
    small.send(form, what="want", product="snap bean, cut", share="50")
    job = small.site.work.job(f"what-if-{small.site.key}")
    assert job.over.wait(600) and job.state == "done", job.trouble
    told = small.get("/what-if")
    assert "10 portions of snap beans, cut wanted" in told.words and "instead of" in told.words
    assert {p: p.read_bytes() for p in (tmp_path / "small").glob("*.toml")} == before
    assert not (tmp_path / "small" / "out" / "plan.json").exists()


def test_what_a_move_means_is_told_before_it_is_made(working: Page, folder: Path) -> None:
    plan = published_plan(folder)
    assert plan is not None
    session = next(s for s in plan.sessions if s.start.date() == dt.date(2027, 10, 16))
    at = f"/session/{session.uid}"
    working.send(working.get(at).form(f"{at}/look"))
    assert working.site.work.job(f"places-{working.site.key}-{session.uid}").over.wait(600)
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    shown = working.get(at)
    assert working.send(shown.form(f"{at}/move"), what="mean").status == 200
    job = working.site.work.job(f"meaning-{working.site.key}-{session.uid}")
    assert job.over.wait(600) and job.state == "done", job.trouble
    told = working.get(at)
    assert {p: p.read_bytes() for p in before} == before
    found = job.result
    assert [sum(n) for n in zip(*found["foods"].values(), strict=True)] == found["portions"]
    place = dt.datetime.fromisoformat(job.asked["to"])
    assert f"On {day(place.date())}, {clock(place, 'US')} instead" in told.words
    assert difference("portion", *found["portions"]) in told.words
    assert difference("evening", *found["evenings"]) in told.words
    assert "aits longer" in told.words  # "Nothing waits longer", or what does
    for lines in found["changes"].values():
        assert all(line in told.words for line in lines)
        assert not any("where you put it" in line for line in lines)  # the session itself
    # The planner that follows the move puts by what was told, or better.
    moved = working.send(told.form(f"{at}/move", group="there"), what="move")
    assert "Asked of the next plan" in moved.words and "Moved:" in moved.words
    household = read_household(folder, SATURDAY)
    after = make_plan(household, SATURDAY, plan, effort=NEARBY_ONLY, say=print)
    there = next(s for s in after.sessions if s.uid == session.uid)
    assert there.start == place


def test_a_planner_that_takes_long_is_told_of(
    working: Page, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(session_page, "PATIENCE", 0.0)
    plan = published_plan(folder)
    assert plan is not None
    at = f"/session/{plan.sessions[-1].uid}"
    told = working.send(working.get(at).form(f"{at}/look"))
    job = working.site.work.job(f"places-{working.site.key}-{plan.sessions[-1].uid}")
    assert "still at it" in told.words and "See whether it is done" in told.words
    assert job.over.wait(600)
    assert "still at it" not in working.get(at).words and "Look again" in working.get(at).words
