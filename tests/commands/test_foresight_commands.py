"""The commands that ask what would be: what they accept, print and leave alone, and how they end.

The small season's answers are reckoned by hand in `test_questions`: without the Saturday on which
the meat is bought six portions of priority 2 are lost. Exit codes: 2 for a
wrong command line, 3 for a file that needs mending, 4 where there is nothing to plan with.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from foresight.risk_folder import write_risk_folder
from foresight.what_if_folder import (
    ALL,
    AS_OF,
    MEAT_DAY,
    SHRIMP_DAY,
    WITHOUT_MEAT,
    WITHOUT_SHRIMP,
    about,
    write_folder,
    write_plan,
)

from harvestplan.commands.cli import main

Run = Callable[..., tuple[int, str, str]]
WAYS = (("household.hands=2",), ("--without", str(MEAT_DAY)), ("--what-helps",), ("--evenings",),
        ("--worth",))  # fmt: skip
"""The five things that compare can be asked."""
SHORT = "end = 2027-09-30", "end = 2027-08-15"
NO_WEATHER = '[weather]\ndaily = "weather.csv"\n', ""
NO_EVENINGS = ('[[window]]\ndays = ["tue", "thu", "sat"]\nstart = 17:00:00\nend = 21:00:00\n', "")


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command on a folder as of the season's day; exit code, and what it says, on one line
    where it speaks to people."""
    monkeypatch.setenv("COLUMNS", "200")

    def run(folder: Path, *words: str) -> tuple[int, str, str]:
        dated = () if "--as-of" in words else ("--as-of", str(AS_OF))
        monkeypatch.setattr("sys.argv", ["harvestplan", *words, "--in", str(folder), *dated])
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main()
        said = capsys.readouterr()
        return int(left.value.code or 0), said.out, " ".join(said.err.split())

    return run


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The season of meat, shrimp and dry beans with its plan."""
    folder = write_folder(tmp_path_factory.mktemp("season"))
    write_plan(folder)
    return folder


def past_years(folder: Path, *years: int) -> Path:
    """The folder with the weather of these years only."""
    file = folder / "weather.csv"
    head, *days = file.read_text(encoding="utf-8").splitlines()
    kept = [line for line in days if int(line[:4]) in years]
    file.write_text("\n".join([head, *kept]) + "\n", encoding="utf-8")
    return folder


def files(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


# compare.


@pytest.mark.parametrize(
    "words", [(), *(one + other for one, other in itertools.combinations(WAYS, 2))]
)
def test_one_thing_is_asked_at_a_time(run: Run, tmp_path: Path, words: tuple[str, ...]) -> None:
    """It is told before any file is read: the folder is empty."""
    code, out, err = run(tmp_path, "compare", *words)
    assert (code, out) == (2, "")
    assert "ask one thing at a time: CHANGE... (or --patch), --without, --what-helps" in err


@pytest.mark.parametrize("words", [*WAYS, ("--patch", "more.toml")])
def test_each_question_alone_is_read_and_then_the_files(
    run: Run, tmp_path: Path, words: tuple[str, ...]
) -> None:
    code, out, err = run(tmp_path, "compare", *words)
    assert (code, out) == (3, "") and "season" in err


def test_variants_from_files_come_first_and_stand_side_by_side(
    run: Run, folder: Path, tmp_path: Path
) -> None:
    """Three pounds of meat fewer are three portions of priority 2; half the shrimp, two portions of
    12 oz, is not worth an evening."""
    patch = tmp_path / "little.toml"
    patch.write_text(
        '[[bought]]\nitem = "minced meat"\namount = "3 lb"\non = 2027-06-05\nkeeps = "2 days"\n',
        encoding="utf-8",
    )
    before = files(folder)
    words = ("compare", "bought.shrimp.amount=1½ lb", "--patch", str(patch))
    code, out, err = run(folder, *words, "--json")
    assert code == 0 and err  # how far it is goes elsewhere, so that the answer can be read
    found = json.loads(out)["variants"]
    assert [each["name"] for each in found] == [
        "as it stands",
        str(patch),
        "bought.shrimp.amount=1½ lb",
    ]
    assert "1½" in out  # as it was written, not as an escape
    worth = [each["worth"] for each in found]
    assert worth == [about(ALL), about(ALL - 3 * 2), about(WITHOUT_SHRIMP)]
    code, out, err = run(folder, *words, "--quiet")
    assert (code, err) == (0, "")
    told = " ".join(out.split())
    assert f"A {patch} Puts by -3 minced meat, portioned." in told
    assert "B bought.shrimp.amount=1½ lb Puts by -4 shrimp, portioned." in told
    assert files(folder) == before


def test_a_day_left_out_is_told_by_the_households_clock(run: Run, tmp_path: Path) -> None:
    words = ("compare", "--without", str(MEAT_DAY), "--quiet")
    metric = (
        ('"The Lane"', '"T"\nmeasures = "metric"'),
        ('"8 qt"', '"8 L"'),
        ('"5 gal"', '"20 L"'),
    )
    for name, changes, hour in (("US", (), "1:00 pm"), ("metric", metric, "13:00")):
        folder = write_folder(tmp_path / name, *changes)
        code, out, err = run(folder, *words)
        assert (code, err) == (0, "")
        told = " ".join(out.split())
        assert f"Without Sat 5 June 2027, {hour} Lost: 6 portions of minced meat" in told
        worth = re.search(r"worth (\S+) portions with it, (\S+) without, the toil", told)
        assert worth and [float(each) for each in worth.groups()] == [
            about(ALL),
            about(WITHOUT_MEAT),
        ]
        assert not (folder / "out").exists()


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (("compare", "--without", "June"), "--without"),
        (("compare", "--evenings", "--as-of", "June"), "--as-of"),
        (("risk", "--as-of", "June"), "--as-of"),
        (("sowing", "--as-of", "June"), "--as-of"),
        (("plan", "--explain", "x", "--as-of", "June"), "--as-of"),
    ],
)
def test_what_is_no_date_is_named_with_its_option(
    run: Run, folder: Path, words: tuple[str, ...], option: str
) -> None:
    code, out, err = run(folder, *words)
    assert (code, out) == (2, "")
    told = f'{option}: I cannot read "june" as a date. Write it like 15 May, or 2027-05-15.'
    assert told in " ".join(err.split())


def test_the_day_it_is_asked_as_of_counts(run: Run, folder: Path) -> None:
    """On the day after the meat was to be frozen it is not there to be lost any more."""
    later = ("--as-of", str(MEAT_DAY.replace(day=6)), "--quiet", "--json")
    code, out, _ = run(folder, "compare", "--without", str(SHRIMP_DAY), *later)
    assert (code, json.loads(out)["lost"]) == (0, about(ALL - WITHOUT_SHRIMP))
    code, out, err = run(folder, "compare", "--without", str(MEAT_DAY), *later)
    assert (code, out) == (2, "")
    assert err == f"There is no kitchen time on {MEAT_DAY} to do without."


def test_the_curve_is_drawn(run: Run, folder: Path) -> None:
    """On one evening the meat and the beans."""
    before = files(folder)
    code, out, err = run(folder, "compare", "--evenings")
    assert code == 0 and err
    rows = [line.split()[:3] for line in out.splitlines()[1:4]]
    assert [row[:2] for row in rows] == [["0", "0"], ["1", "14"], ["2", "18"]]
    worth = [0, about(WITHOUT_SHRIMP), about(ALL)]
    assert [float(row[2]) for row in rows] == worth
    assert "Wanted: 18 portions" in out
    assert files(folder) == before


def test_what_helps_is_listed_for_programs(run: Run, folder: Path) -> None:
    """All is put by on two evenings, so that nothing more can help."""
    code, out, err = run(folder, "compare", "--what-helps", "--json", "--quiet")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert (found["base"]["worth"], found["base"]["planned"]) == (about(ALL), 18)
    assert found["helps"] and max(each["gain"] for each in found["helps"]) == about(0)


def test_worth_is_kept_and_told_to_programs(run: Run, tmp_path: Path) -> None:
    folder = write_folder(tmp_path)
    code, out, err = run(folder, "compare", "--worth", "--quiet")
    assert (code, out) == (2, "")
    assert err == "There is no plan yet. Make one with: harvestplan plan"
    assert not (folder / "out" / "worth.json").exists()
    write_plan(folder)
    plan = (folder / "out" / "plan.json").read_bytes()
    code, out, err = run(folder, "compare", "--worth", "--quiet", "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    lost = {each["start"][:10]: each["lost"] for each in found["sessions"]}
    assert lost == {
        str(MEAT_DAY): about(ALL - WITHOUT_MEAT),
        str(SHRIMP_DAY): about(ALL - WITHOUT_SHRIMP),
    }
    assert json.loads((folder / "out" / "worth.json").read_bytes()) == found
    assert (folder / "out" / "plan.json").read_bytes() == plan
    book = (folder / "out" / "book.html").read_text(encoding="utf-8")
    assert "Without this session you lose 6 portions of minced meat" in book


# plan --explain.


def test_a_session_is_explained_and_nothing_is_planned(run: Run, folder: Path) -> None:
    before = files(folder)
    code, out, err = run(folder, "plan", "--explain", str(SHRIMP_DAY), "--quiet")
    assert (code, err) == (0, "")
    told = " ".join(out.split())
    assert "Without Sat 12 June 2027, 1:00 pm Lost: 4 portions of shrimp" in told
    _, out, _ = run(folder, "plan", "--explain", str(SHRIMP_DAY), "--quiet", "--json")
    assert json.loads(out)["lost"] == about(ALL - WITHOUT_SHRIMP)
    code, out, err = run(folder, "plan", "--explain", "2027-06-04", "--quiet")
    assert (code, out) == (2, "")
    assert err == ('No session ahead goes by "2027-06-04". They are on: 2027-06-05, 2027-06-12.')
    assert files(folder) == before


# risk.


def test_risk_is_told_with_its_seed_and_writes_nothing(run: Run, tmp_path: Path) -> None:
    folder = past_years(write_risk_folder(tmp_path, SHORT), 2019, 2020)
    before = files(folder)
    code, out, err = run(folder, "risk", "--seed", "5")
    assert code == 0 and err
    told = " ".join(out.split())
    assert "The season from Thu 20 May 2027 on" in told
    assert "tried in the weather of 2 years (2019 to 2020)" in told
    assert "(seed 5)" in told and "given away" in told and " lb" in told
    code, out, err = run(folder, "risk", "--quiet", "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert (found["seed"], found["as_of"], found["years"]) == (1, str(AS_OF), [2019, 2020])
    assert files(folder) == before


# sowing.


def test_sowing_tries_as_often_as_it_is_told(run: Run, tmp_path: Path) -> None:
    """60 pouches are wanted of beans for some 20: with half as many again fewer are short."""
    hungry = 'portions = 8\nportion = "12 oz"', 'portions = 60\nportion = "12 oz"'
    folder = past_years(write_risk_folder(tmp_path, SHORT, hungry), 2019, 2020, 2021)
    before = files(folder)
    code, out, err = run(folder, "sowing", "--tries", "1", "--seed", "3", "--quiet", "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert (found["seed"], sorted(found["years"])) == (3, [2019, 2020, 2021])
    assert (found["moved"], found["elsewhere"]) == (["beans-1"], None)
    assert found["tries"] == 2  # a planting is given two amounts at once
    assert found["after"]["short"] < found["before"]["short"]
    code, out, err = run(folder, "sowing", "--tries", "1", "--seed", "3")
    assert code == 0 and "2 of 1" not in err and "weighted portions short" in err
    assert "2 sowings were tried (seed 3)" in " ".join(out.split())
    assert 'row = "45 ft"' in out  # half as much again as the 30 ft written, in the same measures
    assert files(folder) == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("risk", "--seed", "-1"), "--seed"),
        (("risk", "--tries", "3"), "--tries"),
        (("sowing", "--seed", "-1"), "--seed"),
        (("sowing", "--tries", "0"), "--tries"),
        (("sowing", "--tries", "2001"), "--tries"),
        (("compare", "--evenings", "--seed", "1"), "--seed"),
    ],
)
def test_numbers_out_of_range_and_options_of_other_commands_are_refused(
    run: Run, tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    code, out, err = run(tmp_path, *words)
    assert (code, out) == (2, "") and told in err


@pytest.mark.parametrize("command", ["risk", "sowing"])
def test_without_weather_or_evenings_there_is_nothing_to_try(
    run: Run, tmp_path: Path, command: str
) -> None:
    code, out, err = run(write_risk_folder(tmp_path / "a", NO_WEATHER), command, "--quiet")
    assert (code, out) == (3, "") and "past years" in err
    code, out, err = run(write_risk_folder(tmp_path / "b", NO_EVENINGS), command, "--quiet")
    assert (code, out) == (4, "") and "no free time" in err


def test_two_years_are_too_few_to_choose_a_sowing_by(run: Run, tmp_path: Path) -> None:
    folder = past_years(write_risk_folder(tmp_path), 2019, 2020)
    code, out, err = run(folder, "sowing", "--quiet")
    assert (code, out) == (4, "")
    assert err == "Fewer than three past years in the weather file cover the season."


@pytest.mark.parametrize(
    ("command", "says"),
    [
        ("compare", ("pot.big kettle=+1", "Nothing is written, except by --worth")),
        ("risk", ("every past year", "Nothing is written")),
        ("sowing", ("[[planting]] tables to copy", "Nothing is written")),
    ],
)
def test_help_says_what_is_written(
    run: Run, tmp_path: Path, command: str, says: tuple[str, ...]
) -> None:
    code, out, _ = run(tmp_path, command, "--help")
    assert code == 0
    assert all(each in " ".join(out.split()) for each in says)
