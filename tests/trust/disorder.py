"""A household that keeps no order: it writes down what it likes and when it likes, misses and moves
evenings, cuts them short, changes its files in summer, and plans in between."""

from __future__ import annotations

import datetime as dt
import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path

from trust.seasons import YEAR, write_season

from harvestplan.inputs.crops import Library
from harvestplan.plan.file import sound_plan
from harvestplan.plan.models import Session

FILES = ("household.toml", "kitchen.toml", "garden.toml")
LAST = dt.date(YEAR, 12, 20)
DAY = dt.timedelta(days=1)
LOOKS = ("", "stock", "forecast", "review", "book")
Words = list[str]


class Disorder:
    """A season folder of a seed and what its household does next, a command line at a time."""

    def __init__(self, folder: Path, seed: int, library: Library) -> None:
        self.folder = folder
        self.today = write_season(folder, seed, library)
        self._draw = random.Random(seed)
        self._before: tuple[Path, str] | None = None
        garden = (folder / "garden.toml").read_text(encoding="utf-8")
        self._products = re.findall(r'product = "(.+)"', garden)
        self._crops = re.findall(r'crop = "(.+)"', garden)
        self._plantings = re.findall(r'id = "(.+)"', garden) or ["nothing"]

    def commands(self) -> Iterator[Words]:
        """Command lines, each drawn when the one before is done; the first plans."""
        yield self._plan()
        for _ in range(self._draw.randint(10, 22)):
            self._time_passes()
            if self.today > LAST:
                return
            act = self._draw.choice(ACTS)
            words = act(self)
            if words is not None:
                yield words

    def take_back(self) -> None:
        """Undoes the last change of a file, where that has made it one that needs mending."""
        if self._before is not None:
            path, text = self._before
            path.write_text(text, encoding="utf-8")

    def _time_passes(self) -> None:
        """Mostly to a session or the day after; the days never go back."""
        ahead = [s for s in self._sessions() if s.start.date() >= self.today]
        if ahead and self._draw.random() < 0.6:
            there = self._draw.choice(ahead[:3]).start.date()
            self.today = max(self.today, there + self._draw.choice((-1, 0, 0, 0, 1, 2)) * DAY)
        else:
            self.today += self._draw.choice((0, 0, 1, 3, 9)) * DAY

    def _sessions(self) -> list[Session]:
        plan = sound_plan(self.folder)
        return [s for s in plan.sessions if s.status != "cancelled"] if plan else []

    def _near(self) -> Session | None:
        """A session of these days, else any."""
        found = self._sessions()
        near = [s for s in found if abs(s.start.date() - self.today) < 4 * DAY]
        return self._draw.choice(near or found) if found else None

    def _on(self, *words: str) -> Words:
        return [*words, "--on", self.today.isoformat()]

    def _plan(self) -> Words:
        return ["plan", "--quiet", "--as-of", self.today.isoformat()]

    def _plan_even_what_is_firm(self) -> Words:
        return [*self._plan(), "--move-firm"]

    def _cut_short(self) -> Words | None:
        """An evening of today laid out again from some minute on."""
        of_today = [s for s in self._sessions() if s.start.date() == self.today]
        if not of_today:
            return None
        session, draw = self._draw.choice(of_today), self._draw
        now = session.start + (session.end - session.start) * draw.random()
        until = now + (session.end - now) * draw.random()
        words = [*self._plan(), "--now", f"{now:%H:%M}"]
        if draw.random() < 0.5:
            words += ["--until", f"{until:%H:%M}"]
        return words + (["--behind", "15"] if draw.random() < 0.3 else [])

    def _pick(self) -> Words:
        crop = self._draw.choice(self._crops)
        return self._on("picked", crop, f"{self._draw.randint(1, 9)} lb")

    def _freeze(self) -> Words | None:
        """More or less of what a session makes, written that day or late."""
        session = self._near()
        if session is None or not session.runs:
            return None
        run, more = self._draw.choice(session.runs), self._draw.randint(-3, 2)
        day = min(session.start.date(), self.today)
        words = ["froze", run.product, str(max(0, run.pouches + more))]
        return [*words, "--on", day.isoformat()]

    def _use(self) -> Words:
        verb = self._draw.choice(("ate", "gave", "lost", "count"))
        return self._on(verb, self._draw.choice(self._products), str(self._draw.randint(0, 4)))

    def _keep_free(self) -> Words | None:
        """A day ahead, or one on which the session never was."""
        session = self._near()
        if session is None:
            return None
        time = [f"{session.start:%H:%M}"] if self._draw.random() < 0.3 else []
        return self._on("keep", "free", session.start.date().isoformat(), *time)

    def _move(self) -> Words | None:
        session, draw = self._near(), self._draw
        if session is None:
            return None
        later = dt.timedelta(days=draw.randint(-4, 6), minutes=draw.choice((0, 0, 30, -60)))
        there, to = (f"{t:%Y-%m-%d %H:%M}".split() for t in (session.start, session.start + later))
        return self._on("moved", "session", *there, "to", *to)

    def _undo(self) -> Words:
        return ["undo"]

    def _misfortune(self) -> Words:
        return self._on(
            *self._draw.choice((["power-cut", "5 h"], ["power-cut", "60 h"], ["lost", "all"]))
        )

    def _notice(self) -> Words:
        return self._on(
            self._draw.choice(("emerged", "flowering")), self._draw.choice(self._plantings)
        )

    def _look(self) -> Words:
        look = self._draw.choice(LOOKS)
        return [*([look] if look else []), "--as-of", self.today.isoformat()]

    def _change_a_file(self) -> Words | None:
        """Takes a table out, renames equipment, or changes some figures; then plans."""
        path = self.folder / self._draw.choice(FILES)
        text = path.read_text(encoding="utf-8")
        changed = self._draw.choice(CHANGES)(self._draw, text)
        if changed == text:
            return None
        self._before = path, text
        path.write_text(changed, encoding="utf-8")
        return self._plan()


def without_a_table(draw: random.Random, text: str) -> str:
    tables = re.split(r"(?m)^(?=\[)", text)
    several = [number for number, table in enumerate(tables) if table.startswith("[[")]
    gone = draw.choice(several) if several else None
    return "".join(table for number, table in enumerate(tables) if number != gone)


def with_other_names(draw: random.Random, text: str) -> str:
    return re.sub(
        r'name = "(pot 0|bath 0|freezer 0|pint|quart)"',
        lambda found: found[0] if draw.random() < 0.5 else f'name = "{found[1]} new"',
        text,
    )


def with_other_counts(draw: random.Random, text: str) -> str:
    return re.sub(
        r"(portions|hands|max_sessions|max_sessions_per_week) = (\d+)",
        lambda found: f"{found[1]} = {max(1, int(found[2]) + draw.randint(-4, 4))}",
        text,
    )


def with_other_amounts(draw: random.Random, text: str) -> str:
    def other(found: re.Match[str]) -> str:
        if draw.random() < 0.7:
            return found[0]
        return f'{found[1]} = "{float(found[2]) * draw.choice((0.5, 0.8, 1.2, 2)):.1f}'

    return re.sub(r'(portion|power|volume|batch|tray_load|used) = "([\d.]+)', other, text)


def with_a_journey(draw: random.Random, text: str) -> str:
    if "[household]" not in text:
        return text
    start = dt.date(YEAR, draw.randint(6, 9), draw.randint(1, 28))
    end = start + draw.randint(0, 12) * DAY
    return f"{text}\n[[away]]\nstart = {start}\nend = {end}\n"


CHANGES = (without_a_table, with_other_names, with_other_counts, with_other_amounts, with_a_journey)
ACTS: tuple[Callable[[Disorder], Words | None], ...] = (
    *[Disorder._plan] * 4,
    Disorder._plan_even_what_is_firm,
    *[Disorder._cut_short] * 2,
    Disorder._pick,
    *[Disorder._freeze] * 2,
    *[Disorder._use] * 2,
    *[Disorder._keep_free] * 2,
    *[Disorder._move] * 2,
    Disorder._undo,
    Disorder._misfortune,
    Disorder._notice,
    Disorder._look,
    *[Disorder._change_a_file] * 5,
)
