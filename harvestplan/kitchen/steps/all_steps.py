"""All kinds of steps by name, in the order in which an evening does them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from harvestplan.inputs.crops import KnownSteps, Step
from harvestplan.kitchen.steps.blanch import STEAM_FLAW, Blanch
from harvestplan.kitchen.steps.change_over import ChangeOver
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.kitchen.steps.clean_up import CleanUp
from harvestplan.kitchen.steps.close_pack import ClosePack
from harvestplan.kitchen.steps.cool import Cool
from harvestplan.kitchen.steps.drain import Drain
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.empty import Empty
from harvestplan.kitchen.steps.fill import Fill
from harvestplan.kitchen.steps.fill_cubes import FillCubes
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.hand_work import HandStep
from harvestplan.kitchen.steps.heat_pot import HeatPot
from harvestplan.kitchen.steps.keep_cold import KeepCold
from harvestplan.kitchen.steps.portion import Portion
from harvestplan.kitchen.steps.press import Press
from harvestplan.kitchen.steps.puree import Puree
from harvestplan.kitchen.steps.roast import Roast
from harvestplan.kitchen.steps.sanitise import Sanitise
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.kitchen.steps.set_up import SetUp
from harvestplan.kitchen.steps.settings import Settings, Told
from harvestplan.kitchen.steps.shell import Shell
from harvestplan.kitchen.steps.simmer import Simmer
from harvestplan.kitchen.steps.soak import Soak
from harvestplan.kitchen.steps.squeeze import Squeeze
from harvestplan.kitchen.steps.step_kind import NO_SETTINGS, ChainStep, StepKind
from harvestplan.kitchen.steps.stir import Stir
from harvestplan.kitchen.steps.store import Store
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.kitchen.steps.trim import Trim
from harvestplan.kitchen.steps.wash import Wash

CHAIN_STEPS: tuple[ChainStep, ...] = (
    Wash(),
    Soak(),
    Trim(),
    Shell(),
    Blanch(),
    Cool(),
    Drain(),
    Squeeze(),
    Roast(),
    Simmer(),
    Puree(),
    Press(),
    Chill(),
    FillCubes(),
    TrayFreeze(),
    Portion(),
    Seal(),
    ClosePack(),
    Freeze(),
    Dry(),
    Store(),
)
KINDS: tuple[StepKind, ...] = (
    SetUp(),
    ChangeOver(),
    Fill(),
    HeatPot(),
    *CHAIN_STEPS,
    Stir(),
    KeepCold(),
    Empty(),
    Sanitise(),
    CleanUp(),
)
_OF_CHAINS = {kind.name: kind for kind in CHAIN_STEPS}
_BY_NAME = {kind.name: kind for kind in KINDS}


def kind_of(name: str) -> ChainStep:
    """The kind of a chain's step; raises KeyError for a name that none has."""
    return _OF_CHAINS[name]


def find_kind(name: str) -> StepKind | None:
    """The kind of a task, of the kitchen's own as well; None for a name that none has, as a plan
    changed by hand may say."""
    return _BY_NAME.get(name)


def settings_of(task: Told) -> Settings:
    """What a task says of its own step's settings; nothing where no kind is called so."""
    kind = find_kind(task.step)
    return NO_SETTINGS if kind is None else kind.settings.of(task)


def ice_of(task: Told) -> int:
    """Ice in g that a task takes."""
    return settings_of(task).ice()


def names_where(holds: Callable[[StepKind], bool]) -> tuple[str, ...]:
    """The names of the kinds of which something holds, in order."""
    return tuple(kind.name for kind in KINDS if holds(kind))


def _flaw(step: Step) -> str | None:
    """What a crop file's step lacks."""
    if step.steam and step.step != Blanch.name:
        return STEAM_FLAW
    kind = kind_of(step.step)
    if (step.verb or step.size) and not isinstance(kind, HandStep):
        return f"verb and size belong to work of hands on the food, not to {step.step}"
    return kind.flaw(step)


def _chain_flaw(steps: Sequence[Step]) -> str | None:
    """The first step in a place where it cannot be."""
    said = (kind_of(step.step).misplaced(steps, index) for index, step in enumerate(steps))
    return next((flaw for flaw in said if flaw), None)


KNOWN_STEPS = KnownSteps(
    names=tuple(kind.name for kind in CHAIN_STEPS),
    by_hand=names_where(lambda kind: kind.by_hand),
    flaw=_flaw,
    chain_flaw=_chain_flaw,
)
"""What crop files are judged by."""
