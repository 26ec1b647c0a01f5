"""The season model in CP-SAT: which lots go to which windows as which products.

Linear rules only: supply, hands, machines, freezing in 24 hours, trays, space with weekly draws,
sessions per week. Each lot's share is bounded by its own run's switch (facility-location links).
Minutes inside a session are the minute model's business; what does not fit comes back as a cut.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from ortools.sat.python import cp_model

from harvestplan.kitchen.layout import Sitting
from harvestplan.kitchen.process import Process
from harvestplan.schedule.rules.storage import add_dryers, add_freezing, add_fridge, add_space
from harvestplan.schedule.rules.whole_pouches import add_whole_pouches
from harvestplan.schedule.solver_call import solve
from harvestplan.schedule.statement.choice import Choice, Cut, windows_used
from harvestplan.schedule.statement.lower_line import lower_line
from harvestplan.schedule.statement.problem import LEAST_PART, Option, Problem
from harvestplan.schedule.statement.run_work import Work


class SeasonModel:
    """Variables and rules; goals are added level by level by `levels`."""

    def __init__(self, problem: Problem, cuts: Sequence[Cut]) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.pouches: list[cp_model.IntVar] = []
        self.made: list[cp_model.IntVar] = []
        self.share: dict[tuple[int, int], cp_model.IntVar] = {}
        """Grams by (first option of the group, lot): a run takes the same food for whichever
        freezer, so that the relaxation cannot make half a run for each."""
        self.used: list[cp_model.IntVar] = []
        self.drawn: list[cp_model.IntVar] = []
        self.part: dict[int, cp_model.IntVar] = {}
        """Whether its last pouch is part-full, by the first option of the group."""
        self.heed_doubtful = self.model.new_bool_var("heed doubtful cuts")
        """Free while bounds are proven, so that an unproven cut never makes a bound too tight."""
        self.groups: dict[tuple[int, int, int | None], list[Option]] = defaultdict(list)
        """Options that differ in their freezer only, by demand and windows."""
        self.by_window: dict[int, list[tuple[Option, Sitting]]] = defaultdict(list)
        for option in problem.options:
            self.groups[option.demand, option.first, option.second].append(option)
            for window, sitting in option.sittings():
                self.by_window[window].append((option, sitting))
        self._add_windows()
        self._add_runs()
        self._add_last_pouches()
        self._add_supply()
        add_whole_pouches(self)
        self._add_wants()
        self._add_held()
        self._add_work()
        add_freezing(self)
        add_dryers(self)
        add_space(self)
        add_fridge(self)
        for cut in cuts:
            self.add_cut(cut)

    def _add_windows(self) -> None:
        span = self.problem.season.season
        weeks: dict[tuple[int, int], list[cp_model.IntVar]] = defaultdict(list)
        for w, window in enumerate(self.problem.windows):
            used = self.model.new_bool_var(f"used{w}")
            self.used.append(used)
            weeks[window.start.isocalendar()[:2]].append(used)
        kept = [s.start.isocalendar()[:2] for s in self.problem.history.sessions]
        if span.max_sessions is not None:
            self.model.add(sum(self.used) <= max(0, span.max_sessions - len(kept)))
        if span.max_sessions_per_week is not None:
            for week, in_week in weeks.items():
                left = span.max_sessions_per_week - kept.count(week)
                self.model.add(sum(in_week) <= max(0, left))

    def _add_runs(self) -> None:
        model = self.model
        for option in self.problem.options:
            o = option.number
            made = model.new_bool_var(f"made{o}")
            pouches = model.new_int_var(0, option.most, f"pouches{o}")
            model.add(pouches <= option.most * made)
            model.add(pouches >= self.problem.demands[option.demand].least * made)
            self.made.append(made)
            self.pouches.append(pouches)
        for options in self.groups.values():
            self._add_shares(options)
        for window in range(len(self.problem.windows)):
            self._add_switches(window)

    def _add_shares(self, options: Sequence[Option]) -> None:
        """What a group takes of each lot, bounded by its own switches."""
        process = self.process_of(options[0])
        portion = process.raw_per_portion
        shares = []
        for lot in options[0].lots:
            most = [min(self.problem.free[lot], portion * o.most) for o in options]
            share = self.model.new_int_var(0, max(most), f"share{options[0].number}.{lot}")
            switches = [self.made[o.number] for o in options]
            self.model.add(share <= cp_model.LinearExpr.weighted_sum(switches, most))
            self.share[options[0].number, lot] = share
            shares.append(share)
        packed = portion * sum(self.pouches[o.number] for o in options)
        if process.crop.kind == "bought":
            self._add_part_full(options[0], packed - sum(shares), portion)
        else:
            self.model.add(sum(shares) == packed)

    def _add_switches(self, window: int) -> None:
        """A window is used where a run is made in it; of each product's sittings at most one."""
        used, runs = self.used[window], self.by_window.get(window, [])
        same: dict[tuple[int, Sitting], list[cp_model.IntVar]] = defaultdict(list)
        for option, sitting in runs:
            same[option.demand, sitting].append(self.made[option.number])
        for alternatives in same.values():
            self.model.add(sum(alternatives) <= used)
        self.model.add(sum(self.made[o.number] for o, _ in runs) >= used)

    def _add_supply(self) -> None:
        by_lot: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        for (_, lot), share in self.share.items():
            by_lot[lot].append(share)
        for lot, shares in by_lot.items():
            self.model.add(sum(shares) <= self.problem.free[lot])

    def _add_wants(self) -> None:
        by_demand: dict[int, list[Option]] = defaultdict(list)
        for option in self.problem.options:
            by_demand[option.demand].append(option)
        for d, options in by_demand.items():
            demand = self.problem.demands[d]
            self.model.add(sum(self.pouches[o.number] for o in options) <= demand.portions)

    def _add_held(self) -> None:
        """What the household moved stays where it put it."""
        for held in self.problem.held:
            there = [self.pouches[o.number] for o in held.among(self.problem.options)]
            self.model.add(sum(there) >= held.pouches)

    def _add_part_full(
        self, option: Option, missing: cp_model.LinearExpr | int, portion: int
    ) -> None:
        """What was bought is packed to the end: the very last pouch of all may be part-full."""
        part = self.model.new_bool_var(f"part{option.number}")
        self.part[option.number] = part
        self.model.add(missing >= 0)
        self.model.add(missing <= int(portion * (1 - LEAST_PART)) * part)

    def _add_last_pouches(self) -> None:
        """A part-full pouch is allowed only where it holds the rest of all that was bought."""
        parts_of: dict[str, list[cp_model.IntVar]] = defaultdict(list)
        for number, part in self.part.items():
            parts_of[self.process_of(self.problem.options[number]).crop.name].append(part)
        for crop, parts in parts_of.items():
            self.model.add(sum(parts) <= 1)
            lots = [i for i, lot in enumerate(self.problem.lots) if lot.crop == crop]
            supply = sum(self.problem.free[i] for i in lots)
            taken = [share for (_, lot), share in self.share.items() if lot in lots]
            self.model.add(sum(taken) >= supply * sum(parts))

    def _add_work(self) -> None:
        """Hands and machines of each window: lower lines of the exact work, so never too strict."""
        for window, runs in self.by_window.items():
            room, hands = self.problem.length(window), self.problem.windows[window].hands
            hand = [self._line(run, [w.hand for w in self._works(run)]) for run in runs]
            self.model.add(sum(hand) <= hands * room * self.used[window])
            for index in range(len(self.problem.work.machines)):
                self._add_machine(runs, index, room, self.used[window])

    def _add_machine(
        self, runs: list[tuple[Option, Sitting]], index: int, room: int, used: cp_model.IntVar
    ) -> None:
        """Head, body, tail of one machine (Carlier 1982).

        Of the runs whose head and tail are no shorter than one run's own, all bodies lie between
        that head and that tail. A pot that must boil first is heated in that time, but for what
        comes before the head.
        """
        bodies: list[tuple[cp_model.LinearExpr, tuple[int, int]]] = []
        same: dict[tuple[int, Sitting, int, int, int], list[cp_model.IntVar]] = defaultdict(list)
        for option, sitting in runs:
            works = self._works((option, sitting))
            if works[-1].machine[index] == 0:
                continue
            head, tail = (min(w.heads[index] for w in works), min(w.tails[index] for w in works))
            heat = min(w.heat[index] for w in works)
            body = self._line((option, sitting), [w.machine[index] for w in works])
            bodies.append((body, (head, tail)))
            made = self.made[option.number]
            same[option.demand, sitting, head, tail, 0].append(made)
            if heat:
                same[option.demand, sitting, 0, tail, heat].append(made)
                same[option.demand, sitting, 0, 0, heat].append(made)
        for (*_, head, tail, heat), switches in same.items():
            inside = [
                body
                for body, (other_head, other_tail) in bodies
                if other_head >= head and other_tail >= tail
            ]
            self.model.add(sum(inside) + (head + heat + tail) * sum(switches) <= room * used)
        if bodies:
            self.model.add(sum(body for body, _ in bodies) <= room * used)

    def _works(self, run: tuple[Option, Sitting]) -> list[Work]:
        option, sitting = run
        return [self.problem.work_of(option, sitting, n) for n in range(1, option.most + 1)]

    def _line(self, run: tuple[Option, Sitting], values: list[int]) -> cp_model.LinearExpr:
        fixed, slope = lower_line(values)
        number = run[0].number
        return fixed * self.made[number] + slope * self.pouches[number]

    def process_of(self, option: Option) -> Process:
        return self.problem.demands[option.demand].process

    def holds(self, choice: Choice) -> bool:
        """Whether the choice keeps every rule of the model, unproven cuts included."""
        copy = self.near(choice, set())
        for share, grams in self._grams(choice):
            copy.add(share == grams)
        copy.clear_objective()  # type: ignore[no-untyped-call]
        return solve(cp_model.CpSolver(), copy) in (cp_model.OPTIMAL, cp_model.FEASIBLE)

    def near(self, choice: Choice, free: set[int]) -> cp_model.CpModel:
        """A copy in which only runs that touch the `free` windows may differ from the choice."""
        self.hint(choice)
        copy = self.heedful()
        for option in self.problem.options:
            if not any(window in free for window, _ in option.sittings()):
                copy.add(self.pouches[option.number] == choice.pouches.get(option.number, 0))
        return copy

    def same_evenings(self, choice: Choice) -> cp_model.CpModel:
        """A copy in which anything may differ from the choice but the windows used."""
        self.hint(choice)
        copy = self.heedful()
        used = windows_used(self.problem, choice)
        for w, variable in enumerate(self.used):
            if w not in used:
                copy.add(variable == 0)
        return copy

    def heedful(self) -> cp_model.CpModel:
        """A copy in which unproven cuts hold as well."""
        copy = self.model.clone()
        copy.add(self.heed_doubtful == 1)
        return copy

    def add_cut(self, cut: Cut) -> None:
        """Forbids the runs together in every window no roomier than where they failed."""
        for window, runs in self.by_window.items():
            if self.problem.length(window) > cut.room:
                continue
            if self.problem.windows[window].hands > cut.hands:
                continue
            switches = []
            for demand, sitting, pouches in cut.runs:
                same = [o for o, s in runs if o.demand == demand and s == sitting]
                total = sum(self.pouches[o.number] for o in same)
                most = max((o.most for o in same), default=0)
                if most < pouches:
                    break
                switch = self.model.new_bool_var("")
                self.model.add(total <= pouches - 1 + (most - pouches + 1) * switch)
                switches.append(switch)
            else:
                if not cut.proven:
                    switches.append(self.heed_doubtful)
                self.model.add(sum(switches) <= len(switches) - 1)

    def values_of(self, choice: Choice) -> dict[int, int]:
        """The choice as values of pouches, switches, shares and windows, by variable number."""
        values: dict[int, int] = {}
        for option in self.problem.options:
            o = option.number
            values[self.pouches[o].index] = choice.pouches.get(o, 0)
            values[self.made[o].index] = int(o in choice.pouches)
        for share, grams in self._grams(choice):
            values[share.index] = grams
        used = windows_used(self.problem, choice)
        for w, variable in enumerate(self.used):
            values[variable.index] = int(w in used)
        return values

    def _grams(self, choice: Choice) -> Iterator[tuple[cp_model.IntVar, int]]:
        """Each share with its grams in the choice."""
        for options in self.groups.values():
            for lot in options[0].lots:
                taken = (choice.shares.get(o.number, {}).get(lot, 0) for o in options)
                yield self.share[options[0].number, lot], sum(taken)

    def hint(self, choice: Choice) -> None:
        """Starts the search from a known solution."""
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        for variable, value in self.values_of(choice).items():
            self.model.add_hint(self.model.get_int_var_from_proto_index(variable), value)

    def choice(self, values: Sequence[int]) -> Choice:
        """The choice in the values of all variables."""
        pouches = {
            o.number: values[self.pouches[o.number].index]
            for o in self.problem.options
            if values[self.made[o.number].index]
        }
        shares: dict[int, dict[int, int]] = {}
        for o in pouches:
            option = self.problem.options[o]
            head = self.groups[option.demand, option.first, option.second][0].number
            grams = {lot: values[self.share[head, lot].index] for lot in option.lots}
            shares[o] = {lot: taken for lot, taken in grams.items() if taken > 0}
        return Choice(pouches, shares)
