"""What a person should know about a plan, in plain sentences computed from it."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterable, Sequence

from harvestplan.inputs.visit_times import visit_times
from harvestplan.kitchen.experience import pace_words
from harvestplan.kitchen.own_pace import BOOK_PACE, pace_of
from harvestplan.kitchen.pot import Blancher
from harvestplan.kitchen.steps.blanch import Blanch, BlanchSettings
from harvestplan.kitchen.steps.soak import soaked_ahead
from harvestplan.plan.models import Advice, FreezerDay, Session
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.solve_season import Solved
from harvestplan.schedule.statement.choice import Choice, left_over, made_by_demand
from harvestplan.schedule.statement.freezer_burden import ice_freezer, ice_made
from harvestplan.schedule.statement.problem import Demand, Problem, max_pouches
from harvestplan.schedule.written.room_left import RoomLeft
from harvestplan.words import at_most, ice_mass, mass

ONE_MINUTE = 60.0
HARDLY = 1.5
"""What brings no more than its toil so many times over is hardly worth it: waiting and smaller
batches take their part as well (own judgement)."""


def plan_warnings(
    problem: Problem,
    solved: Solved,
    sessions: Sequence[Session],
    *,
    freezer: Sequence[FreezerDay],
    notes: Sequence[str],
) -> tuple[Advice, ...]:
    """Warnings in a fixed order: files, wants, pace, pots, machine, freezer, soaking, proof."""
    found = [Advice(code="files", message=note) for note in notes]
    found += _short(problem, solved, freezer)
    found += _own_paces(problem, sessions)
    found += one_minute(problem, [each for each in sessions if each.status != "done"])
    found += _service(problem, sessions)
    found += _nearly_full(freezer)
    found += _own_ice(problem, sessions)
    found += _put_to_soak(problem, sessions)
    if solved.stopped:
        found.append(
            Advice(
                code="stopped",
                message="You stopped the search: this plan keeps every rule, but a better one may "
                "exist. Plan again to search on.",
            )
        )
    if any(not cut.proven for cut in solved.cuts):
        found.append(
            Advice(
                code="unproven-cut",
                message="Some evenings were judged too full without a full proof, so a better "
                "plan than the stated bound allows may exist.",
            )
        )
    return tuple(found)


def _short(problem: Problem, solved: Solved, freezer: Sequence[FreezerDay]) -> list[Advice]:
    made = made_by_demand(problem, solved.choice)
    room: RoomLeft | None = None
    found = []
    for want in problem.wants:
        if want.demand is None:
            found.append(
                Advice(code="cannot-make", message=f"{want.product} cannot be made: {want.why}.")
            )
            continue
        demand, done = problem.demands[want.demand], made[want.demand]
        if done < demand.portions:
            short = _counted(demand.portions - done, "portion")
            room = room or RoomLeft(state_rules(problem), solved.choice)
            more = room.on_a_new_evening(want.demand, demand.portions - done)
            reason = _reason(
                problem, want.demand, done, freezer=freezer, choice=solved.choice, more=more
            )
            found.append(Advice(code="short", message=f"{want.product}: {short} short. {reason}"))
    return found


def _hardly_worth_it(problem: Problem, demand: Demand, more: int) -> str:
    """Said where another evening would bring something, and not much more than it takes."""
    span = problem.season.season
    toil = span.evening_is_worth + span.food_is_worth
    if not 0 < demand.priority * more <= HARDLY * toil:
        return ""
    brings = _counted(more, "portion")
    return (
        f"Another evening could bring {brings} at most, which hardly pays: to you an evening is "
        f"worth {span.evening_is_worth:g} portions, and to begin a food {span.food_is_worth:g}."
    )


def _counted(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _reason(
    problem: Problem,
    number: int,
    done: int,
    *,
    freezer: Sequence[FreezerDay],
    choice: Choice,
    more: int,
) -> str:
    """All that keeps a want short of which `done` portions are made, from the supply to other
    wants, as far as numbers alone show it. Another evening could make `more` of it."""
    demand = problem.demands[number]
    crop = demand.process.crop
    comes = _made_of(problem, demand, range(len(problem.lots)))
    reasons = []
    if comes < demand.portions:
        source = "What is bought" if crop.kind == "bought" else "The garden"
        most = f"{_counted(comes, 'portion')} at most" if comes else "nothing for it"
        reasons.append(f"{source} gives {most}, after what is eaten fresh.")
    options = [option for option in problem.options if option.demand == number]
    fresh = {lot for option in options for lot in option.lots}
    fits = min(_made_of(problem, demand, fresh), sum(option.most for option in options))
    if fits < min(comes, demand.portions):
        room = _counted(fits, "portion")
        held = f"hold at most {room}" if fits else "are too short or too far apart"
        batch = ", with your smallest batch" if demand.least > 1 else ""
        reasons.append(f"The free hours while the food keeps {held}{batch}.")
        if demand.process.packed_cold and not visit_times(problem.season.season.visits):
            reasons.append(
                "It freezes on trays and is packed the next day: a visit would do for that, but "
                'visits = "none" forbids them.'
            )
    if done < min(comes, fits, demand.portions):
        if (night := _full_night(problem, number, choice)) is not None:
            reasons.append(f"The fridge is full on the night of {night.day} {night:%B}.")
        if demand.portions - done < demand.least:
            reasons.append("So little is less than your smallest batch.")
        hardly = _hardly_worth_it(problem, demand, more)
        reasons.append(hardly or _scarce(problem, demand, freezer))
    return " ".join(reasons)


def _full_night(problem: Problem, number: int, choice: Choice) -> dt.date | None:
    """The first night on which the fridge has no room for one portion more of the demand's food,
    where some of that is left over."""
    fridge, demand = problem.fridge, problem.demands[number]
    if fridge is None:
        return None
    waiting: Counter[dt.date] = Counter()
    left = left_over(problem, choice)
    for taken, shares in choice.shares.items():
        for lot, grams in shares.items():
            for stay in problem.stays(problem.options[taken], lot):
                stay.put(grams, waiting)
    raw = demand.process.raw_per_portion
    full = (
        night
        for option in problem.options
        if option.demand == number
        for lot in option.lots
        if left[lot] > 0
        for stay in problem.stays(option, lot)
        for night in stay.nights()
        if waiting[night] + raw * stay.volume > fridge.left(night)
    )
    return min(full, default=None)


def _made_of(problem: Problem, demand: Demand, lots: Iterable[int]) -> int:
    """Portions from what of these lots may be put by."""
    crop = demand.process.crop.name
    supply = sum(problem.free[lot] for lot in lots if problem.lots[lot].crop == crop)
    return max_pouches(demand.process, supply)


def _scarce(problem: Problem, demand: Demand, freezer: Sequence[FreezerDay]) -> str:
    """What there is too little of, where the food itself and the times for it would do."""
    if demand.process.frozen and _full(freezer):
        return "The freezer is full."
    season = problem.season.season
    limits = ((season.max_sessions_per_week, "a week"), (season.max_sessions, "in all"))
    told = [f"{_counted(count, 'session')} {when}" for count, when in limits if count is not None]
    most = " and ".join(told)
    hours = f"hours (at most {most})" if most else "hours"
    if len(problem.demands) == 1:
        night = " and what the freezer can freeze overnight" if demand.process.frozen else ""
        return f"No more goes into the free {hours}{night}."
    night = " or of what the freezer can freeze overnight" if demand.process.frozen else ""
    return f"The other wants leave no more of the free {hours}{night}."


def _full(freezer: Sequence[FreezerDay]) -> bool:
    return any(row.used_ml > 0.98 * row.capacity_ml for row in freezer)


def _own_paces(problem: Problem, sessions: Sequence[Session]) -> list[Advice]:
    """Products ahead that this kitchen makes at a pace of its own."""
    ahead = (s for s in sessions if s.status == "planned")
    products = {run.product: pace_of(run) for session in ahead for run in session.runs}
    paces = problem.experience.paces
    return [
        Advice(code="pace", message=pace_words(product, paces[product]))
        for product, pace in sorted(products.items())
        if pace != BOOK_PACE and product in paces
    ]


def one_minute(problem: Problem, sessions: Sequence[Session]) -> list[Advice]:
    """Products whose potfuls take longer than a minute to come back to the boil."""
    slowest: dict[str, tuple[int, str, str]] = {}
    for session in sessions:
        products = {run.id: run.product for run in session.runs}
        for task in session.tasks:
            if task.step == Blanch.name and task.run is not None:
                back = int(BlanchSettings.of(task).return_s or 0)  # nothing boils again over steam
                product = products[task.run]
                if back > ONE_MINUTE and back > slowest.get(product, (0, "", ""))[0]:
                    slowest[product] = (back, task.equipment[0], product)
    pots: dict[str, list[str]] = {}
    for back, pot, product in sorted(slowest.values(), key=lambda item: item[2]):
        pots.setdefault(pot, []).append(_slow_words(problem, back, pot, product=product))
    return [Advice(code="one-minute", message=_slow_pot(pot, foods)) for pot, foods in pots.items()]


def _slow_pot(pot: str, foods: Sequence[str]) -> str:
    return (
        f"{pot}: full potfuls take longer to boil again than the one minute that handbooks want: "
        f"{'; '.join(foods)}. Time a potful, and write the batch that came back within a minute as "
        "`batch` of that pot; or set `one_minute = true`."
    )


def _slow_words(problem: Problem, back: int, pot: str, *, product: str) -> str:
    process = next(d.process for d in problem.demands if d.process.name == product)
    step = next(s for s in process.product.steps if s.step == Blanch.name)
    blancher: Blancher = problem.kitchen.pot(pot)
    small = blancher.one_minute_grams(process.crop.water_share.value, step.piece)
    amount = at_most(small, problem.season.household.measures)
    return f"{product}, about {10 * math.ceil(back / 10)} s (a minute with {amount})"


def _service(problem: Problem, sessions: Sequence[Session]) -> list[Advice]:
    sealer = problem.season.machine
    if sealer is None or sealer.service_after is None:
        return []
    run = problem.experience.running_seconds(sealer, sessions)
    if run <= sealer.service_after:
        return []
    return [
        Advice(
            code="service",
            message=f"The {sealer.name} passes its service time this season: "
            f"{run / 3600:.1f} h of {sealer.service_after / 3600:.1f} h. See its manual; "
            "after the oil change write: serviced sealer",
        )
    ]


def _own_ice(problem: Problem, sessions: Sequence[Session]) -> list[Advice]:
    """How much ice to make, and by when, where the household makes its own."""
    name = ice_freezer(problem.season)
    made = ice_made(sessions, problem.as_of) if name is not None else []
    if not made:
        return []
    most = max(made, key=lambda each: each.grams)
    amount = ice_mass(most.grams, problem.season.household.measures)
    return [
        Advice(
            code="own-ice",
            message=f"Put ice to freeze in {name} the day before {len(made)} sessions; the most, "
            f"{amount}, on {most.day:%d %B %Y}. It is booked there with its "
            'freezing and its space. To buy it instead: ice = "buy" under [cold].',
        )
    ]


def _put_to_soak(problem: Problem, sessions: Sequence[Session]) -> list[Advice]:
    """What must soak for hours before a session still ahead."""
    told = []
    for session in sessions:
        crops = {run.id: run.crop for run in session.runs}
        for task in session.tasks if session.status in ("planned", "firm") else ():
            soaking = soaked_ahead(task)
            if soaking is None or task.run is None:
                continue
            amount = mass(task.grams, problem.season.household.measures)
            hours = (soaking.minutes or 0) / 60
            told.append(
                Advice(
                    code="put-to-soak",
                    message=f"Put {amount} {crops[task.run]} to soak the evening before "
                    f"{session.start:%d %B %Y}, in the refrigerator: it takes {hours:g} h.",
                )
            )
    return told


def _nearly_full(freezer: Sequence[FreezerDay]) -> list[Advice]:
    found = []
    for name in dict.fromkeys(row.name for row in freezer):
        rows = [row for row in freezer if row.name == name]
        fullest = max(rows, key=lambda row: row.used_ml)
        if fullest.used_ml > 0.9 * fullest.capacity_ml:
            found.append(
                Advice(
                    code="freezer-full",
                    message=f"{name} is at its fullest on {fullest.date:%d %B %Y}: "
                    f"{100 * fullest.used_ml / fullest.capacity_ml:.0f}% of its space is taken.",
                )
            )
    return found
