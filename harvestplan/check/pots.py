"""V14: what a pot holds follows from its tasks: water that was boiled, food, or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harvestplan.check.facts import Facts, Finding, Sitting, number, seconds
from harvestplan.kitchen.pot import Blancher
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.blanch import MOST_POTFULS, STRENGTH, Blanch, is_over_steam
from harvestplan.kitchen.steps.empty import FOOD_OUT, Empty
from harvestplan.kitchen.steps.fill import Fill, jug_seconds
from harvestplan.kitchen.steps.heat_pot import HeatPot
from harvestplan.plan.models import Session, Task

COOKS_IN_POT = names_where(lambda kind: kind.cooks and kind.vessel == "pot")


def check_pots(facts: Facts) -> Iterator[Finding]:
    """V14."""
    for session in facts.sessions_ahead:
        sittings = [s for s in facts.ahead if s.session.uid == session.uid]
        for pot in facts.pots:
            tasks = [task for task in session.tasks if pot.name in task.equipment]
            for message in _Pot(facts, session, pot, sittings).follow(tasks):
                yield Finding("V14", f"{facts.clock(session.start)}: {message}")


@dataclass
class _Pot:
    """One pot in one session, followed from task to task."""

    facts: Facts
    session: Session
    pot: Blancher
    sittings: list[Sitting]
    water: float | None = None
    boils: bool = False
    served: int = 0
    strength: int = 0
    food: Task | None = None

    def follow(self, tasks: list[Task]) -> Iterator[str]:
        for task in sorted(tasks, key=lambda task: (task.start, task.end)):
            if task.step == Fill.name:
                yield from self._fill(task)
            elif task.step == HeatPot.name:
                yield from self._heat(task)
            elif task.step == Blanch.name:
                yield from self._blanch(task)
            elif task.step in COOKS_IN_POT:
                yield from self._cook(task)
            elif task.step == Empty.name:
                yield from self._empty(task)
        if self.food is not None:
            yield f"the food of {self.food.id} is still in {self.pot.name} at the end."

    def _fill(self, task: Task) -> Iterator[str]:
        if self.food is not None or self.water is not None:
            held = "food" if self.food is not None else "water"
            yield f"{self._at(task)} {self.pot.name} is filled and still holds {held}."
        self.water, self.boils, self.served, self.strength = number(task, "water_ml"), False, 0, 0
        self.food = None
        yield from self._hands(task)
        yield from self._long_enough(task, jug_seconds(self.water or 0.0), f"to {Fill.name}")

    def _heat(self, task: Task) -> Iterator[str]:
        if self.water is None:
            yield f"{self._at(task)} {self.pot.name} is heated with no water in it."
            return
        self.boils = True
        yield from self._long_enough(task, self.pot.heat_up_seconds(self.water), "to boil water in")

    def _blanch(self, task: Task) -> Iterator[str]:
        if self.water is None or not self.boils:
            yield f"{self._at(task)} {task.id} blanches where no water boils, in {self.pot.name}."
            return
        steam = is_over_steam(task)
        needed = self.pot.steam_water if steam else self.pot.water
        if self.water < needed - 1:
            yield (
                f"{self._at(task)} {task.id} blanches in {self.water:.0f} mL of water; "
                f"{needed:.0f} mL are counted on."
            )
        self.served += 1
        if self.served > MOST_POTFULS:
            yield (
                f"{self._at(task)} {task.id} is potful {self.served} in the same water of "
                f"{self.pot.name}; it is changed after {MOST_POTFULS}."
            )
        strength = self._strength(task)
        if strength < self.strength:
            yield (
                f"{self._at(task)} {task.id} is milder than what was blanched in the same water of "
                f"{self.pot.name} before it."
            )
        self.strength = max(self.strength, strength)

    def _strength(self, task: Task) -> int:
        found = next((s for s in self.sittings if s.run.id == task.run), None)
        return 0 if found is None else STRENGTH[found.crop.in_water]

    def _cook(self, task: Task) -> Iterator[str]:
        if self.water is not None:
            yield f"{self._at(task)} {task.id} cooks in {self.pot.name}, which is full of water."
        if self.food is not None:
            yield (
                f"{self._at(task)} {task.id} cooks in {self.pot.name}, which still holds the food "
                f"of {self.food.id}."
            )
        self.water, self.food = None, task

    def _empty(self, task: Task) -> Iterator[str]:
        yield from self._hands(task)
        if self.food is not None:
            yield from self._long_enough(task, FOOD_OUT, "to wash")
            if (task.run, task.batch) != (self.food.run, self.food.batch):
                yield f"{self._at(task)} {task.id} empties the food of {self.food.id}."
            yield from self._left_early(task, self.food)
        elif self.water is not None:
            yield from self._long_enough(task, jug_seconds(self.water), f"to {Empty.name}")
        self.water, self.food = None, None

    def _left_early(self, task: Task, cooked: Task) -> Iterator[str]:
        """What was cooked goes on when it is out of the pot."""
        for other in self.session.tasks:
            same = (other.run, other.batch) == (cooked.run, cooked.batch)
            if same and cooked.end <= other.start < task.end and other.id != task.id:
                yield f"{self._at(other)} {other.id} begins while its food is still in the pot."

    def _hands(self, task: Task) -> Iterator[str]:
        if task.hands < 1:
            yield f"{self._at(task)} {task.id} counts on nobody's hands."

    def _long_enough(self, task: Task, least: float, verb: str) -> Iterator[str]:
        if seconds(task) < least - 1:
            yield (
                f"{self._at(task)} {task.id} lasts {seconds(task):.0f} s; {verb} {self.pot.name} "
                f"takes {least:.0f} s."
            )

    def _at(self, task: Task) -> str:
        return f"at {task.start.astimezone(self.facts.zone):%H:%M}"
