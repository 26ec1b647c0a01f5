"""Evenings held for a turn in the weather: chosen, judged on other years, kept from plan to plan.

Made-up seasons, in which each year needs the evenings that are written down for it, show that the
judging never sees the year it judges; a real small season is judged in the slow test.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
from foresight.risk_folder import AS_OF, write_risk_folder
from foresight.sturdy_folder import AS_OF as SPRING
from foresight.sturdy_folder import write_sturdy_folder

from harvestplan.check import check_plan
from harvestplan.commands import sturdy_command
from harvestplan.commands.cli import main
from harvestplan.errors import FilesNeedMending
from harvestplan.foresight import sturdy as choosing
from harvestplan.foresight.answers import Replay
from harvestplan.foresight.risk import replay_year, stated
from harvestplan.foresight.sturdy import Asked, ReserveSearch, goal, rank, sturdy
from harvestplan.foresight.trials import Evenings, Trials, replay_with
from harvestplan.outputs.terminal.sturdy_text import kept_free_lines, sturdy_text, sturdy_words
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file import plan_bytes, read_plan
from harvestplan.plan.models import Fared, Held, Plan, PouchesFor, Session, Sturdy
from harvestplan.planning.make import holding, make_plan
from harvestplan.planning.read import read_household
from harvestplan.planning.reserved_times import pouches_ahead, still_held
from harvestplan.schedule.search.effort import Effort

ZONE = ZoneInfo("America/Chicago")
YEARS = tuple(range(1990, 2010))
MORNING = dt.datetime(2027, 7, 1, 8, tzinfo=ZONE)


def silent(text: str) -> None:
    pass


def evening(number: int) -> dt.datetime:
    return MORNING + dt.timedelta(days=number)


def replay_of(year: int, needs: Evenings, there: Evenings) -> Replay:
    """A season that needs these evenings, each for one portion."""
    missing = len(needs - there)
    return Replay(
        year=year,
        made=(9 - missing, 0),
        short=(missing, 0),
        given=0,
        evenings=len(needs & there),
        used=tuple(sorted(needs & there)),
        fullest=None,
        lost=(),
        replans=0,
        seconds=0.0,
    )


def searched(
    folder: Path, needs: Mapping[int, Evenings], plain: Evenings, stop_after: int = 10**6
) -> Sturdy | None:
    """The search in made-up years; Ctrl-C comes after so many replays."""
    made = 0

    def replayed(years: Sequence[int], there: Evenings, hear: Callable[[Replay], None]) -> None:
        nonlocal made
        for year in years:
            if made == stop_after:
                raise KeyboardInterrupt
            made += 1
            hear(replay_of(year, needs[year], there))

    _, base = stated(folder, AS_OF)
    every = frozenset().union(*needs.values(), plain)
    search = ReserveSearch(base, Asked(0.8, 1, tuple(needs), plain=plain))
    with contextlib.suppress(KeyboardInterrupt):
        search.run(Trials(replayed, (1.0, 1.0), every, say=silent))
    return search.answer(AS_OF)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small season, planned and written."""
    path = write_risk_folder(tmp_path_factory.mktemp("season"))
    household = read_household(path, AS_OF)
    plan = make_plan(household, AS_OF, None, effort=Effort(), say=silent)
    write_outputs(plan, household.season, household.library, out=path / "out")
    return path


def planned(folder: Path) -> Plan:
    return read_plan(folder / "out" / "plan.json")


def found_for(folder: Path, spare: int = 3) -> Sturdy:
    """All the plan's evenings and the first so many others, as if a search had chosen them."""
    _, base = stated(folder, AS_OF)
    plain = choosing.plain_evenings(base, planned(folder))
    others = [window.start for window in base.windows if window.start not in plain][:spare]
    held = tuple(
        Held(start=window.start, end=window.end)
        for window in base.windows
        if window.start in plain or window.start in others
    )
    return Sturdy(
        on=AS_OF,
        share=0.8,
        seed=1,
        years=37,
        plain=Fared(evenings=len(plain), met=0.27, short=5.5),
        sturdier=Fared(evenings=len(held), met=0.811, short=0.9),
        every=Fared(evenings=len(base.windows), met=1.0, short=0.4),
        used=4.5,
        fullest=0.4,
        pouches=(PouchesFor(pouch="quart", count=90),),
        held=held,
    )


def test_as_many_years_as_chance_seldom_reaches() -> None:
    # Binomial tables: of 18 with 0.8, P(18) = 0.0180, P(17) = 0.0811, P(16) = 0.1723.
    assert goal(18, 0.8) == 17
    # Of 10 with 0.5, P(at least 7) = 0.1719, P(at least 6) = 0.3770.
    assert goal(10, 0.5) == 7
    assert goal(3, 0.8) == 3  # 0.512: even all of so few years say little
    assert goal(20, 0.95) == 20


def test_evenings_needed_most_come_first() -> None:
    needs = [{1, 2}, {2, 3}, {2, 3, 4}]
    every = frozenset(map(evening, range(9)))
    replays = [replay_of(1990, frozenset(map(evening, each)), every) for each in needs]
    assert rank(replays, frozenset({evening(4)})) == [evening(2), evening(3), evening(1)]


def test_one_evening_that_most_years_need_is_held(folder: Path) -> None:
    needs = {y: frozenset({evening(0), evening(1 + (y % 10 == 0))}) for y in YEARS}
    found = searched(folder, needs, frozenset({evening(0)}))
    assert found is not None
    # Evening 1 serves 18 of 20 years; the goal is 18 (P of at least 18 is 0.206, of 19 is 0.069).
    assert goal(20, 0.8) == 19
    assert (found.plain.evenings, found.sturdier.evenings) == (1, 3)
    assert (found.years, found.plain.met) == (20, 0.0)
    assert found.sturdier.met >= 0.9
    assert found.plain.short > found.sturdier.short >= found.every.short == 0


def test_no_year_is_judged_by_evenings_chosen_with_it(folder: Path) -> None:
    needs = {y: frozenset({evening(0), evening(y - 1980)}) for y in YEARS}
    found = searched(folder, needs, frozenset({evening(0)}))
    assert found is not None
    assert found.sturdier.evenings == 21  # nothing less serves the years it is chosen by
    assert (found.years, found.sturdier.met) == (20, 0.0)  # and none of it any other year


def test_a_year_that_can_go_as_on_every_evening_is_not_searched_anew() -> None:
    asked: list[tuple[int, int]] = []

    def replayed(years: Sequence[int], there: Evenings, hear: Callable[[Replay], None]) -> None:
        for year in years:
            asked.append((year, len(there)))
            found = replay_of(year, frozenset({evening(0)}), there)
            unlucky = {"short": (0 if len(there) == 3 else 1, 0)}
            hear(found.model_copy(update=unlucky))

    every = frozenset(map(evening, range(3)))
    trials = Trials(replayed, (1.0, 1.0), every, say=silent)
    assert trials.met((1990, 1991), frozenset({evening(0), evening(1)})) == [1990, 1991]
    assert trials.met((1990,), frozenset({evening(1), evening(2)})) == []
    assert asked == [(1990, 3), (1991, 3), (1990, 2)]


def test_a_plain_plan_that_is_enough_holds_nothing_more(folder: Path) -> None:
    needs = {y: frozenset({evening(0)}) for y in YEARS}
    found = searched(folder, needs, frozenset({evening(0), evening(1)}))
    assert found is not None
    assert (found.sturdier.evenings, found.sturdier.met, found.plain.met) == (2, 1.0, 1.0)


def test_ctrl_c_gives_what_is_known(folder: Path) -> None:
    needs = {y: frozenset({evening(0), evening(1 + (y % 2))}) for y in YEARS}
    plain = frozenset({evening(0)})
    assert searched(folder, needs, plain, stop_after=19) is None
    early = searched(folder, needs, plain, stop_after=20)
    assert early is not None and (early.sturdier.evenings, early.years) == (3, 0)
    assert "stopped early" in sturdy_words(early)[-1]
    whole = searched(folder, needs, plain)
    assert whole is not None and whole.years == 20


def test_with_every_evening_it_is_the_replay_of_risk(folder: Path) -> None:
    _, base = stated(folder, AS_OF)
    every = frozenset(window.start for window in base.windows)
    one, other = (
        replay_with(folder, AS_OF, 2020, seed=1, evenings=every),
        replay_year(folder, AS_OF, 2020, seed=1),
    )
    assert one.model_copy(update={"seconds": 0}) == other.model_copy(update={"seconds": 0})
    assert set(one.used) <= every and len(one.used) == one.evenings
    none = replay_with(folder, AS_OF, 2020, seed=1, evenings=frozenset())
    assert (none.used, none.made) == ((), (0, 0))


def test_a_small_season_is_made_sturdier(folder: Path) -> None:
    said: list[str] = []
    plan = planned(folder)
    found = sturdy(folder, plan, 0.8, seed=1, say=said.append)
    assert found is not None and found.years == 5
    assert found.plain.evenings <= found.sturdier.evenings <= found.every.evenings
    assert {h.start for h in found.held} >= {
        s.window_start for s in plan.sessions if s.status == "planned"
    }
    assert said[0].startswith("The season is replayed in 5 past years")
    again = sturdy(folder, plan, 0.8, seed=1, say=silent)
    assert again == found


def test_the_judge_accepts_the_evenings_and_their_pouches(folder: Path) -> None:
    household, plan = read_household(folder, AS_OF), planned(folder)
    held = holding(plan, household, found_for(folder))
    assert check_plan(held, household) == ()
    (line,) = [line for line in held.shopping if line.item == "quart"]
    assert line.need >= 90 and line.packs * 50 >= line.buy  # packs of 50, as the folder says
    (before,) = [line for line in plan.shopping if line.item == "quart"]
    assert before.need < 90 and before.order_by == line.order_by


def test_old_plans_load_and_new_ones_come_back(folder: Path, tmp_path: Path) -> None:
    plan = planned(folder)
    held = plan.model_copy(update={"sturdy": found_for(folder)})
    path = tmp_path / "plan.json"
    path.write_bytes(plan_bytes(held))
    assert read_plan(path) == held
    old = json.loads(plan_bytes(plan))
    del old["sturdy"]
    path.write_text(json.dumps(old), encoding="utf-8")
    assert read_plan(path).kept_free == ()
    naive = json.loads(plan_bytes(held))
    naive["sturdy"]["held"][0]["start"] = "2027-06-01T17:00:00"
    path.write_text(json.dumps(naive), encoding="utf-8")
    with pytest.raises(FilesNeedMending, match="offset"):
        read_plan(path)


def test_time_with_a_session_is_not_kept_free(folder: Path) -> None:
    plan = planned(folder)
    found = found_for(folder, spare=3)
    held = plan.model_copy(update={"sturdy": found})
    sessions = [s.window_start for s in plan.sessions]
    free = [time.start for time in held.kept_free]
    assert len(free) == 3 and not set(free) & set(sessions)
    gone = [s.model_copy(update={"status": "cancelled"}) for s in plan.sessions]
    assert len(held.model_copy(update={"sessions": tuple(gone)}).kept_free) == len(found.held)
    later = held.model_copy(update={"as_of": free[1].date()})
    assert [time.start for time in later.kept_free] == free[1:]


def test_the_calendar_keeps_them_tentative_under_the_same_uid(folder: Path) -> None:
    household, plan = read_household(folder, AS_OF), planned(folder)
    held = plan.model_copy(update={"sturdy": found_for(folder)})
    first = kept_events(held, folder)
    assert [str(each["STATUS"]) for each in first] == ["TENTATIVE"] * 3
    assert [str(each["TRANSP"]) for each in first] == ["TRANSPARENT"] * 3
    assert [each["DTSTART"].dt for each in first] == [time.start for time in held.kept_free]
    assert household.season.household.name == "The Lane"
    next_day = held.model_copy(update={"as_of": AS_OF + dt.timedelta(days=1)})
    assert [str(e["UID"]) for e in kept_events(next_day, folder)] == [str(e["UID"]) for e in first]
    other = held.model_copy(
        update={"season": held.season.model_copy(update={"name": "The Other Lane"})}
    )
    assert not {str(e["UID"]) for e in kept_events(other, folder)} & {str(e["UID"]) for e in first}


def kept_events(plan: Plan, folder: Path) -> list[Any]:
    from harvestplan.outputs.calendar.calendar_files import calendar_files

    household = read_household(folder, AS_OF)
    data = calendar_files(plan, household.season, household.library)["sessions.ics"]
    events = icalendar.Calendar.from_ical(data).walk("VEVENT")
    return [event for event in events if str(event["SUMMARY"]).startswith("Kept free")]


def test_the_book_and_the_terminal_name_them(folder: Path) -> None:
    from harvestplan.outputs.paper.book import book_bytes

    household, plan = read_household(folder, AS_OF), planned(folder)
    held = plan.model_copy(update={"sturdy": found_for(folder)})
    lines = kept_free_lines(held, "US")
    assert "5:00 pm to 9:00 pm" in lines[0]  # the folder's windows, 17:00 to 21:00
    book = book_bytes(held, household.season, household.library, today=AS_OF).decode()
    assert all(line in book for line in lines)
    text = sturdy_text(held, household.season)
    assert "81%" in text and "27%" in text and "100%" in text
    assert "3 evenings more" in text
    assert sturdy_text(plan, household.season) == ""


def test_later_plans_hold_on_while_there_is_time(folder: Path) -> None:
    _, base = stated(folder, AS_OF)
    held = planned(folder).model_copy(update={"sturdy": found_for(folder)})
    day = held.kept_free[1].start.date()
    later = still_held(held, base.windows, day)
    assert later is not None
    assert all(time.start.date() >= day for time in later.held)
    assert held.kept_free[1] in later.held and held.kept_free[0] not in later.held
    fewer = [window for window in base.windows if window.start != held.kept_free[1].start]
    without = still_held(held, fewer, AS_OF)
    assert without is not None and held.kept_free[1] not in without.held
    assert still_held(held, base.windows, dt.date(2028, 1, 1)) is None
    assert still_held(planned(folder), base.windows, AS_OF) is None


def test_pouches_filled_since_are_taken_off(folder: Path) -> None:
    plan = planned(folder)
    found = found_for(folder)
    assert pouches_ahead(None, plan.sessions) == {}
    assert pouches_ahead(found, plan.sessions) == {"quart": 90}
    first: Session = plan.sessions[0].model_copy(update={"status": "done"})
    filled = sum(run.pouches for run in first.runs if run.pouch == "quart")
    assert pouches_ahead(found, [first]) == {"quart": 90 - filled}
    assert filled > 0


def run_plan(folder: Path, monkeypatch: pytest.MonkeyPatch, *words: str) -> int | str | None:
    line = ["harvestplan", "plan", "--in", str(folder), "--as-of", str(AS_OF), "--quiet", *words]
    monkeypatch.setattr(sys, "argv", line)
    try:
        main()
    except SystemExit as left:
        return left.code
    return 0


def test_the_command_holds_keeps_and_lets_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_risk_folder(tmp_path)
    monkeypatch.setattr(choosing, "sturdy", lambda path, *_, **__: found_for(path))
    assert run_plan(folder, monkeypatch, "--sturdy", "0.8") == 0
    assert "Kept free, should the weather turn" in capsys.readouterr().out
    assert len(planned(folder).kept_free) == 3
    calendar = (folder / "out" / "sessions.ics").read_text(encoding="utf-8")
    assert "Kept free" in calendar and "Cancelled" not in calendar  # no entry lost its name
    first = (folder / "out" / "plan.json").read_bytes()
    assert run_plan(folder, monkeypatch) == 0
    assert (folder / "out" / "plan.json").read_bytes() == first  # without news, byte for byte
    assert (folder / "out" / "sessions.ics").read_text(encoding="utf-8") == calendar
    gone = planned(folder).kept_free[0].start.date()
    (folder / "diary.txt").write_text(f"{AS_OF} keep free {gone}\n", encoding="utf-8")
    assert run_plan(folder, monkeypatch) == 0
    assert gone not in [time.start.date() for time in planned(folder).kept_free]
    assert len(planned(folder).kept_free) == 2
    assert run_plan(folder, monkeypatch, "--sturdy", "0") == 0
    assert planned(folder).sturdy is None
    assert next(line for line in planned(folder).shopping if line.item == "quart").need < 90


def test_what_cannot_be_held_is_said_before_planning(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_risk_folder(tmp_path, ('[weather]\ndaily = "weather.csv"\n', ""))
    assert run_plan(folder, monkeypatch, "--sturdy", "0.8") == 3
    assert "past years" in capsys.readouterr().err
    assert not (folder / "out" / "plan.json").exists()
    assert run_plan(folder, monkeypatch, "--sturdy", "1.5") == 2


def test_stopped_before_anything_is_known_the_plan_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_risk_folder(tmp_path)
    household = read_household(folder, AS_OF)
    plan = make_plan(household, AS_OF, None, effort=Effort(), say=silent)
    monkeypatch.setattr(choosing, "sturdy", lambda *_, **__: None)
    said: list[str] = []
    same = sturdy_command.with_evenings_held(
        folder, plan, household, share=0.8, seed=1, say=said.append
    )
    assert same is plan and said == ["No evenings were chosen yet, so the plan stays as it was."]


@pytest.mark.slow
def test_years_not_used_for_choosing_are_met(tmp_path: Path) -> None:
    """37 real past years of weather: at least 74 % are met by evenings chosen without them."""
    folder = write_sturdy_folder(tmp_path)
    household = read_household(folder, SPRING)
    plan = make_plan(household, SPRING, None, effort=Effort(), say=silent)
    write_outputs(plan, household.season, household.library, out=folder / "out")
    found = sturdy(folder, plan, 0.8, seed=1, say=silent)
    assert found is not None and found.years == 37
    assert found.sturdier.met >= 0.74
    assert found.plain.met < found.sturdier.met
    assert found.sturdier.evenings < found.every.evenings
