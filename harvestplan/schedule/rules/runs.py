"""What a run is: its pouches, the food they hold, and the last pouch of what was bought."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from harvestplan.kitchen.process import MILLI
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.problem import LEAST_PART, Option

RULE = "runs"


def state_runs(season: SeasonRows) -> None:
    """A run that is made has as many pouches as are worth the pot, and no more than it can have."""
    for option in season.problem.options:
        o = option.number
        made = season.new_variable(f"made{o}")
        pouches = season.new_variable(f"pouches{o}", 0, option.most)
        season.add(RULE, f"option {o}", {pouches: 1, made: -option.most}, most=0)
        least = season.problem.demands[option.demand].least
        season.add(RULE, f"option {o}", {pouches: 1, made: -least}, least=0)
        season.made.append(made)
        season.pouches.append(pouches)


def state_shares(season: SeasonRows) -> None:
    """What each group takes of each lot, bounded by its own switches (facility-location links)."""
    for options in season.groups.values():
        _state_shares(season, options)


def _state_shares(season: SeasonRows, options: Sequence[Option]) -> None:
    head, process = options[0].number, season.process_of(options[0])
    # What the lots give less what the pouches hold; in mg where portions are small.
    portion = process.raw_milligrams
    gram = MILLI if portion % MILLI else 1
    portion, rest = portion * gram // MILLI, gram - 1
    beyond = Counter({season.pouches[o.number]: -portion for o in options})
    for lot in options[0].lots:
        most = [min(season.problem.free[lot], process.raw(o.most)) for o in options]
        share = season.share[head, lot] = season.new_variable(f"share{head}.{lot}", 0, max(most))
        terms = Counter({share: 1})
        for option, grams in zip(options, most, strict=True):
            terms[season.made[option.number]] -= grams
        season.add("shares", f"lot {lot}", terms, most=0)
        beyond[share] += gram
    of = f"option {head}"
    if process.crop.kind != "bought":
        season.add("shares", of, beyond, least=0, most=rest)
        return
    # What was bought is packed to the end: the very last pouch of all may be part-full.
    part = season.part[head] = season.new_variable(f"part{head}")
    missing = Counter({variable: -weight for variable, weight in beyond.items()})
    season.add("part-full pouch", of, missing, least=-rest)
    missing = missing.copy()
    missing[part] = -int(portion * (1 - LEAST_PART))
    season.add("part-full pouch", of, missing, most=0)


def limit_part_full(season: SeasonRows) -> None:
    """A part-full pouch is allowed only where it holds the rest of all that was bought."""
    parts_of: dict[str, list[int]] = defaultdict(list)
    for number, part in season.part.items():
        crop = season.process_of(season.problem.options[number]).crop.name
        parts_of[crop].append(part)
    for crop, parts in parts_of.items():
        season.add("part-full pouch", crop, Counter(parts), most=1)
        lots = {i for i, lot in enumerate(season.problem.lots) if lot.crop == crop}
        supply = sum(season.problem.free[i] for i in lots)
        taken = Counter(share for (_, lot), share in season.share.items() if lot in lots)
        for part in parts:
            taken[part] -= supply
        season.add("part-full pouch", crop, taken, least=0)
