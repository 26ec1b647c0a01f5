"""Busy calendars of every size, and repeat rules made to hang whoever lays them out."""

from __future__ import annotations

import datetime as dt
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from counted import counted
from inputs.busy_calendar import BERLIN, FIRST, LAST, TIMED, ZONE, event, read, soon, wrap

from harvestplan.inputs import busy_guard as guarded_module
from harvestplan.inputs.busy import read_busy
from harvestplan.inputs.busy_blocks import Block
from harvestplan.inputs.busy_guard import Job, guarded
from harvestplan.inputs.busy_rules import plain_rule

EVERY_HOUR = "BYHOUR=" + ",".join(map(str, range(24)))
HOSTILE = [
    f"FREQ=DAILY;INTERVAL=7;BYDAY=TH;COUNT=9;{EVERY_HOUR}",
    f"FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29;BYDAY=MO;BYSETPOS=20;COUNT=9;{EVERY_HOUR}",
    f"FREQ=YEARLY;BYWEEKNO=53;BYDAY=MO;BYSETPOS=-99;COUNT=1;{EVERY_HOUR}",
    f"FREQ=MONTHLY;BYDAY=7MO;COUNT=5;{EVERY_HOUR}",
    "FREQ=DAILY;INTERVAL=7;BYDAY=TH;COUNT=9",
    "FREQ=YEARLY;BYSETPOS=366;BYDAY=MO",
]
"""A slow computer gives up what a fast one sees to be without end: both are right."""


@pytest.mark.parametrize("rule", HOSTILE)
def test_a_rule_that_never_comes_true_ends_in_time(tmp_path: Path, rule: str) -> None:
    bad = event(*TIMED, f"RRULE:{rule}", uid="bad").replace("Choir", "Trap")
    spans, warnings = soon(tmp_path, wrap(bad, event(*TIMED, uid="good")))
    assert "10-28 19:00-20:00" in spans and len(spans) < 1000
    assert all('"Trap"' in warning and "left out" in warning for warning in warnings)


ODD = "RRULE:FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1;COUNT=3"
TRAPPED = """
import os, time
from harvestplan.inputs import busy_child
real = busy_child.expand_job
def expand(job):
    for number, answer in enumerate(real(job)):
        if any("Trap" in block.text for block in job.series[number]):
            {what}
        yield answer
busy_child.expand_job = expand
busy_child.main()
"""


@pytest.mark.parametrize(
    "what", ["time.sleep(60)", "while True: pass", "os._exit(9)", "print('torn')"]
)
def test_what_hangs_or_dies_is_named_and_the_rest_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    (tmp_path / "trapped_child.py").write_text(TRAPPED.format(what=what))
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(guarded_module, "CHILD", "trapped_child")
    monkeypatch.setattr(guarded_module, "SECONDS", 4.0)
    odd, again = event(*TIMED, ODD, uid="odd"), event(*TIMED, ODD, uid="again")
    trap = event(*TIMED, ODD, uid="trap").replace("Choir", "Trap").replace("T19", "T09")
    spans, warnings = soon(tmp_path, wrap(odd, trap, again, event(*TIMED)))
    assert spans == ["10-28 19:00-20:00", "10-30 19:00-20:00", "11-30 19:00-20:00"]
    (warning,) = warnings
    assert warning.startswith('family.ics, line 11: the entry "Trap" has a repeat rule that takes')


def test_a_child_that_cannot_start_leaves_out_and_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guarded_module, "CHILD", "harvestplan.inputs.no_such_module")
    odd = event(*TIMED, "RRULE:FREQ=YEARLY;BYYEARDAY=301", uid="odd")
    spans, warnings = read(tmp_path, wrap(odd, event(*TIMED)))
    assert spans == ["10-28 19:00-20:00"]
    assert len(warnings) == 1 and "line 4" in warnings[0]


def test_the_child_is_held_to_its_memory() -> None:
    code = "from harvestplan.inputs import busy_child as c; c._limit(); bytearray(3_000_000_000)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert sys.platform != "linux" or "MemoryError" in done.stderr


def test_many_traps_end_as_one_does(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each is given up in turn; after a few the rest is left unlaid."""
    (tmp_path / "trapped_child.py").write_text(TRAPPED.format(what="time.sleep(60)"))
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(guarded_module, "CHILD", "trapped_child")
    monkeypatch.setattr(guarded_module, "SECONDS", 0.1)
    text = event(*TIMED, ODD).replace("Choir", "Trap").split("\n")
    series = [[Block("VEVENT", number, tuple(text))] for number in range(50)]
    children = []
    start = subprocess.Popen

    def counted_start(*words: Any, **more: Any) -> Any:
        children.append(start(*words, **more))
        return children[-1]

    monkeypatch.setattr(subprocess, "Popen", counted_start)
    assert list(guarded(Job("f", "UTC", FIRST, last=LAST, zones=[], series=series))) == [None] * 50
    assert len(children) == 5 and all(child.returncode for child in children)


@pytest.mark.parametrize(
    ("rule", "plain"),
    [
        ({"FREQ": ["WEEKLY"]}, True),
        ({"FREQ": ["WEEKLY"], "BYDAY": ["MO", "TH"], "COUNT": [20]}, True),
        ({"FREQ": ["MONTHLY"], "BYDAY": ["-1FR"]}, True),
        ({"FREQ": ["YEARLY"], "BYMONTH": [2], "BYMONTHDAY": [29]}, True),
        ({"FREQ": ["DAILY"], "COUNT": [1_000_000]}, False),
        ({"FREQ": ["MONTHLY"], "BYDAY": ["6MO"], "COUNT": [2]}, False),
        ({"FREQ": ["DAILY"], "BYHOUR": [7]}, False),
        ({"FREQ": ["YEARLY"], "BYSETPOS": [1], "BYDAY": ["MO"]}, False),
        ({"FREQ": ["MONTHLY"], "BYMONTHDAY": list(range(1, 20))}, False),
    ],
)
def test_which_rules_need_no_guard(rule: dict[str, list[object]], plain: bool) -> None:
    assert plain_rule(rule) == plain


@pytest.mark.parametrize(
    ("lines", "spans"),
    [
        (("DTSTART:20260901T190000", "DURATION:P5W"), 1),
        (("DTSTART:20260925T190000", "DURATION:P9DT23H"), 1),
        (("DTSTART:20260925T190000", "DURATION:PT900H"), 1),
        (("DTSTART:20260901T190000", "DURATION:PT2H"), 0),
        (("DTSTART:20260901T190000", "DURATION:PT2H", "RRULE:FREQ=WEEKLY;UNTIL=20260920"), 0),
        (("DTSTART:20260901T190000", "DURATION:PT2H", "RRULE:FREQ=MONTHLY;UNTIL=20261002"), 1),
        (("DTSTART:20260901T190000", "DURATION:PT2H", "RRULE:FREQ=WEEKLY;UNTIL=20260920",
          "RDATE:20261015T190000"), 1),
        (("DTSTART:20261208T190000", "DURATION:PT2H", "RRULE:FREQ=WEEKLY"), 0),
    ],
)  # fmt: skip
def test_the_quick_look_drops_nothing_that_matters(
    tmp_path: Path, lines: tuple[str, ...], spans: int
) -> None:
    found, warnings = read(tmp_path, wrap(event(*lines)))
    assert (len(found), warnings) == (spans, [])


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (event(*TIMED, *["BEGIN:X-A"] * 3000, *["END:X-A"] * 3000), "without end"),
        (event(*TIMED, "COMMENT:" + "x" * 2_000_000), "far too long"),
        (event(*TIMED, *["COMMENT:x", " y"] * 15_000), "far too long"),
    ],
)
def test_endless_entries(tmp_path: Path, bad: str, words: str) -> None:
    spans, warnings = read(tmp_path, wrap(bad, event(*TIMED, uid="good")))
    assert spans == ["10-28 19:00-20:00"]
    assert len(warnings) == 1 and words in warnings[0]


@pytest.mark.parametrize("rule", ["FREQ=SECONDLY", "FREQ=DAILY", "FREQ=YEARLY;INTERVAL=0"])
def test_time_zones_with_hostile_rules(tmp_path: Path, rule: str) -> None:
    zone = BERLIN.replace("TZOFFSETFROM", f"RRULE:{rule}\nTZOFFSETFROM")
    spans, warnings = soon(tmp_path, wrap(zone, event(*TIMED)))
    assert spans == ["10-28 19:00-20:00"]
    assert any("time zone cannot be read" in warning for warning in warnings)


def years_of_events(count: int) -> tuple[str, int]:
    """Ten years of one-off events, evenly spread, and how many of them lie in the season."""
    begin, step = dt.datetime(2017, 1, 1, 9), dt.timedelta(days=3650) / count
    entries, inside = [], 0
    for number in range(count):
        start = (begin + number * step).replace(second=0, microsecond=0)
        end = start + dt.timedelta(minutes=50)
        inside += FIRST <= start.date() <= LAST
        entries.append(
            event(
                f"DTSTART;TZID=America/New_York:{start:%Y%m%dT%H%M%S}",
                f"DTEND;TZID=America/New_York:{end:%Y%m%dT%H%M%S}",
                "DTSTAMP:20170101T000000Z",
                "CREATED:20170101T000000Z",
                "SEQUENCE:0",
                "LOCATION:The hall on the corner of the market",
                "DESCRIPTION:" + "Bring cake. " * 5,
                "BEGIN:VALARM",
                "ACTION:DISPLAY",
                "TRIGGER:-PT15M",
                "DURATION:PT5M",
                "REPEAT:2",
                "END:VALARM",
                uid=f"event-{number}",
            )
        )
    return wrap(*entries), inside


def test_three_thousand_events(tmp_path: Path) -> None:
    text, inside = years_of_events(3000)
    (spans, warnings), calls = counted(lambda: read(tmp_path, text))
    assert inside <= len(spans) <= inside + 4 and not warnings
    assert calls < 3000 * 700  # 217 were counted for each


MEASURE = """
import datetime as dt, json, resource, sys
from pathlib import Path
from zoneinfo import ZoneInfo
from harvestplan.inputs.busy import read_busy
spans, _ = read_busy(Path(sys.argv[1]), ZoneInfo("America/New_York"),
                     dt.date(2026, 10, 1), last=dt.date(2026, 11, 30))
most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
print(json.dumps([len(spans), most]))
"""


@pytest.mark.slow
def test_twenty_thousand_events(tmp_path: Path) -> None:
    text, inside = years_of_events(20_000)
    path = tmp_path / "family.ics"
    path.write_text(text, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, str(path)], capture_output=True, text=True, check=True
    )
    count, most = json.loads(done.stdout)
    assert inside <= count <= inside + 14
    assert most < 400_000_000
    assert read_busy(path, ZONE, LAST, last=LAST)[0]
