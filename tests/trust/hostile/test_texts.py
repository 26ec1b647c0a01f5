"""Bytes of every kind in every file that people write: read, or refused with file and line."""

from __future__ import annotations

import itertools
from pathlib import Path

from each_case import each
from trust.hostile.ending import contents, run
from trust.small_folder import write_small

BEANS = "2027-06-01 picked snap bean 2 lb #aaaa"
SPOILED = {
    "UTF-16": "x = 1\n".encode("utf-16"),
    "UTF-16 without a mark": "x = 1\n".encode("utf-16-le"),
    "UTF-32": "x = 1\n".encode("utf-32"),
    "Latin-1": 'x = "é"\n'.encode("latin-1"),
    "cp1252": "x = “é”\n".encode("cp1252"),
    "half a letter": "x = é".encode()[:-1],
    "a surrogate": b"x = \xed\xa0\x80\n",
    "overlong": b"x = \xc0\xaf\n",
    "NUL": b"\0\0\0\0",
    "all bytes": bytes(range(256)),
    "an escape code": b'x = "a\x1b[2J"\n',
    "a turn": 'x = "a\u202eb"\n'.encode(),
    "a tag": 'x = "a\U000e0041b"\n'.encode(),
    "a line separator": 'x = "a\u2028b"\n'.encode(),
    "NEL": 'x = "a\x85b"\n'.encode(),
    "a blank of no width": 'x = "a\u200bb"\n'.encode(),
    "carriage returns": b"x = 1\ry = 2\r",
    "two marks": b"\xef\xbb\xbf\xef\xbb\xbfx = 1\n",
    "a megabyte in a line": b"x" * 1_000_000,
    "a line of blanks": b" " * 200_000 + b"x\n",
    "quotes": b'"' * 50_000,
    "semicolons": b";" * 50_000 + b"x",
    "brackets": b"[" * 50_000,
    "dots": b"a" + b".a" * 50_000,
    "no end": b"x = '''",
    "many lines": b"x\n" * 100_000,
    "too large": b"# x\n" * 1_500_000,
    "a page": b"<!DOCTYPE html><html>sign in</html>",
    "a program": b"\x7fELF\x02\x01\x01" + bytes(2000),
    "a packed file": b"\x1f\x8b\x08" + bytes(100),
}
FILES = ("garden.toml", "more.toml", "crops/own.toml", "crops/sources.toml", "crops/staples.toml",
         "diary.txt", "diary (1).txt", "weather.csv", "family.ics")  # fmt: skip
NAMED = '[weather]\ndaily = "weather.csv"\n[calendars]\nbusy = ["family.ics"]\n'
HEADS = {"diary.txt": BEANS + "\n", "diary (1).txt": BEANS + "\n"}
COMMANDS = (("plan", "--quiet", "--as-of", "2027-06-02"), ("stock", "--as-of", "2027-06-02"),
            ("picked", "snap bean", "1 lb", "--on", "2027-06-02"))  # fmt: skip
BESIDE = ("weather.csv", "family.ics")


@each(("name", "kind"), itertools.product(FILES, SPOILED))
def test_bytes_of_every_kind(tmp_path: Path, name: str, kind: str) -> None:
    """270 files, each asked by one command; what a person wrote stays as it is."""
    folder = write_small(tmp_path / "season")
    (folder / "crops").mkdir()
    if name in BESIDE:
        (folder / "named.toml").write_text(NAMED, encoding="utf-8")
        (folder / "weather.csv").write_text("date,tmin_c,tmax_c\n2026-01-01,1,2\n")
        (folder / "family.ics").write_text("BEGIN:VCALENDAR\nVERSION:2.0\nEND:VCALENDAR\n")
    (folder / name).write_bytes(HEADS.get(name, "").encode() + SPOILED[kind])
    before = contents(folder)
    words = COMMANDS[0] if name in BESIDE else COMMANDS[1 + len(kind) % 2]
    ended = run(*words, "--in", str(folder))
    assert ended.code in (0, 3), ended
    assert ended.code == 0 or name.rpartition("/")[2] in ended.told or "diary" in name, ended
    after = contents(folder, (".plan.lock", ".diary.lock"))
    assert all(
        after[each_one] == before[each_one] for each_one in before if each_one != "diary.txt"
    )
