"""The shortest session of all, by trying whatever can be done at each moment, tick by tick.

Nothing is shared with the models: a kitchen is carried from one moment to the next, and of equal
kitchens one is kept. For a handful of tasks; without pools and room limits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from harvestplan.kitchen.fillings import Filling
from harvestplan.kitchen.layout import TICK, Link
from harvestplan.schedule.session.tasks import RunTasks, SessionTasks

POTFULS = 3
"""One water is used two or three times (KSU MF1181)."""
CLEANING = "sanitise"


@dataclass(frozen=True)
class Pot:
    """What a pot holds: the number of the filling, for how many potfuls it served, the strongest of
    them; `left` are the numbers of the fillings that it may still have."""

    left: tuple[int, ...]
    filling: int | None = None
    served: int = 0
    strength: int = 0


@dataclass(frozen=True)
class Moment:
    """What goes on: by key the ticks that are left of what runs, and the unit that it holds; what
    is over, what ended just now, where it was done; the pots; whether all was cleaned."""

    running: tuple[tuple[str, int, str | None], ...] = ()
    over: frozenset[str] = frozenset()
    now: frozenset[tuple[str, str | None]] = frozenset()
    pots: tuple[tuple[str, Pot], ...] = ()

    def begun(self, key: str) -> bool:
        return key in self.over or any(key == each for each, _, _ in self.running)

    def pot(self, name: str) -> Pot | None:
        return dict(self.pots).get(name)

    def with_pot(self, name: str, pot: Pot) -> Moment:
        return replace(self, pots=tuple(sorted({**dict(self.pots), name: pot}.items())))

    def holding(self, key: str, ticks: int, unit: str | None) -> Moment:
        return replace(self, running=tuple(sorted((*self.running, (key, ticks, unit)), key=str)))


def shortest_by_trying(asked: SessionTasks, within: int) -> int | None:
    """The shortest length in s that keeps every rule; None where none is `within` so many."""
    kitchen = _Kitchen(asked)
    moments = {kitchen.beginning()}
    for tick in range(within // TICK + 1):
        if any(kitchen.done(moment) for moment in moments):
            return tick * TICK
        left = within // TICK - tick
        after = set()
        for moment in moments:
            if kitchen.in_time(moment, left):
                after |= {kitchen.a_tick_later(each) for each in kitchen.ways(moment, tick)}
        moments = after
    return None


class _Kitchen:
    def __init__(self, asked: SessionTasks) -> None:
        self.asked = asked
        self.every = asked.every
        self.ticks = {key: task.seconds // TICK for key, task in self.every.items()}
        self.must = frozenset(task.key for task in asked.tasks)
        self.fillings = {f.fill.key: (n, f.steam) for n, f in enumerate(asked.fillings)}
        self.of_pots = {t.key for f in asked.fillings for t in f.tasks}
        self.paths: dict[str, int] = {}
        boil = (f.fill.seconds + f.heat.seconds for f in asked.fillings)
        self.soonest = min(boil, default=0) // TICK
        self.links: dict[str, list[Link]] = {key: [] for key in self.every}
        for link in asked.links:
            self.links[link.after].append(link)

    def _path(self, key: str) -> int:
        """Ticks of the task and of all that comes after it."""
        if key not in self.paths:
            after = (x.after for x in self.asked.links if x.before == key and not x.at_start)
            self.paths[key] = self.ticks[key] + max(map(self._path, after), default=0)
        return self.paths[key]

    def beginning(self) -> Moment:
        numbers: dict[str, tuple[int, ...]] = {}
        for number, filling in enumerate(self.asked.fillings):
            numbers[filling.pot] = (*numbers.get(filling.pot, ()), number)
        return Moment(pots=tuple(sorted((name, Pot(left)) for name, left in numbers.items())))

    def done(self, moment: Moment) -> bool:
        """All that must be is over; water may stand."""
        return moment.over >= self.must

    def in_time(self, moment: Moment, left: int) -> bool:
        """Whether so many ticks may be enough for the hands' work, for each task and what follows
        it, and for what is blanched where no water boils yet."""
        ahead = [key for key in self.must - moment.over if not moment.begun(key)]
        dry = not any(pot.filling is not None for _, pot in moment.pots)
        for key in ahead:
            wait = self.soonest if dry and key in self.asked.potfuls else 0
            if wait + self._path(key) > left:
                return False
        if any(
            ticks + self._path(key) - self.ticks[key] > left for key, ticks, _ in moment.running
        ):
            return False
        work = sum(self.ticks[key] * self.every[key].hands for key in ahead)
        work += sum(ticks * self.every[key].hands for key, ticks, _ in moment.running)
        return self.asked.hands is None or work <= left * self.asked.hands

    def a_tick_later(self, moment: Moment) -> Moment:
        ended = [(key, unit) for key, ticks, unit in moment.running if ticks == 1]
        return replace(
            moment,
            running=tuple((k, ticks - 1, unit) for k, ticks, unit in moment.running if ticks > 1),
            over=moment.over | {key for key, _ in ended},
            now=frozenset(ended),
        )

    def ways(self, moment: Moment, tick: int) -> Iterator[Moment]:
        """Every set of tasks that may begin at this tick."""
        seen = {moment}
        left = [moment]
        while left:
            here = left.pop()
            if self._nothing_owed(here, tick):
                yield here
            for after in self._one_more(here, tick):
                if after not in seen:
                    seen.add(after)
                    left.append(after)

    def _one_more(self, moment: Moment, tick: int) -> Iterator[Moment]:
        for key, task in self.every.items():
            if moment.begun(key) or not self._may_now(moment, key, tick):
                continue
            for unit in task.units or (None,):
                free = all(unit != held or unit is None for _, _, held in moment.running)
                if free and self._where_it_must(moment, key, unit):
                    yield from self._in_pot(moment, key, unit)

    def _may_now(self, moment: Moment, key: str, tick: int) -> bool:
        """Whether its time has come, there are hands, and what is before it is over."""
        fixed = self.asked.fixed.get(key)
        if fixed is not None and fixed.start != tick * TICK:
            return False
        if fixed is None and tick * TICK < self.asked.earliest:
            return False
        busy = sum(self.every[each].hands for each, _, _ in moment.running)
        if self.asked.hands is not None and busy + self.every[key].hands > self.asked.hands:
            return False
        ended = {each for each, _ in moment.now}
        since = self._since(moment)
        for link in self.links[key]:
            if link.at_start:
                if since.get(link.before) != link.lag // TICK:
                    return False
            elif link.before not in (ended if link.no_wait else moment.over):
                return False
        return self._clean_enough(moment, key)

    def _since(self, moment: Moment) -> dict[str, int]:
        """Ticks since each task began that goes on or ended just now."""
        going = {key: self.ticks[key] - left for key, left, _ in moment.running}
        return going | {key: self.ticks[key] for key, _ in moment.now}

    def _where_it_must(self, moment: Moment, key: str, unit: str | None) -> bool:
        fixed = self.asked.fixed.get(key)
        if fixed is not None and fixed.unit != unit:
            return False
        where = dict(moment.now)
        return all(where.get(x.before) == unit for x in self.links[key] if x.same_unit)

    def _clean_enough(self, moment: Moment, key: str) -> bool:
        raw = {each for run in self.asked.runs if run.food.raw_meat for each in run.open}
        if key == CLEANING:
            return raw <= moment.over
        others = [run for run in self.asked.runs if not run.food.raw_meat]
        if key in raw:
            return not moment.begun(CLEANING) and all(self._aside(moment, run) for run in others)
        if any(moment.begun(each) for each in raw):
            # What was begun before is over by now: see `_aside`.
            return CLEANING in moment.over or not any(key in run.open for run in others)
        return True

    def _aside(self, moment: Moment, run: RunTasks) -> bool:
        """Whether a run is all packed, or not begun and may be begun after raw meat."""
        if all(key in moment.over for key in run.open):
            return True
        return not run.food.eaten_raw and not any(moment.begun(key) for key in run.open)

    def _in_pot(self, moment: Moment, key: str, unit: str | None) -> Iterator[Moment]:
        """The moment with the task begun, as far as what the pot holds lets it."""
        begun = moment.holding(key, self.ticks[key], unit)
        pot = None if unit is None else moment.pot(unit)
        if unit is None or pot is None:
            yield begun
        elif key in self.fillings:
            number, steam = self.fillings[key]
            alike = [n for n in pot.left if self.asked.fillings[n].steam == steam]
            if pot.filling is None and number in alike[:1] and self._wanted(moment, key, steam):
                left = tuple(n for n in pot.left if n != number)
                yield begun.with_pot(unit, Pot(left, number))
        elif key in self.of_pots:
            filling = self._held(pot)
            if filling is not None and key == filling.heat.key:
                if (filling.fill.key, unit) in moment.now:
                    yield begun
            elif filling is not None and key == filling.empty.key and self._hot(filling, moment):
                yield begun.with_pot(unit, Pot(pot.left))
        elif key in self.asked.potfuls:
            yield from self._blanch(begun, key, unit, pot)
        elif pot.filling is None:
            yield begun

    def _wanted(self, moment: Moment, key: str, steam: bool) -> bool:
        """Whether there is food for more water than stands ready, or it is filled all the same."""
        if key in self.asked.fixed:
            return True
        kind = [k for k, potful in self.asked.potfuls.items() if potful.steam == steam]
        ready = [
            pot
            for _, pot in moment.pots
            if pot.filling is not None
            and self.asked.fillings[pot.filling].steam == steam
            and not pot.served
        ]
        return len(ready) < sum(not moment.begun(each) for each in kind)

    def _held(self, pot: Pot) -> Filling | None:
        return None if pot.filling is None else self.asked.fillings[pot.filling]

    def _hot(self, filling: Filling, moment: Moment) -> bool:
        return filling.heat.key in moment.over

    def _blanch(self, begun: Moment, key: str, unit: str, pot: Pot) -> Iterator[Moment]:
        potful, filling = self.asked.potfuls[key], self._held(pot)
        if filling is None or not self._hot(filling, begun):
            return
        fitting = filling.steam == potful.steam and pot.strength <= potful.strength
        if fitting and pot.served < POTFULS:
            served = Pot(pot.left, pot.filling, pot.served + 1, potful.strength)
            yield begun.with_pot(unit, served)

    def _nothing_owed(self, moment: Moment, tick: int) -> bool:
        """Whether all that must begin at this tick has: what follows at once, what stands."""
        ended = {key for key, _ in moment.now}
        since = self._since(moment)
        for link in self.asked.links:
            owed = (link.no_wait and link.before in ended) or (
                link.at_start and since.get(link.before) == link.lag // TICK
            )
            if owed and not moment.begun(link.after):
                return False
        for filling in self.asked.fillings:
            if filling.fill.key in ended and not moment.begun(filling.heat.key):
                return False
        stands = (key for key, timed in self.asked.fixed.items() if timed.start == tick * TICK)
        return all(moment.begun(key) for key in stands)
