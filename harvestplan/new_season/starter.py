"""A new season folder: three commented files, from an example or from a person's answers."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from pathlib import Path

from harvestplan.disk import write_atomic
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.spoken.said_hours import FreeHours
from harvestplan.new_season.packs_text import packs_text

NAMES = ("household.toml", "kitchen.toml", "garden.toml")

HOUSEHOLD = """\
# Who you are and when you have time. Lines that begin with # are remarks.

[household]
name = {name}
timezone = {timezone}   # as in the list of time-zone names: Europe/Berlin, ...
altitude = {altitude}
measures = {measures}   # "US", "UK" or "metric": how pints and cups are read
hands = {hands}   # people in the kitchen, unless a window says otherwise
practised = {practised}   # "beginner", "some" or "practised"; your diary soon tells it better

[season]
start = {start}
end = {end}
max_sessions_per_week = {per_week}
# evening_is_worth = "2 portions"   # what brings less is not worth an evening to you
# visits = "17:30-18:00"   # when somebody can look in for half an hour, to pack what froze on
                           # trays; "mon-fri 17:30-18:00, sat 10:00-10:45", or "none"

{weather}
# When you can be in the kitchen, every week.

{windows}
{away}# [[away]]
# start = {year}-07-20
# end = {year}-07-27

# [calendars]
# busy = ["family.ics"]
# remind = ["the evening before 19:00", "1 h"]
"""

WEATHER = """\
[weather]
{known}# Past daily temperatures make the forecast much better; harvestplan weather says how to get
# a file of them, and shows what it tells:
# daily = "weather.csv"
"""
PLACE = """\
# Where the garden lies, in degrees north and east: without a file a rough climate of such places.
"""

NO_WEATHER = """\
# Past daily temperatures make the forecast much better; harvestplan weather says how to get
# a file of them, and shows what it tells. Without one, a rough climate of your place may count.
# [weather]
# daily = "weather.csv"
# latitude = 40.1     # degrees north
# longitude = -95.2   # degrees east; west of Greenwich below nought
"""

WINDOW = """\
[[window]]
days = [{days}]
start = {start}
end = {end}

"""

AWAY = """\
[[away]]   # a holiday
start = {day}
end = {day}

"""

KITCHEN = """\
# What stands in your kitchen. Quantities are written with their unit, in quotes; those of pints,
# quarts and gallons say whose they are, so that they hold whatever your measures.

[[pot]]
name = "kettle"
volume = {pot}
power = {power}   # of its burner
kind = {kind}   # "electric", "gas" or "induction"
# batch = "8 oz"   # the batch you found to boil again within a minute
# basket = "80 sq in"   # its steaming basket, for a [[want]] with steam = true
# stove = "range"   # pots that share a stove's power; give it: [[stove]] name, power

# Where cooked and blanched food is cooled.
[[bath]]
name = "sink"
volume = "5 US gal"

[[oven]]
name = "oven"
trays = 2
tray_load = "4 lb"

{packs}
[[freezer]]
name = "freezer"
volume = {freezer}
used = {used}   # what lies in it already

[cold]
cellar = false
"""

GARDEN = """\
# What grows, what you buy in bulk, and what you want on the shelf by winter.
# `harvestplan crops` lists every crop, good and product.

{plantings}{bought}{wants}"""

PLANTING = """\
[[planting]]
crop = {crop}
{basis} = {amount}{remark}
{begun} = {day}

"""

EXAMPLE_BOUGHT = """\
[[bought]]
item = "dry bean"
amount = "8 lb"
on = {year}-06-05

[[fresh]]
crop = "tomato"
per_week = "3 lb"

"""

HINT_BOUGHT = """\
# Bought in bulk, and eaten fresh every week while it lasts:

# [[bought]]
# item = "dry bean"
# amount = "8 lb"
# on = {start}

# [[fresh]]
# crop = "tomato"
# per_week = "3 lb"

"""

WANT = """\
[[want]]
product = {product}
portions = {portions}
portion = {portion}
{priority}
"""


@dataclass(frozen=True)
class Grown:
    """A planting: `basis` is row, plants or area; `begun` is sown or set_out."""

    crop: str
    basis: str
    amount: str | int
    begun: str
    day: dt.date


@dataclass(frozen=True)
class WantAnswer:
    """Portions of a product and their size as written."""

    product: str
    portions: int
    portion: str
    priority: int = 1


@dataclass(frozen=True)
class Answers:
    """What a new folder is made from. Quantities are written with units, frosts as month-day."""

    start: dt.date
    end: dt.date
    name: str = "Our kitchen"
    timezone: str = "America/Chicago"
    altitude: str = "0 ft"
    measures: str = "US"
    place: tuple[float, float] | None = None
    hands: int = 1
    practised: str = "some"
    last_frost: str | None = None
    first_frost: str | None = None
    windows: tuple[FreeHours, ...] = (
        FreeHours(("tue", "thu"), dt.time(18), dt.time(21)),
        FreeHours(("sat",), dt.time(9), dt.time(12, 30)),
    )
    per_week: int = 2
    away: tuple[dt.date, ...] = ()
    pot: str = "8 US qt"
    power: str = "1.8 kW"
    kind: str = "electric"
    sealer: str = "chamber"
    bar: str | None = "12 in"
    bar_inches: float = 12
    freezer: str = "7 cu ft"
    used: str = "1 cu ft"
    grown: tuple[Grown, ...] = ()
    wanted: tuple[WantAnswer, ...] = ()
    bought: str = HINT_BOUGHT

    @classmethod
    def example(cls, today: dt.date) -> Answers:
        """An example that plans something as it stands, for the season ahead."""
        year = season_year(today)
        return cls(
            start=dt.date(year, 5, 1),
            end=dt.date(year, 10, 31),
            grown=(
                Grown("snap bean", "row", "30 ft", begun="sown", day=dt.date(year, 5, 15)),
                Grown("tomato", "plants", 6, begun="set_out", day=dt.date(year, 5, 20)),
            ),
            wanted=(
                WantAnswer("snap bean, cut", 20, "12 oz"),
                WantAnswer("tomato, purée", 10, "2 US cups", priority=2),
                WantAnswer("dry bean, sealed", 8, "1 lb"),
            ),
            bought=EXAMPLE_BOUGHT,
        )


def season_year(today: dt.date) -> int:
    """The year whose summer is ahead."""
    return today.year if today.month < 8 else today.year + 1


def refuse_where_files_are(folder: Path) -> None:
    """Raises FilesNeedMending where one of the three files is already in `folder`."""
    there = [folder / name for name in NAMES if (folder / name).exists()]
    if there:
        raise FilesNeedMending(
            [
                Flaw(
                    str(path), None, "", message="is already there.", hint="Choose an empty folder."
                )
                for path in there
            ]
        )


def write_starter(folder: Path, answers: Answers) -> list[Path]:
    """Writes the three files into `folder` (made if needed).

    Raises
    ------
    FilesNeedMending
        Where one of them is already there; nothing is written then.
    """
    refuse_where_files_are(folder)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, text in files_for(answers).items():
        path = folder / name
        write_atomic(path, text.encode("utf-8"))
        written.append(path)
    return written


def files_for(answers: Answers) -> dict[str, str]:
    """The text of each file by its name."""
    texts = (_household(answers), _kitchen(answers), _garden(answers))
    return dict(zip(NAMES, texts, strict=True))


def _household(a: Answers) -> str:
    windows = "".join(
        WINDOW.format(days=", ".join(map(quoted, w.days)), start=w.start, end=w.end)
        for w in a.windows
    )
    return HOUSEHOLD.format(
        name=quoted(a.name),
        timezone=quoted(a.timezone),
        altitude=quoted(a.altitude),
        measures=quoted(a.measures),
        hands=a.hands,
        practised=quoted(a.practised),
        start=a.start,
        end=a.end,
        per_week=a.per_week,
        weather=_weather(a),
        windows=windows.rstrip() + "\n",
        year=a.start.year,
        away="".join(AWAY.format(day=each) for each in a.away),
    )


def _weather(a: Answers) -> str:
    frosts = [(key, getattr(a, key)) for key in ("last_frost", "first_frost")]
    known = "".join(f"{key} = {quoted(day)}\n" for key, day in frosts if day)
    if a.place is not None:
        known += PLACE + "latitude = {}\nlongitude = {}\n".format(*a.place)
    return WEATHER.format(known=known) if known else NO_WEATHER


def _kitchen(a: Answers) -> str:
    return KITCHEN.format(
        pot=quoted(a.pot),
        power=quoted(a.power),
        kind=quoted(a.kind),
        packs=packs_text(a.sealer, a.bar, a.bar_inches, litres=a.measures != "US"),
        freezer=quoted(a.freezer),
        used=quoted(a.used),
    )


def _garden(a: Answers) -> str:
    plantings = [
        PLANTING.format(
            crop=quoted(g.crop),
            basis=g.basis,
            amount=g.amount if isinstance(g.amount, int) else quoted(g.amount),
            remark='   # or plants = 12, or area = "4x10 ft"'
            if n == 0 and g.basis == "row"
            else "",
            begun=g.begun,
            day=g.day,
        )
        for n, g in enumerate(a.grown)
    ]
    wants = [
        WANT.format(
            product=quoted(want.product),
            portions=want.portions,
            portion=quoted(want.portion),
            priority=f"priority = {want.priority}\n" if want.priority != 1 else "",
        )
        for want in a.wanted
    ]
    return GARDEN.format(
        plantings="".join(plantings),
        bought=a.bought.format(year=a.start.year, start=a.start),
        wants="".join(wants).rstrip() + "\n",
    )


def quoted(text: str) -> str:
    """As a TOML string; JSON's escapes are TOML's, but for the one character DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
