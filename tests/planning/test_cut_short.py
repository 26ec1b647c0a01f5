"""An evening cut short: what is begun stands, the rest fits the minutes left, nothing is lost."""

from __future__ import annotations

import datetime as dt
import sys
from collections import Counter
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from planning.starter_folder import SPRING, folder_in, plan_on

from harvestplan.check import check_plan
from harvestplan.commands.cli import main
from harvestplan.errors import NoValidPlan
from harvestplan.household import Household
from harvestplan.outputs.paper.runsheet import runsheet_text
from harvestplan.outputs.terminal.cut_text import cut_text
from harvestplan.plan.models import Plan, Session
from harvestplan.planning.make import cut_session, make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort
from harvestplan.words import food_name

DAY_AFTER = "\n[[extra_window]]\ndate = {}\nstart = 13:00:00\nend = 16:00:00\n"


def clock(session: Session, time: str) -> dt.datetime:
    """A time of the session's day by the household's clock."""
    zone = ZoneInfo("America/Chicago")
    return dt.datetime.combine(session.start.date(), dt.time.fromisoformat(time), zone)


def promised(plan: Plan, day: dt.date) -> Plan:
    """The plan as it stands that day: its session firm."""
    sessions = (
        s.model_copy(update={"status": "firm"}) if s.start.date() == day else s
        for s in plan.sessions
    )
    return plan.model_copy(update={"sessions": tuple(sessions)})


def session_with(plan: Plan, product: str) -> Session:
    return next(s for s in plan.sessions if any(r.product == product for r in s.runs))


ON_TIME = dt.timedelta()
UNTIL = "20:30"
"""The beans that are cut by 19:10 can be packed by then."""


def cut(
    folder: Path,
    before: Plan,
    now: dt.datetime,
    until: dt.datetime | None,
    behind: dt.timedelta = ON_TIME,
) -> Plan:
    """The season planned on from the evening cut short; it keeps every rule, V11 among them."""
    household = read_household(folder, now.date())
    there, stands = cut_session(household, before, now, until=until, behind=behind)
    after = make_plan(there, now.date(), stands, effort=Effort(), say=lambda text: None)
    found = check_plan(after, household, before)
    assert found == ()
    return after


def mind_little(household: Path) -> None:
    """Toil is worth little here, so that the beans are put by on evenings, not on one Saturday."""
    toil = 'evening_is_worth = "1 portion"\nfood_is_worth = "0.2 portions"\n'
    text = household.read_text("utf-8")
    household.write_text(text.replace("[season]\n", f"[season]\n{toil}"), "utf-8")


@pytest.fixture(scope="module")
def spring(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    """The plan, and an afternoon that is kept free for the day after the first tomatoes."""
    folder = folder_in(tmp_path_factory.mktemp("cut"))
    mind_little(folder / "household.toml")
    plan = plan_on(folder, SPRING, None)
    day = session_with(plan, "tomato, purée").start.date() + dt.timedelta(days=1)
    household = folder / "household.toml"
    household.write_text(household.read_text("utf-8") + DAY_AFTER.format(day), "utf-8")
    return folder, plan


def test_what_is_begun_stands_and_the_rest_fits(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    now, until = clock(was, "19:10"), clock(was, UNTIL)
    after = cut(folder, before, now, until=until)
    session = next(s for s in after.sessions if s.uid == was.uid)
    assert (session.status, session.sequence) == ("firm", was.sequence + 1)
    assert session.cut_at == now
    assert session.end <= until
    # What is kept cold is so until it is packed, and that may be earlier now.
    planned, laid = (
        {t.id: (t.start, t.end) for t in each.tasks if t.step != "keep cold"}
        for each in (was, session)
    )
    begun = {name: times for name, times in planned.items() if times[0] < now}
    assert begun.items() <= laid.items()
    assert all(start >= now for name, (start, _) in laid.items() if name not in begun)
    # The potfuls of beans that were cut or being cut by then are finished. The dry ones were still
    # in their bag: they are packed while the others are in the pot.
    cut_up = [t.grams for t in was.tasks if t.step == "trim" and t.start < now]
    snap, dry = session.runs
    assert len(cut_up) >= 3 and snap.grams_in == sum(cut_up)
    assert snap.pouches < was.runs[0].pouches and 0 < dry.pouches <= was.runs[1].pouches


def test_what_is_left_is_planned_again_and_told(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    after = cut(folder, before, clock(was, "18:30"), until=clock(was, "19:35"))
    wanted = {line.product: line for line in after.wants}
    assert wanted["dry bean, sealed"].short == 0  # it keeps for another evening
    again = [s for s in after.sessions if s.start > was.start and s.status != "cancelled"]
    assert any(r.product == "dry bean, sealed" for s in again for r in s.runs)
    household = read_household(folder, was.start.date())
    told = cut_text(before, after, household.season, library=household.library)
    assert "Laid out again from 6:30 pm" in told
    session = next(s for s in after.sessions if s.uid == was.uid)
    assert "dry beans: not begun" in told
    assert "of dry beans are left" in told
    sheet = runsheet_text(session, household.season, household.library)
    assert "Laid out again at 6:30 pm" in sheet
    done = sum(task.end <= clock(was, "18:30") for task in session.tasks)
    assert sheet.count("[x]") == done > 0


def test_fewer_potfuls_where_not_all_is_cut(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    assert [run.pouches for run in was.runs] == [7, 8]
    before = promised(plan, was.start.date())
    now, until = clock(was, "18:30"), clock(was, "19:35")
    after = cut(folder, before, now, until=until)
    session = next(s for s in after.sessions if s.uid == was.uid)
    (run,) = session.runs
    assert 0 < run.pouches < 7
    assert session.end <= until
    lots = {lot.id: lot for lot in before.lots}
    kept = [lots[share.lot].keep_until for share in run.lots]
    planned = Counter({s.lot: s.grams for s in was.runs[0].lots})
    left = planned - Counter({s.lot: s.grams for s in run.lots})
    assert sum(left.values()) == was.runs[0].grams_in - run.grams_in
    # What spoils first is used first.
    assert all(lots[lot].keep_until >= max(kept) for lot in left)
    household = read_household(folder, was.start.date())
    told = cut_text(before, after, household.season, library=household.library)
    assert "dry beans: not begun" in told


def test_begun_food_goes_to_the_cold_where_it_cannot_be_packed(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "tomato, purée")
    assert len(was.runs) == 1
    before = promised(plan, was.start.date())
    chilled = max(t.end for t in was.tasks if t.step == "chill")
    packing = min(t.start for t in was.tasks if t.step == "portion")
    assert chilled <= packing
    now = was.start + dt.timedelta(minutes=90)
    until = chilled + dt.timedelta(minutes=21)
    after = cut(folder, before, now, until=until.replace(second=0))
    session = next(s for s in after.sessions if s.uid == was.uid)
    (first,) = session.runs
    assert first.pouches == 0
    assert not [t for t in session.tasks if t.step in ("portion", "seal", "freeze")]
    packs = next(s for s in after.sessions if any(r.second_sitting_of == first.id for r in s.runs))
    assert packs.start.date() == was.start.date() + dt.timedelta(days=1)
    assert packs.uid not in {s.uid for s in before.sessions}
    household = read_household(folder, now.date())
    told = cut_text(before, after, household.season, library=household.library)
    day = f"{packs.start:%a} {packs.start.day} {packs.start:%B}"
    assert f"is put by cold, packed on {day}" in " ".join(told.split())


def test_nothing_is_lost_where_there_is_time_enough(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    household = read_household(folder, was.start.date())
    _, stands = cut_session(household, before, clock(was, "19:10"), until=None)
    session = next(s for s in stands.sessions if s.uid == was.uid)
    assert (session.runs, session.end) == (was.runs, was.end)
    # Tasks may change places where the evening is as short either way, none may be begun anew.
    before_now = [t for t in was.tasks if t.start < clock(was, "19:10")]
    assert [t for t in session.tasks if t.start < clock(was, "19:10")] == before_now
    others = [[s for s in plan.sessions if s.uid != was.uid] for plan in (stands, before)]
    assert others[0] == others[1]


def test_what_cannot_be_is_said_with_the_way_out(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    household = read_household(folder, was.start.date())

    def refused(now: str, until: str | None) -> str:
        end = None if until is None else clock(was, until)
        with pytest.raises(NoValidPlan) as error:
            cut_session(household, before, clock(was, now), until=end)
        return str(error.value)

    assert "No session is going on at 17:00" in refused("17:00", None)
    assert "18:00 to" in refused("17:00", None)
    assert "is not after" in refused("19:10", "19:00")
    assert "window ends at 21:00" in refused("19:10", "21:30")
    told = refused("19:10", "19:40")
    assert "cannot be finished by 19:40" in told
    earliest = told.rpartition("--until ")[2].strip(".")
    _, stands = cut_session(household, before, clock(was, "19:10"), until=clock(was, earliest))
    session = next(s for s in stands.sessions if s.uid == was.uid)
    assert session.end <= clock(was, earliest)


def test_the_judge_sees_what_was_begun_moved(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    after = cut(folder, before, clock(was, "19:10"), until=clock(was, UNTIL))
    session = next(s for s in after.sessions if s.uid == was.uid)
    begun = next(t for t in session.tasks if t.step == "trim")
    late = begun.model_copy(update={"start": begun.start + dt.timedelta(seconds=30)})
    tasks = tuple(late if task == begun else task for task in session.tasks)
    other = session.model_copy(update={"tasks": tasks})
    spoiled = after.model_copy(
        update={"sessions": tuple(other if s == session else s for s in after.sessions)}
    )
    household = read_household(folder, was.start.date())
    found = check_plan(spoiled, household, before)
    assert any(f.code == "V11" and "was begun" in f.message for f in found)


def test_an_evening_cut_twice_keeps_what_the_first_cut_made(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    once = cut(folder, before, clock(was, "19:10"), until=clock(was, "20:55"))
    twice = cut(folder, once, clock(was, "19:12"), until=clock(was, "20:40"))
    session = next(s for s in twice.sessions if s.uid == was.uid)
    assert session.end <= clock(was, "20:40")
    assert next(s for s in once.sessions if s.uid == was.uid).end > clock(was, "20:40")
    tomorrow = plan_on(folder, was.start.date() + dt.timedelta(days=1), twice)
    done = next(s for s in tomorrow.sessions if s.uid == was.uid)
    assert (done.status, done.runs, done.tasks) == ("done", session.runs, session.tasks)


def test_whenever_it_is_cut_short_the_session_keeps_its_rules(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    cut_ones = cut_again = 0
    for was in plan.sessions:
        before = promised(plan, was.start.date())
        household = read_household(folder, was.start.date())
        minutes = range(11, int((was.end - was.start).total_seconds() / 60), 27)
        for now in (was.start + dt.timedelta(minutes=m) for m in minutes):
            for left in (31, 62, 93):
                until = min(now + dt.timedelta(minutes=left), was.window_end)
                if until <= now:
                    continue
                try:
                    _, stands = cut_session(household, before, now, until=until)
                except NoValidPlan as error:
                    assert "cannot be finished by" in str(error)
                    continue
                keeps_its_rules(household, before, stands)
                cut_ones += stands != before
                if stands != before:
                    cut_again += sum(
                        cut_once_more(
                            household, stands, was.uid, now=now, until=until, minutes=minutes
                        )
                        for minutes in ((8, 5), (8, 20), (25, 5), (40, 5))
                    )
    assert cut_ones >= 20
    assert cut_again > 10


def cut_once_more(
    household: Household,
    before: Plan,
    uid: str,
    now: dt.datetime,
    until: dt.datetime,
    minutes: tuple[int, int],
) -> bool:
    """Whether the evening cut at `now` can be cut again, so many minutes later and shorter."""
    session = next(s for s in before.sessions if s.uid == uid)
    later, end = now + dt.timedelta(minutes=minutes[0]), until - dt.timedelta(minutes=minutes[1])
    if session.status == "cancelled" or later >= min(session.end, end):
        return False
    try:
        _, stands = cut_session(household, before, later, until=end)
    except NoValidPlan as error:
        assert "cannot be finished by" in str(error)
        return False
    keeps_its_rules(household, before, stands)
    return stands != before


THREE_A_WEEK = " has 3 sessions; the limit is 2."


def keeps_its_rules(household: Household, before: Plan, stands: Plan) -> None:
    """The evening itself, be it cut again, breaks no rule."""
    found = check_plan(stands, household, before)
    # Picks, wants, shopping and freezer days are those of the season planned on, and so is how many
    # sessions a week has: what is packed the day after may be one more than was planned.
    whole = [f for f in found if f.code in ("V8", "V9", "V10", "V12") or THREE_A_WEEK in f.message]
    assert [f for f in found if f not in whole] == []
    own = ("go in", "go through", "are packed", "sitting", "is used", "are used")
    assert not [f for f in whole if any(words in f.message for words in own)]


@pytest.mark.parametrize(
    ("words", "told", "code"),
    [
        (("--until", "20:00"), "say from when with --now", 2),
        (("--behind", "15"), "say from when with --now", 2),
        (("--now", "soon"), '"soon" is no time of day', 2),
        (("--now", "19:10"), "There is no plan yet", 4),
    ],
)
def test_wrong_times_are_refused(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
    told: str,
    code: int,
) -> None:
    folder = folder_in(tmp_path / "season")
    line = ["harvestplan", "plan", "--in", str(folder), "--as-of", "2027-07-15", *words]
    monkeypatch.setattr(sys, "argv", line)
    with pytest.raises(SystemExit) as left:
        main()
    assert left.value.code == code
    assert told in " ".join(capsys.readouterr().err.replace("│", " ").split())
    if words[0] == "--now" and code == 4:
        assert not (folder / "out" / "plan.json").exists()


def test_running_late_what_is_begun_ends_later_and_the_rest_fits_what_is_left(
    spring: tuple[Path, Plan],
) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    late = dt.timedelta(minutes=20)
    now = clock(was, "19:10")
    after = cut(folder, before, now, until=None, behind=late)
    session = next(s for s in after.sessions if s.uid == was.uid)
    assert (session.cut_at, session.behind) == (now, 20 * 60)
    assert session.end <= session.window_end
    begun = {t.id: (t.start + late, t.end + late) for t in was.tasks if t.start + late < now}
    fixed = {t.id: (t.start, t.end) for t in session.tasks if t.start < now}
    assert begun == fixed
    # It stands as it was to stand 20 minutes before: nothing that was to begin since is begun.
    on_time = cut(folder, before, now - late, until=was.end - late)
    (there,) = (s for s in on_time.sessions if s.uid == was.uid)
    assert {t.id for t in there.tasks if t.start < now - late} == begun.keys()
    household = read_household(folder, was.start.date())
    told = cut_text(before, after, household.season, library=household.library)
    assert "Laid out again from 7:10 pm, 20 minutes late" in told
    assert any(f"{food_name(r.product)}: " in told for r in was.runs)


def test_later_still_the_same_evening(spring: tuple[Path, Plan]) -> None:
    folder, plan = spring
    was = session_with(plan, "dry bean, sealed")
    before = promised(plan, was.start.date())
    once = cut(folder, before, clock(was, "19:10"), until=None, behind=dt.timedelta(minutes=20))
    twice = cut(folder, once, clock(was, "19:50"), until=None, behind=dt.timedelta(minutes=10))
    on_time = cut(folder, twice, clock(was, "20:10"), until=clock(was, "20:58"))
    for plan_then, behind in ((once, 1200), (twice, 600)):
        session = next(s for s in plan_then.sessions if s.uid == was.uid)
        assert session.behind == behind
        assert session.end <= session.window_end
    session = next(s for s in on_time.sessions if s.uid == was.uid)
    assert session.end <= clock(was, "20:58")


def test_a_session_not_begun_in_time_is_not_over_at_its_planned_end(
    spring: tuple[Path, Plan],
) -> None:
    folder, plan = spring
    was = next(s for s in plan.sessions if [r.pouches for r in s.runs] == [4])
    before = promised(plan, was.start.date())
    household = read_household(folder, was.start.date())
    now = was.end + dt.timedelta(minutes=5)
    with pytest.raises(NoValidPlan, match="No session is going on"):
        cut_session(household, before, now, until=None)
    late = now - was.start  # nothing at all is begun
    after = cut(folder, before, now, until=None, behind=late)
    session = next(s for s in after.sessions if s.uid == was.uid)
    assert session.status == "cancelled" or min(t.start for t in session.tasks) >= now
