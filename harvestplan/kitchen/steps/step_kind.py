"""What every kind of step says of itself: the bases of the classes beside it.

A kind is one class with one instance in the register. Its attributes say how its tasks behave among
others, its methods what a crop file must give, what it is done in, how long it takes and how the
sheet puts it. None can be made that says no words, nor one of a chain that says no time.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.plan.models import Task

Scope = Literal["session", "run", "batch", "table"]
"""What a task is for: the session, all of a run, one batch of it, or the several batches that are
packed together at the table."""
Vessel = Literal["pot", "bath", "oven", "dryer", "sealer"]


@dataclass(frozen=True)
class Amount:
    """What one task has before it: grams entering the step; at the packing table the pouches, and
    in how many rounds the run is packed; the freezer that the run goes to."""

    grams: float
    pouches: int = 0
    rounds: int = 1
    freezer: str | None = None


NO_SETTINGS = Settings()


@dataclass(frozen=True)
class Beside:
    """Work of the kitchen that goes with a task of a chain: so many seconds after it began (`at`),
    or (`after`) at once after it in the same vessel."""

    step: str
    seconds: float
    hands: int
    settings: Settings = NO_SETTINGS
    at: float = 0.0
    after: bool = False


@dataclass(frozen=True)
class StepTime:
    """Seconds of one task, and what the cook must know to do it."""

    seconds: float
    settings: Settings = NO_SETTINGS


class StepKind(ABC):
    """A kind of step; what is said here holds unless a kind says otherwise."""

    name: ClassVar[str]
    """As crop files and plans write it."""
    scope: ClassVar[Scope]
    vessel: ClassVar[Vessel | None] = None
    """What a task holds one of while it lasts."""
    vessel_if_any: ClassVar[bool] = False
    """It goes without where the kitchen has none."""
    any_vessel: ClassVar[bool] = False
    """A small batch may go into a smaller vessel than a full one."""
    settings: ClassVar[type[Settings]] = Settings
    at_once_after: ClassVar[tuple[str, ...]] = ()
    """Steps that it follows without a wait."""

    controlled: ClassVar[bool] = False
    """While it runs the food is hot, in ice water, freezing or in the dryer."""
    final: ClassVar[bool] = False
    """After it the food stands in the room no more."""
    closed: ClassVar[bool] = False
    """Food is packed when it begins: board, knives and machine are not touched by it."""
    cuts: ClassVar[bool] = False
    """It opens the food: from its end on the food stands in the room."""
    warms: ClassVar[bool] = False
    """Food taken cold from the fridge stands in the room from its start on."""

    heats: ClassVar[bool] = False
    """Food is hot after it."""
    cooks: ClassVar[bool] = False
    """It cooks food through."""
    cools: ClassVar[bool] = False
    """Food is cold after it, or when it has ended on another day."""
    freezes: ClassVar[bool] = False
    """Food freezes in it."""
    boils: ClassVar[bool] = False
    """Water boils at it."""
    fills: ClassVar[bool] = False
    """Its pot holds fresh water after it."""
    keeps_water: ClassVar[bool] = False
    """The next food goes into the same water."""
    own_time: ClassVar[bool] = False
    """It takes time beyond the work that the crop file gives for it."""
    unattended: ClassVar[bool] = False
    """Water and cold set its time, whoever stands by."""
    filled_once: ClassVar[bool] = False
    """Its vessel takes all of a sitting at once, and is then shut."""
    by_hand: ClassVar[bool] = False
    """Hands alone set its time, so that a household may take it with a watch."""
    also: ClassVar[tuple[str, ...]] = ()
    """Other words for it in the diary."""

    @property
    def opens(self) -> bool:
        """Whether food stands in the room after it, or from its start on."""
        return self.cuts or self.warms

    @property
    def begins_food(self) -> bool:
        """Whether food is begun with it; what is only washed or drained can wait."""
        return self.opens or self.controlled

    @abstractmethod
    def words(self, task: Task, what: str, measures: Measures) -> str:
        """One line for the sheet without full stop; `what` names batch and food."""

    def words_by_hand(self, task: Task, what: str, measures: Measures) -> str:
        """The same in a kitchen without a sealing machine."""
        return self.words(task, what, measures)


class SessionStep(StepKind):
    """A step of the kitchen itself, once for a session or a pot; the session says how long."""

    scope: ClassVar[Scope] = "session"


class ChainStep(StepKind):
    """A step of a chain, for one batch unless it says otherwise."""

    scope: ClassVar[Scope] = "batch"

    def flaw(self, step: Step) -> str | None:
        """What a crop file's step of this kind lacks, as a sentence without full stop."""
        return None

    def misplaced(self, steps: Sequence[Step], index: int) -> str | None:
        """What is wrong with its place among a chain's steps, as a sentence without full stop."""
        return None

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """By name what it may be done in, with the largest batch (g entering the step) of each.

        Raises CannotBeMade where it needs something that the kitchen has not.
        """
        return {}

    @abstractmethod
    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """How long one task of it takes, and its settings."""

    def stage_seconds(self, process: Process) -> float:
        """Seconds of it that count as if the food stood in the room."""
        return 0.0

    def beside(self, process: Process, amount: Amount) -> tuple[Beside, ...]:
        """What the kitchen has to do with one task of it."""
        return ()


class PlainStep(ChainStep):
    """Work that a crop file gives the minutes of, with nothing to set."""

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says."""
        return StepTime(work_seconds(step, amount.grams, amount.rounds))

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Like "Wash snap bean, cut (2 lb)"."""
        return plain_words(task, what)


def work_seconds(step: Step, grams: float, rounds: int = 1) -> float:
    """Time in s the step takes for `grams` by the crop file, without cooking or cooling times; the
    fixed part shared out over so many `rounds`."""
    per = step.per_kg.value * grams if step.per_kg else 0.0
    return per + (step.fixed.value if step.fixed else 0.0) / max(1, rounds)


def plain_words(task: Task, what: str) -> str:
    """Like "Wash snap bean, cut (2 lb)", for any step."""
    return f"{task.step.capitalize()} {what}{done_in(task)}".rstrip()


def done_in(task: Task, article: str = "in") -> str:
    """Like " in big pot", or nothing."""
    return f" {article} {', '.join(task.equipment)}" if task.equipment else ""
