"""A fortnight of a household whose commands are killed, whose disk fills, whose folder is synced
with another device, and whose clock goes back; what was confirmed is kept beside it."""

from __future__ import annotations

import datetime as dt
import random
import re
import socket
from collections import Counter
from pathlib import Path

from trust.forked import Before, Ended, full_disk, killed_at, run
from trust.judged_folder import judge_whole
from trust.small_folder import write_small

from harvestplan.errors import FilesNeedMending
from harvestplan.plan.file import read_plan
from harvestplan.records.diary import read_diary

DAY = dt.timedelta(days=1)
FIRST = dt.date(2027, 6, 1)
BEANS = '[[planting]]\ncrop = "snap bean"\nid = "beans"\nrow = "5 m"\nsown = 2027-04-10\n'
CODE = re.compile(r"#([0-9a-z]{4})\b")
KILLED = -9
TOLD = (0, 1, 2, 3, 4, KILLED)


class Fortnight:
    """One household's, drawn by `seed`; `confirmed` are the codes of lines that it was told are
    written, here or on the other device."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder, self.draw, self.today = write_small(folder), random.Random(seed), FIRST
        (folder / "beans.toml").write_text(BEANS, encoding="utf-8")
        self.diary = folder / "diary.txt"
        self.confirmed: list[str] = []
        self.done: list[object] = []
        """What happened, to tell where something is wrong."""
        self.other = 0

    def live(self) -> None:
        """Fourteen days, and at their end a quiet one on which all is judged once more."""
        for _ in range(14):
            self.today += DAY
            for _ in range(self.draw.randint(1, 2)):
                self.draw.choice(
                    (self._write, self._write, self._plan, self._sync, self._publish)
                )()
                self._judge()
        self._do(["picked", "snap bean", "1 lb", "--on", str(self.today)], None)
        self._judge()
        self._told_once(CODE.findall(self.diary.read_text(encoding="utf-8")))
        assert self._do(["plan", "--quiet", "--as-of", str(self.today)], None).code == 0, self.done
        self._valid()

    def _write(self) -> None:
        when = self.today - self.draw.choice((0, 0, 0, 1, 400)) * DAY  # late, or the clock is wrong
        words = self.draw.choice(
            (
                ["picked", "snap bean", f"{self.draw.randint(1, 4)} lb"],
                ["froze", "dry bean, sealed", str(self.draw.randint(1, 3))],
                ["ate", "dry bean, sealed", "1"],
                ["count", "dry bean, sealed", "2", "snap bean, cut", "3"],
                ["keep", "free", str(self.today + 2 * DAY)],
            )
        )
        before = self.diary.read_bytes() if self.diary.exists() else b""
        size = len(before) + self.draw.randint(0, 60)
        fault = self.draw.choice((None, None, self._kill(8), full_disk(size)))
        ended = self._do([*words, "--on", str(when)], fault)
        if ended.code == 0:
            self.confirmed += CODE.findall(ended.said)
        elif ended.code != KILLED and not self._copies():
            after = self.diary.read_bytes() if self.diary.exists() else b""
            assert after == before, (self.done, "something was written, and it was denied")

    def _plan(self) -> None:
        fault = self.draw.choice((None, self._kill(40), full_disk(self.draw.randint(100, 9000))))
        when = self.today - self.draw.choice((0, 0, 0, 30)) * DAY
        ended = self._do(["plan", "--quiet", "--as-of", str(when)], fault)
        if ended.code == 0:
            self._valid()

    def _sync(self) -> None:
        """Another device wrote a line of its own at the same time; or its copy is cleared away,
        when all of it stands in the diary."""
        copies = self._copies()
        if copies and self.draw.random() < 0.5:
            self._do(["picked", "snap bean", "1 lb", "--on", str(self.today)], None)
            self.confirmed += CODE.findall(self.done[-1].said)  # type: ignore[attr-defined]
            for path in copies:
                path.unlink()
            return
        self.other += 1
        code = f"z{self.other:03d}"
        text = self.diary.read_text(encoding="utf-8") if self.diary.exists() else ""
        lines = text.splitlines(keepends=True)
        theirs = "".join(lines[: self.draw.randint(len(lines) // 2, len(lines))])
        name = self.draw.choice(("diary.sync-conflict-{}.txt", "diary ({}).txt", "diary {}.txt"))
        line = f"{self.today} picked snap bean 2 lb #{code}\n"
        (self.folder / name.format(self.other)).write_text(theirs + line, encoding="utf-8")
        self.confirmed.append(code)

    def _publish(self) -> None:
        """To a server that is away, or into a folder."""
        if not (self.folder / "out" / "plan.json").exists():
            return
        with socket.socket() as nobody:
            nobody.bind(("127.0.0.1", 0))
            address = f"http://127.0.0.1:{nobody.getsockname()[1]}/cal/"
        words = self.draw.choice(([address], ["--folder", str(self.folder / "shared")]))
        self._do(["publish", *words], self.draw.choice((None, self._kill(10))))

    def _kill(self, within: int) -> Before:
        return killed_at(self.folder, self.draw.randint(1, within))

    def _copies(self) -> list[Path]:
        return [path for path in self.folder.glob("diary*.txt") if path != self.diary]

    def _do(self, words: list[str], fault: Before | None) -> Ended:
        ended = run([*words, "--in", str(self.folder)], fault)
        self.done += [words, ended]
        both = ended.said + ended.told
        assert ended.code in TOLD and "our fault" not in both and "Traceback" not in both, self.done
        return ended

    def _judge(self) -> None:
        """The diary has every confirmed line once; what lies in out/ is whole."""
        try:
            events = read_diary(self.folder).events
        except FilesNeedMending as error:
            raise AssertionError((self.done, str(error))) from None
        self._told_once([event.code for event in events])
        plan = self.folder / "out" / "plan.json"
        if plan.exists():
            read_plan(plan)

    def _told_once(self, codes: list[str]) -> None:
        times = Counter(codes)
        wrong = {code: times[code] for code in self.confirmed if times[code] != 1}
        assert not wrong, (wrong, self.done)
        assert max(times.values(), default=1) == 1, (times, self.done)

    def _valid(self) -> None:
        judge_whole(self.folder / "out")
        ended = run(["check", "--in", str(self.folder)])
        assert ended.code == 0, (ended, self.done)
