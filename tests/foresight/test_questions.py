"""Questions asked of a small season whose answers can be reckoned by hand.

Six pounds of meat keep for two days from Saturday 5 June (six portions, priority 2), three pounds
of shrimp for one day from Saturday 12 June (four portions of 12 oz). The windows are Wednesdays and
Saturdays, so each food has one session only; the dry beans (eight portions) keep and can be put by
on any day. What that is worth stands at `what_if_folder.ALL`.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
from foresight.what_if_folder import (
    ALL,
    AS_OF,
    EVENING,
    FOOD,
    MEAT_DAY,
    SHRIMP_DAY,
    WITHOUT_MEAT,
    WITHOUT_SHRIMP,
    about,
    write_folder,
    write_plan,
)

from harvestplan.commands.cli import main
from harvestplan.errors import FilesNeedMending
from harvestplan.foresight.answers import SAME, Outlook, Worth
from harvestplan.foresight.changes import read_variant
from harvestplan.foresight.compare import compare
from harvestplan.foresight.curve import session_curve
from harvestplan.foresight.each_session import session_worth
from harvestplan.foresight.helps import one_more, what_helps
from harvestplan.foresight.losses import NotThereError, loss_without_day, loss_without_session
from harvestplan.foresight.worth_file import read_worth, worth_words, write_worth
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.what_if_text import (
    compare_text,
    curve_text,
    helps_text,
    loss_text,
    worth_text,
)
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file import read_plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Solved, solve_season

MEAT, SHRIMP, BEANS = "minced meat, portioned", "shrimp, portioned", "dry bean, sealed"
NO_MEAT = 'amount = "6 lb"', 'amount = "1 lb"'


def silent(text: str) -> None:
    pass


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_folder(tmp_path_factory.mktemp("season"))
    write_plan(folder)
    return folder


@pytest.fixture(scope="module")
def found(folder: Path) -> tuple[Outlook, ...]:
    variants = ["window.sat=none", "bought.minced meat.amount=2 lb", "season.max_sessions=0"]
    return compare(folder, AS_OF, [read_variant(text) for text in variants], say=silent)


@pytest.fixture(scope="module")
def worth(folder: Path) -> Worth:
    return session_worth(folder, AS_OF, silent)


def portions(outlook: Outlook) -> dict[str, int]:
    return {p.product: p.portions for p in outlook.products}


def test_the_season_as_it_stands_is_the_written_plan(
    folder: Path, found: tuple[Outlook, ...]
) -> None:
    plan = read_plan(folder / "out" / "plan.json")
    base = found[0]
    assert (
        portions(base)
        == {w.product: w.planned for w in plan.wants}
        == {
            MEAT: 6,
            SHRIMP: 4,
            BEANS: 8,
        }
    )
    assert (base.worth, base.planned, base.wanted) == (about(ALL), 18, 18)
    assert base.worth <= base.bound <= ALL + 1e-6 and base.proven
    assert base.evenings == len(plan.sessions) == 2
    assert base.cost == pytest.approx(sum(s.price or 0 for s in plan.shopping if s.buy))
    fullest = max(row.used_ml / row.capacity_ml for row in plan.freezer)
    assert base.freezer is not None and base.freezer.share == pytest.approx(fullest, abs=1e-4)
    seconds = sum(
        t.hands * (t.end - t.start).total_seconds() for s in plan.sessions for t in s.tasks
    )
    assert base.minutes == pytest.approx(seconds / 60, abs=0.51)


def test_variants_stand_beside_it(found: tuple[Outlook, ...]) -> None:
    _, no_saturdays, little_meat, nothing = found
    # Meat and shrimp are gone before the next Wednesday.
    assert portions(no_saturdays) == {MEAT: 0, SHRIMP: 0, BEANS: 8}
    assert no_saturdays.worth == about(8 - EVENING - FOOD)
    # Two pounds are no batch worth starting for (ceil(907 g / 454 g) = 3 packs of a pound, as the
    # scraps go): the pack that is missing counts as twice a food started, by the want's priority of
    # 2, and so two packs are not worth their evening.
    assert portions(little_meat)[MEAT] == 0
    assert 2 * 2 - FOOD - 2 * 2 * FOOD < EVENING
    assert little_meat.worth == about(WITHOUT_MEAT)
    assert (nothing.planned, nothing.evenings, nothing.worth, nothing.bound) == (0, 0, 0, 0)
    assert all(each.proven for each in found)


def test_answers_repeat(folder: Path, found: tuple[Outlook, ...]) -> None:
    variants = [read_variant(each.name) for each in found[1:]]
    assert compare(folder, AS_OF, variants, say=silent) == found


def test_the_text_tells_each_variant(found: tuple[Outlook, ...]) -> None:
    told = compare_text(found)
    assert "A  window.sat=none" in told
    assert f"-6 {MEAT} and -4 {SHRIMP}" in " ".join(told.split())
    assert all(len(line) <= 78 for line in told.splitlines())


def test_half_an_answer_is_none(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C may end a search with the best so far; a comparison with that would mislead."""

    def stopped(*asked: Any, **more: Any) -> Solved:
        solved = solve_season(*asked, **more)
        vars(solved)["stopped"] = True
        return solved

    monkeypatch.setattr("harvestplan.foresight.asking.solve_season", stopped)
    with pytest.raises(KeyboardInterrupt):
        compare(folder, AS_OF, [read_variant("household.hands=2")], say=silent)


def test_a_flawed_change_is_refused_before_anything_is_solved(folder: Path) -> None:
    said: list[str] = []
    variants = [read_variant("freezer.big.volume=1 L"), read_variant("household.hands=two")]
    with pytest.raises(FilesNeedMending) as caught:
        compare(folder, AS_OF, variants, say=said.append)
    assert len(caught.value.flaws) == 2 and not said


def test_a_variant_without_a_plan_says_why(folder: Path) -> None:
    _, none = compare(folder, AS_OF, [read_variant("window=none")], say=silent)
    assert none.trouble is not None and "no free time" in none.trouble
    assert "There is no plan" in compare_text((none, none))


def test_what_a_day_is_worth_is_what_only_that_day_can_do(folder: Path) -> None:
    loss = loss_without_day(folder, AS_OF, MEAT_DAY, say=silent)
    assert {p.product: p.portions for p in loss.products} == {MEAT: 6}
    assert (loss.worth_with, loss.worth_without) == (about(ALL), about(WITHOUT_MEAT))
    # Twelve portions by priority, less an evening and a food started.
    assert loss.lost == about(6 * 2 - EVENING - FOOD)
    assert loss.least <= loss.lost <= loss.most <= loss.least + 2 * SAME
    assert loss.current
    other = loss_without_day(folder, AS_OF, dt.date(2027, 6, 23), say=silent)
    assert other.products == () and other.most <= SAME


def test_a_skipped_session_is_named_by_date_or_uid(folder: Path) -> None:
    plan = read_plan(folder / "out" / "plan.json")
    session = next(s for s in plan.sessions if s.start.date() == SHRIMP_DAY)
    by_date = loss_without_session(folder, AS_OF, SHRIMP_DAY.isoformat(), say=silent)
    assert by_date == loss_without_session(folder, AS_OF, session.uid[:8], say=silent)
    assert by_date.least == about(4 - EVENING - FOOD) == by_date.most
    beans = [r for s in plan.sessions if s is session for r in s.runs if r.product == BEANS]
    moved = sum(m.portions for m in by_date.moves if m.product == BEANS)
    assert moved == sum(run.pouches for run in beans)
    told = loss_text(by_date, "US")
    assert "Lost: 4 portions of shrimp." in told


def test_a_day_or_session_that_is_not_there(folder: Path) -> None:
    with pytest.raises(NotThereError, match="no kitchen time"):
        loss_without_day(folder, AS_OF, dt.date(2027, 6, 4), say=silent)
    with pytest.raises(NotThereError, match="2027-06-05"):
        loss_without_session(folder, AS_OF, "2027-06-04", say=silent)


def test_the_curve_never_falls_and_ends_at_the_plan(folder: Path) -> None:
    curve = session_curve(folder, AS_OF, silent)
    assert [p.evenings for p in curve.points] == [0, 1, 2]
    worth = [0, about(WITHOUT_SHRIMP), about(ALL)]  # meat and beans on one evening
    assert [p.worth for p in curve.points] == worth
    assert [p.bound for p in curve.points] == worth
    assert [p.portions for p in curve.points] == [0, 14, 18]
    bars = [line.count("█") for line in curve_text(curve).splitlines()[1:4]]
    assert bars == [0, round(40 * WITHOUT_SHRIMP / ALL), 40]


def test_what_helps_is_ranked_and_bounded(tmp_path: Path) -> None:
    # A freezer with room for four pounds: the meat comes first, of the rest there is no room.
    folder = write_folder(tmp_path, ('volume = "5 cu ft"', 'volume = "1.1 cu ft"'))
    found = what_helps(folder, AS_OF, silent)
    assert found.helps[0].change == "freezer.chest.volume=+100 L"
    # With all the room there is as much as in the season with the larger freezer.
    assert found.helps[0].gain == about(ALL - found.base.worth)
    assert found.helps[0].gain > 1
    gains = [each.gain for each in found.helps]
    assert gains == sorted(gains, reverse=True)
    assert all(h.least <= h.gain <= h.most for h in found.helps if h.trouble is None)
    told = helps_text(found)
    assert "100 L of freezer" in told and "Proven not to help" in told


def test_every_idea_of_the_list_is_a_change_that_can_be_made(folder: Path) -> None:
    from harvestplan.foresight.asking import refuse_flawed

    season = load_season(folder, load_library()).season
    ideas = list(one_more(season))
    assert len(ideas) >= 7
    refuse_flawed(folder, [read_variant(idea.change) for idea in ideas])


def test_worth_is_told_in_book_and_calendar_and_keeps_the_plan(tmp_path: Path) -> None:
    folder = write_folder(tmp_path)
    plan = write_plan(folder)
    out = folder / "out"
    written = (out / "plan.json").read_bytes()
    worth = session_worth(folder, AS_OF, silent)
    lost = {each.start.date(): (each.least, each.lost) for each in worth.sessions}
    meat, shrimp = about(6 * 2 - EVENING - FOOD), about(4 - EVENING - FOOD)
    assert lost == {MEAT_DAY: (meat, meat), SHRIMP_DAY: (shrimp, shrimp)}
    write_worth(worth, out)
    household = read_household(folder, AS_OF)
    write_outputs(plan, household.season, household.library, out=out)
    assert (out / "plan.json").read_bytes() == written
    sentence = f"Without this session you lose 6 portions of {MEAT}"
    assert sentence in (out / "book.html").read_text(encoding="utf-8")
    calendar = (out / "sessions.ics").read_bytes()
    assert sentence in calendar.replace(b"\r\n ", b"").decode().replace("\\,", ",")
    assert sentence in " ".join(worth_text(worth, "US").split())
    # A replan without news keeps plan, worth, book and calendar, byte for byte.
    book = (out / "book.html").read_bytes()
    again = make_plan(household, AS_OF, read_plan(out / "plan.json"), effort=Effort(), say=silent)
    write_outputs(again, household.season, household.library, out=out)
    assert (out / "plan.json").read_bytes() == written
    assert (out / "book.html").read_bytes() == book
    assert (out / "sessions.ics").read_bytes() == calendar


def test_worth_of_another_plan_is_never_told(folder: Path, worth: Worth, tmp_path: Path) -> None:
    plan = read_plan(folder / "out" / "plan.json")
    write_worth(worth, tmp_path)
    assert set(read_worth(plan, tmp_path)) == {s.uid for s in plan.sessions}
    other = plan.model_copy(update={"as_of": AS_OF + dt.timedelta(days=1)})
    assert not read_worth(other, tmp_path)
    (tmp_path / "worth.json").write_text("{torn", encoding="utf-8")
    assert not read_worth(plan, tmp_path)


def test_worth_words_tell_what_is_certain(worth: Worth) -> None:
    session = worth.sessions[0]
    assert "you lose 6 portions" in worth_words(session)
    unsure = session.model_copy(update={"least": 2.0})
    assert "at most" in worth_words(unsure) and "for certain" in worth_words(unsure)
    free = session.model_copy(update={"lost": 0.0, "least": 0.0, "portions": ()})
    assert "nothing is lost" in worth_words(free)
    toil = session.model_copy(update={"lost": 2.0, "least": 2.0, "portions": ()})
    assert "as much is put by" in worth_words(toil)
    assert worth_words(toil).endswith("the plan is worth 2.0 portions less.")
    maybe = toil.model_copy(update={"least": 0.0})
    assert worth_words(maybe).endswith("the plan is worth 2.0 portions less at most.")
    spared = session.model_copy(update={"lost": 0.0, "least": 0.0})
    assert "you lose 6 portions" in worth_words(spared)
    assert worth_words(spared).endswith("and are spared as much in toil.")


def test_worth_of_a_plan_that_no_longer_holds_is_refused(tmp_path: Path) -> None:
    folder = write_folder(tmp_path)
    with pytest.raises(NotThereError, match="no plan yet"):
        session_worth(folder, AS_OF, silent)
    write_plan(folder)
    write_folder(tmp_path, NO_MEAT)
    with pytest.raises(NotThereError, match="have changed"):
        session_worth(folder, AS_OF, silent)


def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str
) -> tuple[int, str, str]:
    monkeypatch.setattr("sys.argv", ["harvestplan", *words])
    capsys.readouterr()
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    return int(left.value.code or 0), said.out, said.err


def test_the_command_speaks_json_and_keeps_its_hands_off_the_plan(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    common = ("--in", str(folder), "--as-of", AS_OF.isoformat(), "--json", "--quiet")
    before = {p: p.read_bytes() for p in (folder / "out").rglob("*") if p.is_file()}
    code, out, err = run(capsys, monkeypatch, "compare", "household.hands=+1", *common)
    assert (code, err) == (0, "")
    assert [each["name"] for each in json.loads(out)["variants"]] == [
        "as it stands",
        "household.hands=+1",
    ]
    code, out, _ = run(capsys, monkeypatch, "compare", "--without", str(MEAT_DAY), *common)
    assert json.loads(out)["lost"] == about(6 * 2 - EVENING - FOOD)
    code, out, _ = run(capsys, monkeypatch, "compare", "--evenings", *common)
    points = [p["worth"] for p in json.loads(out)["points"]]
    assert points == [0, about(WITHOUT_SHRIMP), about(ALL)]
    code, out, _ = run(capsys, monkeypatch, "plan", "--explain", str(SHRIMP_DAY), *common)
    assert json.loads(out)["lost"] == about(4 - EVENING - FOOD)
    assert {p: p.read_bytes() for p in (folder / "out").rglob("*") if p.is_file()} == before


def test_the_command_writes_worth_and_lists_what_helps(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_folder(tmp_path)
    plan = write_plan(folder)
    common = ("--in", str(folder), "--as-of", AS_OF.isoformat())
    code, out, err = run(capsys, monkeypatch, "compare", "--worth", *common)
    assert code == 0 and f"you lose 6 portions of {MEAT}" in " ".join(out.split())
    assert "2 sessions are left out" in err
    assert len(read_worth(plan, folder / "out")) == 2
    code, out, _ = run(capsys, monkeypatch, "compare", "--what-helps", "--quiet", *common)
    assert code == 0 and "Proven not to help" in out
    assert all(len(line) <= 78 for line in out.split("To see one")[0].splitlines())


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        ((), 2, "one thing at a time"),
        (("--evenings", "--worth"), 2, "one thing at a time"),
        (("--without", "some day"), 2, "as a date"),
        (("--without", "2027-06-04"), 2, "no kitchen time"),
        (("frezer.volume=1 L",), 3, 'Did you mean "freezer"'),
        (("--patch", "nowhere.toml"), 3, "nowhere.toml"),
    ],
)
def test_wrong_questions_are_told_in_words(
    folder: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
    code: int,
    told: str,
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    common = ("--in", str(folder), "--as-of", AS_OF.isoformat())
    left, _, err = run(capsys, monkeypatch, "compare", *words, *common)
    assert left == code
    assert told in " ".join(err.split())
