"""The methods compared are what they claim to be, and all are judged alike."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from benchmarks.compare_methods import draw, season_table, session_table, session_timings
from benchmarks.general_library import solve_generally
from benchmarks.judged_times import faults
from benchmarks.plain_model import plain_plan
from benchmarks.published import job_shops, projects
from benchmarks.season_runs import Run, Step, Worth, is_sound, run, worth_of
from benchmarks.seasons import Instance, big, household, shared

from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice


@pytest.mark.parametrize("season", [household(1), household(2), shared(2)], ids=lambda s: s.name)
def test_the_plan_made_by_hand_is_sound(season: Instance) -> None:
    problem = season.problem()
    choice = plan_by_hand(state_rules(problem), TimedSessions(problem, 1))
    assert choice.pouches
    assert is_sound(problem, choice)


def test_by_hand_what_goes_off_first_is_put_by_first() -> None:
    """The first run written down is of the food with the earliest last day in that window."""
    problem = household(1).problem()
    choice = plan_by_hand(state_rules(problem), TimedSessions(problem, 1))
    first = problem.options[next(iter(choice.pouches))]
    there = [o for o in problem.options if o.first == first.first and o.second is None]
    last = {o.number: min(problem.lots[i].keep_until for i in o.lots) for o in there}
    assert last[first.number] == min(last.values())


def test_what_breaks_a_rule_is_not_sound() -> None:
    problem = household(1).problem()
    choice = plan_by_hand(state_rules(problem), TimedSessions(problem, 1))
    number, pouches = max(choice.pouches.items(), key=lambda item: item[1])
    assert not is_sound(problem, Choice({**choice.pouches, number: pouches + 1}, choice.shares))
    unfed = {**choice.shares, number: {}}
    assert not is_sound(problem, Choice(choice.pouches, unfed))


@pytest.mark.slow
def test_the_plain_model_finds_sound_plans_only() -> None:
    problem = household(1).problem()
    found: list[Choice] = []
    plain_plan(problem, TimedSessions(problem, 1), 40.0, seed=1, found=found.append)
    assert found
    assert is_sound(problem, found[-1])


@pytest.mark.slow
@pytest.mark.parametrize("seed", [3, 4, 5])
def test_of_thirty_foods_the_plan_is_near_its_bound(seed: int) -> None:
    problem = big(seed).problem()
    solved = solve_season(problem, TimedSessions(problem, 1), Effort(nodes=150, nearby=10.0))
    assert solved.gap <= 0.1


@pytest.mark.parametrize("name", ["ft06", "la01", "j30_1_1", "j30_1_8"])
def test_the_library_solves_the_same_problem(name: str) -> None:
    asked, makespan = (job_shops() | projects())[name]
    answer = solve_generally(asked, 600.0, 1)
    assert answer.times is not None
    assert faults(asked, answer.times) == []
    assert max(answer.times[t.key].start + t.seconds for t in asked.tasks) == makespan


@pytest.mark.slow
def test_evenings_are_laid_out_alike() -> None:
    timings = [t for t in session_timings(1, 5.0) if t.group == "evenings"]
    assert all(each.sound for each in timings)
    by_name: dict[str, set[int | None]] = {}
    for each in timings:
        by_name.setdefault(each.name, set()).add(each.length if each.proven else None)
    assert all(len(lengths - {None}) <= 1 for lengths in by_name.values())
    assert session_table(timings).count("\n") == 3


def test_a_run_in_its_own_process_is_judged_outside_it() -> None:
    by_hand = run("household", "by hand", 1, limit=600.0)
    problem = household(1).problem()
    rows = state_rules(problem)
    expected = worth_of(
        problem, worth_of_season(rows), plan_by_hand(rows, TimedSessions(problem, 1))
    )
    assert by_hand.best == expected
    assert by_hand.sound
    assert by_hand.first is not None
    assert 0 < by_hand.first.seconds <= by_hand.finished


def test_tables_hold_median_and_worst(tmp_path: Path) -> None:
    nothing = Worth(0.0, 9, 0, visits=0, runs=0, small=0, age=0.0)
    some = Worth(-4.0, 5, 3, visits=1, runs=4, small=1, age=2.5)
    runs = [
        Run(
            "household",
            "by hand",
            seed,
            steps=[Step(0, 0, nothing), Step(seed / 10, seed / 5, worth)],
            finished=2.0,
            sound=True,
        )
        for seed, worth in enumerate((some, some, dataclasses.replace(some, missed=7)), start=1)
    ]
    table = season_table(runs)
    assert (
        "| household | by hand | 3 | 3 | 4.0, 4.0 | 5.0, 7.0 | 3.0, 3.0 | 1.0, 1.0 | 25.0, 25.0 % "
        "| 2.5, 2.5 | 0.2, 0.3 | 0.4, 0.6" in table
    )
    draw(runs, 60.0, tmp_path / "picture.png")
    assert (tmp_path / "picture.png").read_bytes().startswith(b"\x89PNG")
    assert Run("household", "by hand", 1, steps=[Step(0, 0, nothing)]).first is None
