"""A household with a plan, a calendar of its own on a server, and what it does there."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from pathlib import Path

from outputs.calendar.dav_server import USER, ask
from season_tables import kitchen
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.kinds import KINDS
from harvestplan.outputs.calendar.publish import Done, publish
from harvestplan.outputs.calendar.pulled import Taken, take_in, waiting
from harvestplan.outputs.calendar.server import Login
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file import read_plan
from harvestplan.plan.models import Plan, Session
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

SPRING = dt.date(2027, 4, 1)


HOME = """\
[household]
name = "The Lane"
timezone = "America/Chicago"

[season]
start = 2027-05-01
end = 2027-10-31
max_sessions_per_week = 2

[[window]]
days = ["tue", "thu"]
start = 18:00:00
end = 21:00:00

[[window]]
days = ["sat"]
start = 09:00:00
end = 12:30:00

[[oven]]
name = "oven"
trays = 2
tray_load = "4 lb"

"""


GARDEN = """\
[[planting]]
crop = "snap bean"
row = "30 ft"
sown = 2027-05-15

[[planting]]
crop = "tomato"
plants = 6
set_out = 2027-05-20

[[want]]
product = "snap bean, cut"
portions = 20
portion = "12 oz"

[[want]]
product = "tomato, purée"
portions = 10
portion = "2 cups"
"""


SEASON = HOME + kitchen(sealer='kind = "chamber"\nbar = "12 in"') + GARDEN


QUICK = Effort(nodes=30, nearby=0.5, rounds=1)


@dataclass(frozen=True)
class Home:
    """A season folder with a published plan, and its calendar on a server."""

    folder: Path
    address: str

    @property
    def plan(self) -> Plan:
        return read_plan(self.folder / "out" / "plan.json")

    @property
    def calendar(self) -> Collection:
        return Collection(self.address, Login(USER, "spoon"))

    def live(self) -> list[Session]:
        return [s for s in self.plan.sessions if s.status != "cancelled"]

    def movable(self) -> Session:
        """A session whose food keeps until the next evening, when nothing else is on."""
        lots = {lot.id: lot for lot in self.plan.lots}
        live = self.live()
        days = {session.start.date() for session in live}
        for session in live[:-1]:
            after = session.start.date() + dt.timedelta(days=1)
            food = [lots[share.lot] for run in session.runs for share in run.lots]
            if after not in days and all(lot.keep_until >= after for lot in food):
                return session
        raise AssertionError("no session of this season can move by a day")

    def plan_again(self, day: dt.date = SPRING) -> Plan:
        path = self.folder / "out" / "plan.json"
        earlier = read_plan(path) if path.exists() else None
        household = read_household(self.folder, day)
        made = make_plan(household, day, earlier, effort=QUICK, say=lambda text: None)
        write_outputs(made, household.season, household.library, out=self.folder / "out")
        return made

    def put(self, put_back: bool = False) -> Done:
        """All kinds of entries, as `publish` puts them."""
        waits = waiting(self.folder, self.plan)
        return publish(
            self.folder / "out",
            self.calendar,
            holds=tuple(KINDS),
            waiting=waits,
            put_back=put_back,
        )

    def pull(self) -> list[Taken]:
        return take_in(self.folder, self.calendar, SPRING)

    def on_phone(self, session: Session, start: dt.datetime | None) -> None:
        """Move or delete the session as a calendar program does."""
        name = f"{session.uid}.ics"
        if start is None:
            assert ask(self.address, "DELETE", name)[0] == 200
            return
        text = ask(self.address, "GET", name)[1]
        number = int(re.findall(r"SEQUENCE:(\d+)", text)[0])
        text = text.replace(f"SEQUENCE:{number}", f"SEQUENCE:{number + 1}")
        end = start + (session.end - session.start)
        zone, begin, event = text.partition("BEGIN:VEVENT")
        for field, moment in (("DTSTART", start), ("DTEND", end)):
            stamp = moment.astimezone(dt.UTC).strftime("%Y%m%dT%H%M%SZ")
            event = re.sub(rf"{field}[^\r]*", f"{field}:{stamp}", event, count=1)
        text = zone + begin + event
        assert ask(self.address, "PUT", name, body=text)[0] in (201, 204)

    def server(self) -> dict[str, str]:
        return {Path(r.path).stem: r.data.decode() for r in self.calendar.read()}

    def diary(self) -> list[str]:
        path = self.folder / "diary.txt"
        lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
        return [re.sub(r" #\w+$", "", line) for line in lines]

    def findings(self) -> str:
        return CliRunner().invoke(app, ["check", "--in", str(self.folder)]).output
