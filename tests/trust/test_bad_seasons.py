"""Broken and hostile season folders through the whole command: a sentence, never a crash."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from counted import counted
from trust.small_folder import FILES, GARDEN, KITCHEN, command, write_small

from harvestplan.inputs import toml_file

MENDING, NO_PLAN, FINE = 3, 4, 0
MUCH = 20_000_000
"""Calls for one folder: most take 270,000, that of twenty thousand plantings six million."""
HOUSE, KITCH, GARD = FILES

# (what is wrong, file, text, replacement, exit code, line named or None, words of the message)
SLIPS: list[tuple[str, str, str, str, int, int | None, tuple[str, ...]]] = [
    # how it is spelt
    ("no closing bracket", HOUSE, "[season]", "[season", MENDING, 5, ("[season]",)),
    ("a colon for a sign", HOUSE, "name = ", "name: ", MENDING, 2, ("=",)),
    ("a comma between keys", HOUSE, "end = 12:00:00", "end = 12:00:00,", MENDING, 12, ()),
    ("a key twice", HOUSE, 'name = "The Lane"', 'name = "A"\nname = "B"', MENDING, 3, ()),
    ("a half string", HOUSE, '"The Lane"', '"The Lane', MENDING, 2, ("quote",)),
    ("an endless text", HOUSE, '"The Lane"', '"""The Lane', MENDING, 2, ()),
    ("an unknown escape", HOUSE, '"The Lane"', '"The \\Lane"', MENDING, 2, ()),
    ("a surrogate escape", HOUSE, '"The Lane"', '"The \\uD800"', MENDING, 2, ()),
    ("a control character", HOUSE, '"The Lane"', '"The \x1b[31mLane"', MENDING, 2, ()),
    ("nothing behind the sign", GARD, 'portion = "1 lb"', "portion =", MENDING, 9, ()),
    ("a word without quotes", GARD, '"1 lb"', "lb", MENDING, 9, ()),
    ("a hand-drawn line", GARD, "[[want]]", "-----\n[[want]]", MENDING, 6, ()),
    ("a dotted key", GARD, "portions = 4", "want.portions = 4", MENDING, 8, ()),
    ("a list for a text", GARD, '"dry bean, sealed"', '["dry bean"]', MENDING, 7, ()),
    ("a table for a text", GARD, '"1 lb"', "{ lb = 1 }", MENDING, 9, ()),
    ("yes for true", KITCH, 'power = "1.8 kW"', 'power = "1.8 kW"\none_minute = yes', MENDING, 5,
     ("true",)),
    # kinds and sizes of numbers
    ("a bare number", GARD, '"1 lb"', "1", MENDING, 9, ("unit",)),
    ("not a number", GARD, "portions = 4", "portions = nan", MENDING, 8, ()),
    ("an infinite number", GARD, "portions = 4", "portions = inf", MENDING, 8, ()),
    ("an infinite priority", GARD, "portions = 4", "portions = 4\npriority = inf", MENDING, 9, ()),
    ("a priority that is no number", GARD, "portions = 4", "portions = 4\npriority = nan", MENDING,
     9, ()),
    ("draws that are no number", GARD, "portions = 4", "portions = 4\nper_week = nan", MENDING, 9,
     ()),
    ("a price that is no number", KITCH, 'film = "3 mil"', 'film = "3 mil"\nprice = nan', MENDING,
     19, ()),
    ("an endless price", KITCH, 'film = "3 mil"', 'film = "3 mil"\nprice = inf', MENDING, 19, ()),
    ("an absurd price", KITCH, 'film = "3 mil"', 'film = "3 mil"\nprice = 1e300', MENDING, 19, ()),
    ("an absurd stock", KITCH, 'film = "3 mil"', f'film = "3 mil"\nin_stock = {10**30}', MENDING,
     19, ()),
    ("a fraction of a portion", GARD, "portions = 4", "portions = 4.5", MENDING, 8, ()),
    ("fewer than none", GARD, "portions = 4", "portions = -4", MENDING, 8, ()),
    ("a huge number", GARD, "portions = 4", f"portions = {'9' * 400}", MENDING, 8, ()),
    ("a number too long to read", GARD, "portions = 4", f"portions = {'9' * 4500}", MENDING, None,
     ("too long",)),
    ("a hundred thousand portions", GARD, "portions = 4", "portions = 100000", MENDING, 8, ()),
    ("a truth for a number", GARD, "portions = 4", "portions = true", MENDING, 8, ()),
    ("an infinite mass", GARD, '"1 lb"', '"inf lb"', MENDING, 9, ()),
    ("a mass in powers", GARD, '"8 lb"', '"1e9 lb"', MENDING, 3, ()),
    ("a mass of tons", GARD, '"8 lb"', '"99999999 lb"', MENDING, 3, ("range",)),
    ("a mass below nought", GARD, '"8 lb"', '"-8 lb"', MENDING, 3, ()),
    ("no mass at all", GARD, '"8 lb"', '"0 lb"', MENDING, 3, ("range",)),
    ("a pot of nothing", KITCH, '"8 qt"', '"0 qt"', MENDING, 3, ("range",)),
    ("a pot as large as a lake", KITCH, '"8 qt"', '"900000 gal"', MENDING, 3, ("range",)),
    ("a burner of nothing", KITCH, '"1.8 kW"', '"0 W"', MENDING, 4, ("range",)),
    ("a pouch of nothing", KITCH, 'width = "8 in"', 'width = "0 in"', MENDING, 16, ("range",)),
    ("a freezer of nothing", KITCH, '"7 cu ft"', '"0 cu ft"', MENDING, 22, ("range",)),
    ("a division by nought", GARD, '"8 lb"', '"1/0 lb"', MENDING, 3, ()),
    ("digits of another script", GARD, '"8 lb"', '"٨ lb"', MENDING, 3, ()),
    ("ten thousand letters of unit", GARD, '"8 lb"', f'"8 {"l" * 10_000}"', MENDING, 3, ()),
    # dates and times
    ("a leap day that is none", GARD, "2027-06-04", "2027-02-29", MENDING, 4, ("no such date",)),
    ("a thirteenth month", HOUSE, "2027-08-31", "2027-13-31", MENDING, 7, ()),
    ("the year nought", HOUSE, "2027-06-01", "0000-06-01", MENDING, 6, ()),
    ("a season of a thousand years", HOUSE, "2027-08-31", "3027-08-31", MENDING, 7, ()),
    ("the last year there is", HOUSE, "2027-06-01\nend = 2027-08-31", "9999-06-01\n"
     "end = 9999-12-31", MENDING, None, ()),
    ("the first year there is", HOUSE, "2027-06-01\nend = 2027-08-31", "0001-01-01\n"
     "end = 0001-05-31", MENDING, None, ()),
    ("a date for a time", HOUSE, "start = 09:00:00", "start = 2027-06-01", MENDING, 11, ()),
    ("a moment for a date", HOUSE, "2027-06-01", "2027-06-01T10:00:00Z", MENDING, 6, ()),
    ("a window past midnight", HOUSE, "end = 12:00:00", "end = 01:00:00", MENDING, 12, ()),
    ("a day that is none", HOUSE, '"sat"', '"caturday"', MENDING, 10, ()),
    ("no day", HOUSE, '["sat"]', "[]", MENDING, 10, ()),
    ("a zone that is none", HOUSE, "America/Chicago", "America/Chicage", MENDING, 3, ("Chicago",)),
    ("a zone that is a path", HOUSE, "America/Chicago", "../../etc/passwd", MENDING, 3, ()),
    ("a zone that is a folder", HOUSE, "America/Chicago", "America", MENDING, 3, ()),
    # names
    ("a name of nothing", HOUSE, "The Lane", "", MENDING, 2, ()),
    ("a name of four thousand letters", HOUSE, "The Lane", "x" * 4_000, MENDING, 2, ()),
    ("a crop of ten thousand letters", GARD, "dry bean, sealed", "x" * 10_000, MENDING, 7, ()),
    ("a table of ten thousand letters", GARD, "[[want]]", f"[[{'w' * 10_000}]]", MENDING, 6, ()),
    ("a weather file elsewhere", HOUSE, "[season]", '[weather]\ndaily = "/etc/hostname"\n[season]',
     MENDING, 6, ("outside",)),
    ("a weather file that is a folder", HOUSE, "[season]", '[weather]\ndaily = "."\n[season]',
     MENDING, 6, ()),
    ("a busy file up the path", HOUSE, "[season]", '[calendars]\nbusy = ["../x.ics"]\n[season]',
     MENDING, 6, ("outside",)),
    ("a busy file that is the season", HOUSE, "[season]",
     '[calendars]\nbusy = ["garden.toml"]\n[season]', MENDING, None, ("garden.toml",)),
    ("markup in a name", HOUSE, "The Lane", "</script><script>alert(1)</script>", FINE, None, ()),
    ("a formula for a name", HOUSE, "The Lane", "=1+1", FINE, None, ()),
    ("marks of direction in a name", HOUSE, "The Lane", "\\u202Eenal", MENDING, 2, ("seen",)),
    ("a line break in a name", HOUSE, "The Lane", "The\\r\\nATTENDEE:x", MENDING, 2, ("seen",)),
    ("a nul in a name", HOUSE, "The Lane", "The\\u0000Lane", MENDING, 2, ("seen",)),
    ("an escape in an id", GARD, "[[want]]", '[[planting]]\ncrop = "kale"\nplants = 1\n'
     'sown = 2027-06-01\nid = "\\u001b[2J"\n[[want]]', MENDING, 10, ("seen",)),
    ("a family for a name", HOUSE, "The Lane", "👨‍👩‍👧 Lane", FINE, None, ()),
    ("a path for a pouch", KITCH, '"quart"', '"../../quart"', FINE, None, ()),
    ("a formula for a pouch", KITCH, '"quart"', "'=cmd|\"/c calc\"!A1'", FINE, None, ()),
    ("nothing wanted", GARD, "portions = 4", "portions = 0", FINE, None, ()),
    ("no time at all", HOUSE, 'start = 09:00:00', 'start = 11:59:00', FINE, None, ()),
    ("always away", HOUSE, "[season]", "[[away]]\nstart = 2027-06-01\nend = 2027-08-31\n[season]",
     NO_PLAN, None, ("[[away]]",)),
]  # fmt: skip


@pytest.fixture
def judge(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., str]:
    """Plans the small folder and holds what every broken folder must keep to."""
    folder = write_small(tmp_path / "season")

    def run(code: int, words: tuple[str, ...] = (), where: str = "") -> str:
        before = _contents(folder)
        asked = ("plan", "--quiet", "--in", str(folder), "--as-of", "2027-05-01")
        (left, said, told), calls = counted(lambda: command(capsys, monkeypatch, *asked))
        assert calls < MUCH
        assert left == code, told
        assert "Traceback" not in said + told and "our fault" not in told
        assert "\x1b" not in said + told and "\0" not in said + told
        assert len(told) < 20_000
        for word in (*words, where):
            assert word in told
        if code != FINE:
            assert told.strip() and not (folder / "out").exists()
        assert {name: _contents(folder)[name] for name in before} == before
        return told

    return run


def _contents(folder: Path) -> dict[str, bytes]:
    files = (p for p in folder.rglob("*") if p.is_file() and os.access(p, os.R_OK))
    return {str(path): path.read_bytes() for path in files if "out" not in path.parts[-3:]}


@pytest.mark.parametrize("slip", SLIPS, ids=[slip[0] for slip in SLIPS])
def test_a_slip_ends_in_a_sentence_with_its_place(
    judge: Callable[..., str],
    tmp_path: Path,
    slip: tuple[str, str, str, str, int, int | None, tuple[str, ...]],
) -> None:
    _, name, text, replacement, code, line, words = slip
    path = tmp_path / "season" / name
    before = path.read_text(encoding="utf-8")
    assert text in before
    path.write_bytes(before.replace(text, replacement, 1).encode("utf-8"))
    judge(code, words, f"{name}, line {line}:" if line else "")


# (what is wrong, file, lines put at its end, line named or None for a plan all the same, words)
ADDED: list[tuple[str, str, str, int | None, tuple[str, ...]]] = [
    ("two pots of one name", KITCH, '[[pot]]\nname = "kettle"\nvolume = "4 qt"\npower = "1 kW"\n',
     25, ("line 2", "already used")),
    ("two pouches of one name", KITCH, '[[pouch]]\nname = "quart"\nwidth = "6 in"\n'
     'length = "8 in"\nfilm = "3 mil"\n', 25, ("line 15", "already used")),
    ("two freezers of one name", KITCH, '[[freezer]]\nname = "chest"\nvolume = "3 cu ft"\n', 25,
     ("already used",)),
    ("a bath called like the pot", KITCH, '[[bath]]\nname = "kettle"\nvolume = "4 gal"\n', 25,
     ("already used",)),
    ("a want twice", GARD, '[[want]]\nproduct = "dry bean, sealed"\nportions = 2\n'
     'portion = "1 lb"\n', 11, ("wanted twice",)),
    ("eaten fresh twice, under two of its names", GARD, '[[fresh]]\ncrop = "snap bean"\n'
     'per_week = "1 lb"\n[[fresh]]\ncrop = "green bean"\nper_week = "1 lb"\n', 14,
     ("eaten fresh twice",)),
    ("two plantings of one id", GARD, '[[planting]]\nid = "a"\ncrop = "kale"\nplants = 1\n'
     'sown = 2027-06-01\n' * 2, 16, ("already used",)),
    ("sown and set out", GARD, '[[planting]]\ncrop = "kale"\nplants = 1\nsown = 2027-06-01\n'
     'set_out = 2027-05-01\n', 10, ("sown or set_out",)),
    ("plants and a row", GARD, '[[planting]]\ncrop = "kale"\nplants = 1\nrow = "5 ft"\n'
     'sown = 2027-06-01\n', 10, ("plants, row or area",)),
    ("a billion plants", GARD, '[[planting]]\ncrop = "kale"\nplants = 1000000000\n'
     'sown = 2027-06-01\n', 12, ("at most",)),
    ("sown in another century", GARD, '[[planting]]\ncrop = "kale"\nplants = 1\n'
     'sown = 1800-06-01\n', 13, ("too long ago",)),
    ("ripe at once", GARD, '[[planting]]\ncrop = "kale"\nplants = 1\nsown = 2027-06-01\n'
     'days_to_maturity = 0\n', 14, ("at least",)),
    ("ripe before it is sown", GARD, '[[planting]]\ncrop = "kale"\nplants = 1\n'
     'sown = 2027-06-01\ndays_to_maturity = -5\n', 14, ("at least",)),
    ("picked before it is sown", GARD, '[[planting]]\ncrop = "kale"\nplants = 1\n'
     'sown = 2027-06-01\nfirst_pick = 2027-05-01\n', 14, ("before it is planted",)),
    ("drawn until before it begins", GARD, "from = 2027-09-01\nuntil = 2027-08-01\n", 11,
     ("until", "from")),
    ("frozen in years to come", GARD, '[[stored]]\nproduct = "dry bean, sealed"\nportions = 2\n'
     'portion = "1 lb"\nfrozen_on = 2029-01-01\n', 14, ("after the season",)),
    ("bought twice on a day", GARD, '[[bought]]\nitem = "dry bean"\namount = "8 lb"\n'
     'on = 2027-06-04\n', None, ()),
    ("back before leaving", HOUSE, "[[away]]\nstart = 2027-07-10\nend = 2027-07-01\n", 15,
     ("before you leave",)),
    ("time lost on the way", HOUSE, '[calendars]\ntravel = "-5 min"\n', 14, ("below zero",)),
    ("a year on the way", HOUSE, '[calendars]\ntravel = "9999 h"\n', 14, ("Allowed",)),
    ("no hands", HOUSE, "hands = 0\n", 13, ("at least 1",)),
    ("hands below nought", HOUSE, "hands = -1\n", 13, ("at least 1",)),
    ("a frost on no day", HOUSE, '[weather]\nlast_frost = "13-40"\n', 14, ("month-day",)),
    ("a frost on the leap day", HOUSE, '[weather]\nlast_frost = "02-29"\nfirst_frost = "10-02"\n',
     None, ()),
    ("frosts of the southern half", HOUSE, '[weather]\nlast_frost = "10-02"\n'
     'first_frost = "05-02"\n', None, ()),
    ("an unknown table", HOUSE, "[wether]\ndaily = 1\n", 13, ("weather",)),
    ("an unknown key", HOUSE, "hand = 2\n", 13, ("hands",)),
    ("an unknown crop", GARD, '[[planting]]\ncrop = "kalle"\nplants = 1\nsown = 2027-06-01\n', 11,
     ("kale",)),
]  # fmt: skip


@pytest.mark.parametrize("added", ADDED, ids=[each[0] for each in ADDED])
def test_lines_that_do_not_go_with_the_rest(
    judge: Callable[..., str],
    tmp_path: Path,
    added: tuple[str, str, str, int | None, tuple[str, ...]],
) -> None:
    _, name, text, line, words = added
    with (tmp_path / "season" / name).open("a", encoding="utf-8") as file:
        file.write(text)
    judge(MENDING if line else FINE, words, f"{name}, line {line}:" if line else "")


# (what is wrong, bytes of garden.toml, exit code, words)
WHOLE: list[tuple[str, bytes, int, tuple[str, ...]]] = [
    ("an empty file", b"", FINE, ()),
    ("only white space", b" \n\t\n\n", FINE, ()),
    ("a byte order mark", b"\xef\xbb\xbf" + GARDEN.encode(), FINE, ()),
    ("two byte order marks", b"\xef\xbb\xbf\xef\xbb\xbf" + GARDEN.encode(), MENDING,
     ("garden.toml, line 1",)),
    ("line ends of another system", GARDEN.replace("\n", "\r\n").encode(), FINE, ()),
    ("line ends of an old system", GARDEN.replace("\n", "\r").encode(), FINE, ()),
    ("UTF-16", GARDEN.encode("utf-16"), MENDING, ("garden.toml, line 1", "UTF-8")),
    ("UTF-16 without a mark", GARDEN.encode("utf-16-be"), MENDING, ("garden.toml", "UTF-8")),
    ("UTF-32", GARDEN.encode("utf-32"), MENDING, ("garden.toml", "UTF-8")),
    ("Latin-1", ("# purée\n" + GARDEN).encode("latin-1"), MENDING, ("garden.toml, line 1",)),
    ("a cut letter", GARDEN.encode() + b"# \xc3", MENDING, ("garden.toml, line 10",)),
    ("a nul far down", GARDEN.encode() + b"# " + b"x" * 300 + b"\0", MENDING, ("garden.toml",)),
    ("a picture", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256)), MENDING, ("garden.toml",)),
    ("JSON", b'{"want": [{"product": "dry bean"}]}', MENDING, ("garden.toml, line 1",)),
    ("a page", b"<!doctype html><p>not found</p>", MENDING, ("garden.toml, line 1",)),
    ("only brackets", b"[" * 3000, MENDING, ("garden.toml",)),
    ("deep lists", b"x = " + b"[" * 3000 + b"]" * 3000, MENDING, ("garden.toml",)),
    ("a single endless line", b"x = '" + b"a" * 1_900_000, MENDING, ("garden.toml, line 1",)),
    ("over two megabytes", b"#" * 2_100_000, MENDING, ("garden.toml", "2 MB")),
    ("ten thousand errors", b"what\n" * 10_000, MENDING, ("garden.toml, line 1",)),
    ("a thousand windows", GARDEN.encode() + b"".join(
        b'[[window]]\ndays = ["sat"]\nstart = %02d:%02d:00\nend = 20:00:00\n' % (6 + n // 60 % 12,
        n % 60) for n in range(1000)), FINE, ()),
    ("twenty thousand plantings", b'[[planting]]\ncrop="kale"\nplants=1\n' * 20_000, MENDING,
     ("garden.toml",)),
    ("a million dots", b".".join([b"a"] * 20_000) + b" = 1\n", MENDING, ("garden.toml",)),
]  # fmt: skip


@pytest.mark.parametrize("whole", WHOLE, ids=[each[0] for each in WHOLE])
def test_a_file_that_is_something_else(
    judge: Callable[..., str], tmp_path: Path, whole: tuple[str, bytes, int, tuple[str, ...]]
) -> None:
    _, data, code, words = whole
    (tmp_path / "season" / GARD).write_bytes(data)
    judge(code, words)


def _link_out(folder: Path) -> None:
    (folder.parent / "secret.toml").write_text('[[want]]\nproduct = "secret"\n')
    (folder / "zz.toml").symlink_to(folder.parent / "secret.toml")


def _link_to_itself(folder: Path) -> None:
    (folder / "zz.toml").symlink_to(folder / "zz.toml")


def _link_to_nothing(folder: Path) -> None:
    (folder / "zz.toml").symlink_to(folder / "gone.toml")


def _folder_for_a_file(folder: Path) -> None:
    (folder / "zz.toml").mkdir()


def _pipe(folder: Path) -> None:
    os.mkfifo(folder / "zz.toml")


def _crop_pipe(folder: Path) -> None:
    (folder / "crops").mkdir()
    os.mkfifo(folder / "crops" / "zz.toml")


def _weather_pipe(folder: Path) -> None:
    os.mkfifo(folder / "weather.csv")
    (folder / "zz.toml").write_text('[weather]\ndaily = "weather.csv"\n')


def _busy_pipe(folder: Path) -> None:
    os.mkfifo(folder / "busy.ics")
    (folder / "zz.toml").write_text('[calendars]\nbusy = ["busy.ics"]\n')


def _diary_folder(folder: Path) -> None:
    (folder / "diary.txt").mkdir()


def _same_twice(folder: Path) -> None:
    (folder / "zz.toml").write_text(KITCHEN)


def _empty_weather(folder: Path) -> None:
    (folder / "weather.csv").touch()
    (folder / "zz.toml").write_text('[weather]\ndaily = "weather.csv"\n')


def _endless_weather(folder: Path) -> None:
    (folder / "weather.csv").write_text("date,tmin_c,tmax_c\n2026-01-01,nan,inf\n")
    (folder / "zz.toml").write_text('[weather]\ndaily = "weather.csv"\n')


ODD = [
    (_link_out, "leads out"), (_link_to_itself, "zz.toml"), (_link_to_nothing, "zz.toml"),
    (_folder_for_a_file, "zz.toml"), (_pipe, "zz.toml"), (_crop_pipe, "zz.toml"),
    (_weather_pipe, "weather.csv"), (_busy_pipe, "busy.ics"), (_diary_folder, "diary.txt"),
    (_same_twice, "zz.toml, line 2"), (_empty_weather, "weather.csv"),
    (_endless_weather, "weather.csv, line 2"),
]  # fmt: skip


@pytest.mark.parametrize("odd", ODD, ids=[each[0].__name__.strip("_") for each in ODD])
def test_a_folder_with_something_odd_in_it(
    judge: Callable[..., str], tmp_path: Path, odd: tuple[Callable[[Path], None], str]
) -> None:
    make, word = odd
    make(tmp_path / "season")
    told = judge(MENDING, (word,))
    assert "secret" not in told.replace("secret.toml", "")


def _beside(name: str, data: bytes, table: str, outside: bool = False) -> Callable[[Path], None]:
    """A weather file or calendar with these bytes, named in the season; or a link to one outside"""

    def make(folder: Path) -> None:
        path = folder.parent / "elsewhere" if outside else folder / name
        path.write_bytes(data)
        if outside:
            (folder / name).symlink_to(path)
        (folder / "zz.toml").write_text(table)

    return make


WEATHER = '[weather]\ndaily = "weather.csv"\n'
BUSY = '[calendars]\nbusy = ["busy.ics"]\n'
HEAD = b"date,tmin_c,tmax_c\n"
CALENDAR = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nEND:VCALENDAR\r\n"
# (what is wrong, file, its bytes, table that names it, whether it is a link, words)
BESIDE = [
    ("weather upside down", "weather.csv", HEAD + b"2026-01-01,9,2\n", WEATHER, False, "line 2"),
    ("a day twice", "weather.csv", HEAD + b"2026-01-01,1,2\n" * 2, WEATHER, False, "line 3"),
    ("weather with semicolons", "weather.csv", b"date;tmin_c;tmax_c\n", WEATHER, False, "line 1"),
    ("weather in UTF-16", "weather.csv", "date,tmin_c,tmax_c\n".encode("utf-16"), WEATHER, False,
     "UTF-8"),
    ("weather in kelvin", "weather.csv", HEAD + b"2026-01-01,271,282\n", WEATHER, False, "line 2"),
    ("weather without days", "weather.csv", HEAD, WEATHER, False, "weather.csv"),
    ("weather on no day", "weather.csv", HEAD + b"2026-02-30,1,2\n", WEATHER, False, "line 2"),
    ("weather with a comma for the point", "weather.csv", HEAD + b"2026-02-03,1,5,2,5\n", WEATHER,
     False, "line 2"),
    ("weather elsewhere", "weather.csv", HEAD + b"2026-01-01,1,2\n", WEATHER, True, "outside"),
    ("a page for a calendar", "busy.ics", b"<html>sign in</html>", BUSY, False, "busy.ics, line 1"),
    ("an empty calendar", "busy.ics", b"", BUSY, False, "busy.ics, line 1"),
    ("a torn calendar", "busy.ics", CALENDAR[:-20], BUSY, False, "busy.ics"),
    ("a calendar elsewhere", "busy.ics", CALENDAR, BUSY, True, "outside"),
    ("a diary in UTF-16", "diary.txt", "2027-04-14 picked dry bean 1 lb\n".encode("utf-16"), "",
     False, "diary.txt, line 1"),
    ("a diary without dates", "diary.txt", b"picked dry bean 1 lb\n", "", False,
     "diary.txt, line 1"),
]  # fmt: skip


@pytest.mark.parametrize("beside", BESIDE, ids=[each[0] for each in BESIDE])
def test_a_file_beside_the_season(
    judge: Callable[..., str], tmp_path: Path, beside: tuple[str, str, bytes, str, bool, str]
) -> None:
    _, name, data, table, outside, word = beside
    _beside(name, data, table, outside=outside)(tmp_path / "season")
    judge(MENDING, (word,))


@pytest.mark.parametrize("name", ["a\nb.toml", "a\x1b[2Jb.toml", "-rf.toml", "a b;c$(d).toml"])
def test_a_file_of_a_hostile_name_is_told_on_one_line(
    judge: Callable[..., str], tmp_path: Path, name: str
) -> None:
    (tmp_path / "season" / name).write_text("x = 1\n")
    told = judge(MENDING, ("line 1",))
    assert ".toml, line 1: " in told.splitlines()[0]


def test_the_corpus_is_large() -> None:
    """Each folder is planned by the whole command; those with the day and the name count apart."""
    assert len(SLIPS) + len(ADDED) + len(WHOLE) + len(ODD) + len(BESIDE) >= 150


def test_a_file_that_may_not_be_read(
    judge: Callable[..., str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = toml_file.read_bounded

    def refuse(path: Path, largest: int) -> bytes:
        if path.name == GARD:
            raise PermissionError(13, "Permission denied", str(path))
        return read(path, largest)

    monkeypatch.setattr(toml_file, "read_bounded", refuse)
    judge(MENDING, (f"{GARD}: This file cannot be opened",))


@pytest.mark.parametrize("day", ["0001-01-01", "1500-01-01", "9999-12-31", "2027-02-30", "", "x"])
@pytest.mark.parametrize("words", [["plan"], ["forecast"], []], ids=str)
def test_a_day_that_cannot_be_meant(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: list[str],
    day: str,
) -> None:
    folder = write_small(tmp_path / "season")
    code, _, told = command(capsys, monkeypatch, *words, "--in", str(folder), "--as-of", day)
    assert code == 2
    assert "--as-of" in told and "our fault" not in told


@pytest.mark.parametrize("name", ["none", "a-file", "empty", ".", "n" * 300])
@pytest.mark.parametrize("words", [["plan"], ["check"], ["forecast"], ["card"], []], ids=str)
def test_a_folder_without_a_season_stays_as_it_is(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: list[str],
    name: str,
) -> None:
    (tmp_path / "a-file").write_text("mine")
    (tmp_path / "empty").mkdir()
    monkeypatch.chdir(tmp_path)
    code, _, told = command(capsys, monkeypatch, *words, "--in", name)
    assert code == (1 if len(name) > 255 else 3)
    assert told.strip() and "our fault" not in told
    left = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*"))
    assert left == ["a-file", "empty"]
