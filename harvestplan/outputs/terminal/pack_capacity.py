"""One container of a product on the capacity card: how it is closed, and how long it freezes."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.kitchen.boxes import head_space
from harvestplan.kitchen.machine_settings import own_settings
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.close_pack import EACH, ClosePack


@dataclass(frozen=True)
class MachineCycle:
    """A closing of the sealing machine: its pouches, and times in s."""

    per_cycle: int
    cycle: float
    pump_down: float
    seal: float


@dataclass(frozen=True)
class Pack:
    """The container: portion g, thickness and head space m; the machine's cycle, or without one the
    seconds in which hands close it; hours until hard, alone and two pouches or bags stacked."""

    pouch: str
    kind: str
    portion: int
    thickness: float
    machine: MachineCycle | None
    closing: float
    head_space: float | None
    hours: float | None
    hours_stacked: float | None


def pack_of(process: Process) -> Pack:
    """What a portion is packed in."""
    pouch = process.packing.pouch
    boxed = pouch.kind == "box"
    freezes = process.frozen and not process.loose_area  # loose pieces are frozen on their trays
    return Pack(
        pouch=pouch.name,
        kind=pouch.kind,
        portion=process.portion_grams,
        thickness=process.packing.thickness,
        machine=_machine_cycle(process),
        closing=EACH.get(pouch.kind, 0.0) * process.pace.of(ClosePack.name),
        head_space=head_space(pouch, process.product) if boxed and process.frozen else None,
        hours=process.freezing_hours() if freezes else None,
        hours_stacked=process.freezing_hours(packs=2) if freezes and not boxed else None,
    )


def _machine_cycle(process: Process) -> MachineCycle | None:
    packing, sealer = process.packing, process.kitchen.sealer
    if sealer is None or packing.pouch.by_hand:
        return None
    tries = process.kitchen.tries.get(process.name, ())
    cycle = own_settings(process.product, packing.pouch, tries)
    return MachineCycle(
        per_cycle=packing.per_cycle,
        cycle=cycle.seconds(sealer, packing.per_cycle),
        pump_down=cycle.pump_down,
        seal=cycle.seal,
    )
