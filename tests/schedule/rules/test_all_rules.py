"""Every rule of the register states rows that say what they are of; none is there for nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from schedule.drawn_problems import drawn_problem
from schedule.small_problems import DRY, two_foods

from harvestplan.schedule.rules import cuts
from harvestplan.schedule.rules.all_rules import RULES, state_rules
from harvestplan.schedule.rules.row import Row
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Cut
from harvestplan.schedule.statement.problem import Pinned, Problem

SEEDS = range(25)


def problems() -> list[Problem]:
    """Problems drawn by chance, with a run that the household moved where there is any, and some
    with food that was bought."""
    found = []
    for seed in SEEDS:
        stated = drawn_problem(seed, *((DRY,) if seed % 5 == 0 else ()))
        pinned = tuple(Pinned(o.first, o.demand, False, pouches=1) for o in stated.options[:1])
        found.append(replace(stated, pinned=pinned))
    return found


def shown(rows: Sequence[Row]) -> list[Row]:
    """The rows without the functions that reckon what runs take: no two of those are equal."""
    return [replace(row, runs=tuple(replace(run, exact=len) for run in row.runs)) for row in rows]


def test_every_rule_states_rows_of_its_own() -> None:
    added: dict[str, list[Row]] = {}
    for stated in problems():
        season = SeasonRows(stated)
        for rule in RULES:
            before = len(season.rows)
            rule(season)
            added.setdefault(rule.__name__, []).extend(season.rows[before:])
        assert shown(season.rows) == shown(state_rules(stated).rows)
    assert added.keys() == {rule.__name__ for rule in RULES}
    assert [name for name, rows in added.items() if not rows] == []
    names: dict[str, set[str]] = {name: {row.rule for row in rows} for name, rows in added.items()}
    shared = [
        (one, other)
        for one in names
        for other in names
        if one < other and names[one] & names[other]
    ]
    # A run's last pouch and that of all that was bought are one rule in two steps.
    assert shared == [("limit_part_full", "state_shares")]


def test_every_row_says_what_it_is_of_and_with_a_reason_it_is_a_limit() -> None:
    for seed, stated in enumerate(problems()):
        season = state_rules(stated)
        numbers = range(len(season.variables))
        for row in season.rows:
            assert row.rule and row.of, (seed, row)
            assert row.most is not None or row.least is not None, (seed, row)
            assert row.most is not None or not row.reason, (seed, row)
            assert row.reason or not row.runs, (seed, row)
            assert all(number in numbers for number in season.linear(row)), (seed, row)
            assert all(run.option < len(stated.options) for run in row.runs), (seed, row)
        assert all(variable.least <= variable.most for variable in season.variables), seed


def test_cuts_come_last() -> None:
    stated = two_foods()
    cut = Cut(((0, "whole", 4), (1, "whole", 3)), stated.length(0), 2, proven=True)
    without, season = state_rules(stated), state_rules(stated, (cut,))
    assert shown(season.rows[: len(without.rows)]) == shown(without.rows)
    added = season.rows[len(without.rows) :]
    assert added and {row.rule for row in added} == {cuts.RULE}
