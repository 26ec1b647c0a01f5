"""What the rows leave, asked step by step, against the solver that sees them all at once.

Problems are drawn by chance (see drawn_problems). Whatever is allowed, the whole season's model
allows; what is forbidden is really forbidden by the row that is named, and would not be without.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

from ortools.sat.python import cp_model
from schedule.drawn_problems import drawn_problem
from schedule.program_in_cp_sat import in_cp_sat
from schedule.small_problems import BEANS, LIBRARY, PACK, RAW, bean_lots, beans, problem, window
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.draws import Draw
from harvestplan.kitchen.process import Process
from harvestplan.schedule.rules import sessions, space
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.rules.row import Row, Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.rules.slack import Slack
from harvestplan.schedule.search.conversion import values_of
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.program import Bounds, Program
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Option, Problem

SEEDS = range(120)
NAMED = {
    "dryer",
    "freezer space",
    "freezing in 24 hours",
    "freezing trays",
    "hands",
    "machine",
    "one run",
    "sessions",
    "wants",
}
"""Rules that are asked for pouches; supply and the fridge are asked for food."""


class Walk:
    """A season made step by step, as much of each run as food and rows allow."""

    def __init__(self, stated: Problem) -> None:
        self.problem = stated
        self.season = state_rules(stated)
        self.slack = Slack(self.season)
        self.choice = Choice({}, {})

    def food(self, option: Option, wanted: int) -> dict[int, int]:
        """Grams of each lot for so many pouches, as far as they go."""
        need = self.process(option).raw(wanted)
        taken: dict[int, int] = {}
        for lot in option.lots:
            share = self.share(option, lot)
            left = self.slack.food_left(share, {self.share(option, n): g for n, g in taken.items()})
            assert left is not None
            if grams := min(need, left):
                taken[lot] = grams
                need -= grams
        return taken

    def with_run(self, option: Option, pouches: int, food: dict[int, int]) -> Choice:
        """The choice with the run beside what is made."""
        whole = self.process(option).raw(pouches)
        taken = {}
        for lot, grams in food.items():
            taken[lot] = min(whole, grams)
            whole -= taken[lot]
        assert whole == 0
        number = option.number
        return Choice(
            {**self.choice.pouches, number: pouches},
            {**self.choice.shares, number: {lot: g for lot, g in taken.items() if g}},
        )

    def make(self, option: Option, pouches: int, food: dict[int, int]) -> None:
        """Writes the run down."""
        self.choice = self.with_run(option, pouches, food)
        taken = self.choice.shares[option.number]
        self.slack.put(option, pouches, {self.share(option, n): g for n, g in taken.items()})

    def process(self, option: Option) -> Process:
        return self.problem.demands[option.demand].process

    def share(self, option: Option, lot: int) -> int:
        head = self.season.groups[option.demand, option.first, option.second][0]
        return self.season.share[head.number, lot]


def possible(season: SeasonRows, choice: Choice, *limits: Row) -> bool:
    """Whether there are values of all variables for the choice that say what they mean and keep the
    limits, with what runs take of them to the second. Food and stock have no other bounds: theirs
    take other rules for granted."""
    rows = [Bounds(row.terms, row.least, row.most) for row in season.rows if not row.reason]
    for row in limits:
        taken = sum(run.exactly(choice.pouches.get(run.option, 0)) for run in row.runs)
        assert row.most is not None
        rows.append(Bounds(row.terms, row.least, row.most - taken))
    rows += [Bounds({n: 1}, value, value) for n, value in values_of(season, choice).items()]
    variables = [
        replace(v, most=10**6) if v.name.startswith(("share", "stock")) else v
        for v in season.variables
    ]
    model, _ = in_cp_sat(Program(variables, rows, Sum({})))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return bool(status == cp_model.OPTIMAL)


def test_what_it_allows_the_solver_allows_and_what_it_names_is_broken() -> None:
    named: Counter[str] = Counter()
    made = 0
    for seed in SEEDS:
        walk = Walk(drawn_problem(seed))
        model = SeasonModel(walk.problem, ())
        options = list(walk.problem.options)
        for option in random.Random(seed).sample(options, min(len(options), 7)):
            food = walk.food(option, option.most)
            wanted = walk.process(option).pouches_of(sum(food.values()))
            fits = walk.slack.most(option, wanted)
            least = walk.problem.demands[option.demand].least
            case = seed, option, fits
            if least <= fits + 1 <= wanted:
                row = walk.slack.forbids(option, fits + 1)
                assert row is not None, case
                more = walk.with_run(option, fits + 1, food)
                assert possible(walk.season, more), case
                assert not possible(walk.season, more, row), (case, row)
                named[row.rule] += 1
            if fits >= least:
                assert walk.slack.forbids(option, fits) is None, case
                walk.make(option, fits, food)
                assert model.holds(walk.choice), case
                made += 1
    assert set(named) == NAMED
    assert made > 100


def test_the_last_gram_that_is_left_may_be_taken_and_no_other() -> None:
    by_rule: Counter[str] = Counter()
    for seed in SEEDS:
        walk = Walk(drawn_problem(seed))
        rows = [r for r in walk.season.rows if r.rule in ("supply", "fridge")]
        for option in walk.problem.options:
            food = walk.food(option, 1000)
            values = [0] * len(walk.season.variables)
            for number, shares in walk.choice.shares.items():
                for lot, grams in shares.items():
                    values[walk.share(walk.problem.options[number], lot)] += grams
            for lot, grams in food.items():
                values[walk.share(option, lot)] += grams
            bounds = [Bounds(row.terms, row.least, row.most) for row in rows]
            assert all(each.keeps(values) for each in bounds), (seed, option)
            for lot in option.lots:
                more = values.copy()
                more[walk.share(option, lot)] += 1
                broken = [r.rule for r, b in zip(rows, bounds, strict=True) if not b.keeps(more)]
                assert broken, (seed, option, lot)
                by_rule.update(broken)
            pouches = walk.slack.most(option, walk.process(option).pouches_of(sum(food.values())))
            if pouches >= walk.problem.demands[option.demand].least:
                walk.make(option, pouches, food)
    assert set(by_rule) == {"supply", "fridge"}


def test_a_run_written_down_again_stands_in_its_own_place() -> None:
    """Room for five pouches; two are made, then four."""
    stated = beans(used=f"{100_000 - 5 * PACK.space} mL")
    (option,) = stated.options
    slack = Slack(state_rules(replace(stated, options=(replace(option, most=9),))))
    (option,) = slack.season.problem.options
    for made in (2, 4):
        slack.put(option, made)
        assert slack.pouches == {0: made}
        assert slack.most(option, 9) == 5


def test_what_was_too_much_before_forbids_only_what_makes_it_worse() -> None:
    """The chest is fuller than it is large; the upright has room for three."""
    season = kitchen_season([{"product": BEANS, "portions": 9, "portion": "340 g"}])
    upright = season.freezer[0].model_copy(
        update={"name": "upright", "used": 100_000 - 3 * PACK.space}
    )
    season = season.model_copy(update={"freezer": (*season.freezer, upright)})
    household = Household(season, LIBRARY, (window(0, 6), window(1, 6)))
    stated = build_problem(household, bean_lots(9 * RAW), FIRST)
    slack = Slack(state_rules(replace(stated, opening=Opening({}, {"chest": 100_001}))))
    for option in stated.options:
        row = slack.forbids(option, 1)
        assert (row is None) == (option.freezer == "upright")
        assert row is None or row.rule == space.RULE
        assert slack.most(option, 9) == (3 if row is None else 0)


def test_what_was_written_down_too_large_may_stay_and_not_grow() -> None:
    """Seven pouches where hands have time for fewer."""
    stated = problem(bean_lots(9 * RAW), [window(0, 1.25, hands=1)], (BEANS, 9))
    (option,) = stated.options
    slack = Slack(state_rules(replace(stated, options=(replace(option, most=9),))))
    (option,) = slack.season.problem.options
    fits = slack.most(option, 9)
    assert 0 < fits < 7
    slack.put(option, 7)
    assert slack.forbids(option, 7) is None
    row = slack.forbids(option, 8)
    assert row is not None and row.rule == "hands"


def test_rules_that_are_left_out_forbid_nothing() -> None:
    """One session at the most, and one is made."""
    stated = problem(bean_lots(9 * RAW), [window(0, 6), window(1, 6)], (BEANS, 9))
    span = stated.season.season.model_copy(update={"max_sessions": 1})
    stated = replace(stated, season=stated.season.model_copy(update={"season": span}))
    first, second = stated.options
    for but, most in (((), 0), ((sessions.RULE,), 5)):
        slack = Slack(state_rules(stated), but=but)
        slack.put(first, 4)
        assert slack.most(second, 9) == most


def test_what_is_drawn_makes_room_the_day_after() -> None:
    """Room for four, and three lie there; two are eaten on Monday evening."""
    used = f"{100_000 - 4 * PACK.space} mL"
    stated = problem(bean_lots(9 * RAW), [window(0, 6), window(1, 6)], (BEANS, 9), used=used)
    demand = replace(stated.demands[0], draw=Draw(14, FIRST, FIRST))
    stated = replace(stated, demands=(demand,), opening=Opening({(BEANS, "chest"): 3}))
    monday, tuesday = stated.options
    slack = Slack(state_rules(stated))
    assert (slack.most(monday, 9), slack.most(tuesday, 9)) == (1, 3)
    slack.put(monday, 1)
    assert slack.most(tuesday, 9) == 2
