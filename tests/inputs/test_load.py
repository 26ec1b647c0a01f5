"""Loading a season: a sound folder, and a corpus of broken ones with file, line and words."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from inputs.season_folder import LIBRARY, SOUND, flaws_of, load, write

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.ids import called
from harvestplan.inputs.load import load_season


def test_a_sound_season(tmp_path: Path) -> None:
    loaded = load(write(tmp_path, season=SOUND))
    season = loaded.season
    assert loaded.folder == tmp_path
    assert season.household.timezone == "America/Chicago"
    assert season.window[0].start == dt.time(18, 30)
    assert season.pot[0].volume == pytest.approx(12 * 946.352946)
    assert season.planting[0].id == "snap-bean"
    assert season.want[0].product.startswith("snap bean, ")
    assert LIBRARY.find_product(season.want[0].product) == LIBRARY.find_product("snap bean")


def test_tables_may_be_spread_over_files(tmp_path: Path) -> None:
    head, tail = SOUND.split("[[pot]]")
    more = '[[pot]]\nname = "small"\nvolume = "4 L"\npower = "1 kW"\n'
    write(tmp_path, household=head, kitchen="[[pot]]" + tail, more=more)
    assert [pot.name for pot in load(tmp_path).season.pot] == ["kettle", "small"]


def test_byte_order_mark_and_windows_line_ends(tmp_path: Path) -> None:
    raw = b"\xef\xbb\xbf" + SOUND.replace("\n", "\r\n").encode()
    assert load(write(tmp_path, season=raw)).season == load(write(tmp_path, season=SOUND)).season


def test_short_times_are_understood(tmp_path: Path) -> None:
    short = SOUND.replace("18:30:00", "18:30 # after work")
    assert load(write(tmp_path, season=short)).season.window[0].start == dt.time(18, 30)


def test_measures_rule_every_file(tmp_path: Path) -> None:
    pot = '[[pot]]\nname = "early"\nvolume = "8 qt"\npower = "1 kW"\n'
    write(tmp_path, a=pot, season=SOUND.replace('"US"', '"UK"'))
    assert load(tmp_path).season.pot[0].volume == pytest.approx(8 * 1136.5225)


def test_planting_ids_are_unique(tmp_path: Path) -> None:
    more = '[[planting]]\ncrop = "{}"\nplants = 6\nsown = 2027-06-01\n'
    taken = more.format("snap bean") + 'id = "snap-bean-2"\n'
    also = LIBRARY.crops["snap bean"].also[0]
    write(tmp_path, season=SOUND, more=taken + more.format("Snap Bean") + more.format(also))
    plantings = load(tmp_path).season.planting
    assert sorted(str(planting.id) for planting in plantings) == [
        "snap-bean",
        "snap-bean-2",
        "snap-bean-3",
        "snap-bean-4",
    ]
    assert {planting.crop for planting in plantings} == {"snap bean"}


def test_no_window_at_all_is_for_the_planner_to_judge(tmp_path: Path) -> None:
    without = SOUND.split("[[window]]")[0] + "[[pot]]" + SOUND.split("[[pot]]")[1]
    assert load(write(tmp_path, season=without)).season.window == ()


def test_the_sound_season_has_no_pydantic_surprises(tmp_path: Path) -> None:
    """The assembled season is what the model itself would accept again."""
    season = load(write(tmp_path, season=SOUND)).season
    assert type(season).model_validate(season) is season
    assert season.sealer is not None and season.sealer.handling == 20.0


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


# (what to change in the sound file, to what, the text whose line is named, words of the message)
BROKEN = [
    # how TOML is written
    ('"The Lane"', "The Lane", "name = The Lane", ["quotes", 'name = "The Lane"']),
    ('"The Lane"', '"The Lane', "name = ", ["quote is missing", 'name = "The Lane"']),
    ('"The Lane"', "“The Lane”", "name = ", ["Curly quotes", 'name = "The Lane"']),
    ("sown = 2027-05-10", "sown: 2027-05-10", "sown:", ['":"', "sown = 2027-05-10"]),
    ("2027-05-10", "1/4/2027", "sown = ", ["year-month-day", "2027-01-04 or 2027-04-01"]),
    ("2027-05-10", "10.5.2027", "sown = ", ["year-month-day", "2027-05-10"]),
    ("2027-05-10", "2027-5-10", "sown = ", ["year-month-day", "2027-05-10"]),
    ("2027-05-10", "2027-02-30", "sown = ", ["no such date"]),
    ("18:30:00", "6pm", "start = 6pm", ["start = 18:00"]),
    ("18:30:00", "25:00", "start = 25", ["no such time"]),
    ('"12 qt"', "12 qt", "volume = 12", ['volume = "12 qt"']),
    ('"thu"]', '"thu"', "days = ", ["never closed"]),
    ('"thu"]', "thu]", "days = ", ["list stands in quotes"]),
    ("[[pot]]", "[[pot]", "[[pot]\n", ["not closed as it was opened", "[[pot]]"]),
    ("[household]", "[household", "[household", ["not closed", "[household]"]),
    ("portions = 20", "portions", "portions\n", ["name = value"]),
    ("portions = 20", "portions =", "portions =\n", ["has no value"]),
    ("portions = 20", "portions = 20\nportions = 30", "portions = 30", ["written twice"]),
    ("[season]", "[household]", "[household]\nstart", ["stands here again", "line 1"]),
    ('"The Lane"', '"The \\Lane"', "name = ", ["Write it twice"]),
    # what tables there are
    ("[[pot]]", "[pot]", "[pot]", ["double brackets", "[[pot]]"]),
    ("[household]", "[[household]]", "[[household]]", ["only one household", "single brackets"]),
    ("[[pot]]", "[[pots]]", "[[pots]]", ["no table [pots]", "Did you mean [[pot]]"]),
    ("[household]", 'zone = "x"\n[household]', "zone", ["above all tables"]),
    ("[household]", 'timezone = "x"\n[household]', "timezone", ["above all", "[household]"]),
    # keys and values
    ("power =", "powr =", "powr", ['"powr" is not known', 'Did you mean "power"']),
    ('power = "1.8 kW"\n', "", "[[pot]]", ['[[pot]] needs "power"', 'power = "1.8 kW"']),
    ('bar = "12 in"\n', "", "[sealer]", ["needs bar", 'kind = "none"']),
    ('film = "3 mil"\n', "", "[[pouch]]", ["a pouch needs film", 'film = "3 mil"']),
    ('film = "3 mil"', 'kind = "box"', "[[pouch]]", ["a box needs volume and mouth", '"wide"']),
    ('film = "3 mil"', 'kind = "zip bag"\nmouth = "wide"', "[[pouch]]", ["zip bag has no mouth"]),
    ('film = "3 mil"', 'film = "3 mil"\nvolume = "1 qt"', "[[pouch]]", ["a pouch has no volume"]),
    ("portions = 20", 'portions = 20\npouch = "quart bag"', "pouch = ", ["no [[pouch]] called"]),
    ('film = "3 mil"', 'kind = "zip-bag"', 'kind = "zip-bag"', ['Did you mean "zip bag"']),
    ('"12 qt"', '"12 oz"', "volume = ", ["measures mass", 'Write "12 fl oz"']),
    ('"12 qt"', "12", "volume = 12", ["12 has no unit", '"12 fl oz" or "12 mL"']),
    ('"12 oz"', '"1,5 lb"', "portion = ", ["comma", 'Write "1.5 lb"']),
    ('"12 qt"', '"-2 qt"', "volume = ", ["below zero"]),
    ('"12 qt"', '"0 qt"', "volume = ", ["out of range", "Allowed"]),
    ('"3 mil"', '"3 in"', "film = ", ["out of range", "Allowed"]),
    ("[season]\n", '[season]\nsmallest_batch = "0.1 oz"\n', "smallest_batch", ["out of range"]),
    ("[season]\n", '[season]\nsmallest_batch = "2 cups"\n', "smallest_batch", ["volume"]),
    ("[season]\n", '[season]\nsmalest_batch = "2 lb"\n', "smalest_batch", ['"smallest_batch"']),
    ('"thu"', '"thursday"', "days = ", ['"thursday"', 'Did you mean "thu"']),
    ('kind = "external"', 'kind = "chambr"', "kind = ", ['Did you mean "chamber"']),
    ("portions = 20", 'portions = "20"', "portions = ", ["whole number", "portions = 3"]),
    ("portions = 20", "portions = 2.5", "portions = ", ["whole number"]),
    ("portions = 20", "portions = -1", "portions = ", ["out of range", "at least 0"]),
    ("2027-05-10", '"2027-05-10"', "sown = ", ["text in quotes", "date"]),
    ("18:30:00", '"18:30"', 'start = "18', ["text in quotes", "time"]),
    ('["mon", "thu"]', '"mon"', "days = ", ["list in square brackets", "days = "]),
    ('["mon", "thu"]', "[]", "days = ", ["empty"]),
    ('"The Lane"', '""', "name = ", ["empty"]),
    ('row = "20 ft"', 'row = "20 ft"\nplants = 5', "[[planting]]", ["exactly one of plants"]),
    ("sown = 2027-05-10\n", "", "[[planting]]", ["exactly one of sown"]),
    # names the library and the world know
    ('crop = "snap bean"', 'crop = "snap been"', "crop = ", ["no figures", '"snap bean"']),
    ('item = "pear"', 'item = "paer"', "item = ", ["no figures", 'Did you mean "pear"']),
    ('crop = "snap bean"', 'crop = "pear"', "crop = ", ["bought, not grown", "[[bought]]"]),
    ('product = "snap bean"', 'product = "snap bean, cutt"', "product = ", ["Did you mean"]),
    ('product = "snap bean"', 'product = "pear, raw in oil"', "product", ["not put by", "spoil"]),
    ("America/Chicago", "America/Chicgo", "timezone", ["time zone", '"America/Chicago"']),
    ("America/Chicago", "new york", "timezone", ["time zone", '"America/New_York"']),
    ("America/Chicago", "../../etc/passwd", "timezone", ["time zone"]),
    # how things fit together
    ("2027-11-30", "2027-03-30", "end = 2027", ["ends before it has begun"]),
    ("2027-11-30", "2037-11-30", "end = 2037", ["longer than 800 days"]),
    ("21:30:00", "17:30:00", "end = 17", ["not after its start", "past midnight"]),
    ("2027-05-10", "2017-05-10", "sown = ", ["too long ago", "year"]),
    ("2027-05-10", "2028-05-10", "sown = ", ["after the season's end"]),
    ("2027-05-10", "2027-05-10\nfirst_pick = 2027-05-01", "first_pick", ["before it is planted"]),
    ("2027-09-04", "2028-09-04", "on = ", ["outside the season", "2027-11-30"]),
    ('"1 cu ft"', '"8 cu ft"', "used = ", ["More is used"]),
    ('width = "8 in"', 'width = "14 in"', "width = ", ["too wide for the bar", "mouth"]),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "where", "words"), BROKEN)
def test_a_broken_season_names_file_line_and_way_out(
    tmp_path: Path, old: str, new: str, where: str, words: list[str]
) -> None:
    assert SOUND.count(old) >= 1
    text = SOUND.replace(old, new, 1)
    flaws = flaws_of(write(tmp_path, season=text))
    line = line_of(text, where)
    told = [flaw for flaw in flaws if flaw.line == line]
    assert told, [str(flaw) for flaw in flaws]
    assert told[0].file == "season.toml"
    assert told[0].text == text.split("\n")[line - 1]
    for word in words:
        assert word in str(told[0])
    assert "pydantic" not in str(flaws) and "validat" not in str(flaws)


# (added at the end of the sound file, the text whose line is named, words of the message)
ADDED = [
    ('[[away]]\nstart = 2027-07-09\nend = 2027-07-02', "end = 2027-07-02", ["before you leave"]),
    ('[[extra_window]]\ndate = 2029-07-09\nstart = 09:00\nend = 11:00', "date", ["outside"]),
    ('[[extra_window]]\ndate = 2027-07-09\nstart = 09:00\nend = 09:00', "end = 09", ["not after"]),
    ('[[want]]\nproduct = "snap bean"\nportions = 1\nportion = "1 lb"', 'product = "snap bean"\n'
     'portions = 1\n', ["wanted twice", "add up"]),
    ('[[fresh]]\ncrop = "pear"\nper_week = "1 lb"\n[[fresh]]\ncrop = "pear"\nper_week = "2 lb"',
     'crop = "pear"\nper_week = "2', ["eaten fresh twice", "add up"]),
    ('[[want]]\nproduct = "pear"\nportions = 1\nportion = "0 oz"', 'portion = "0', ["range"]),
    ('[[want]]\nproduct = "pear"\nportions = 1\nportion = "1 lb"\nfrom = 2027-12-01\n'
     "until = 2027-11-01", "until", ['before "from"']),
    ('[[pouch]]\nname = "Quart"\nwidth = "6 in"\nlength = "9 in"\nfilm = "3 mil"', 'name = "Quart"',
     ["already used", "line"]),
    ('[[freezer]]\nname = "kettle"\nvolume = "100 L"', 'name = "kettle"\nvolume = "100',
     ["already used", "line 16"]),
    ('[[planting]]\ncrop = "tomato"\nid = "a"\nplants = 3\nset_out = 2027-05-20\n[[planting]]\n'
     'crop = "tomato"\nid = "a"\nplants = 4\nset_out = 2027-05-25', 'id = "a"\nplants = 4',
     ["already used"]),
    ('[[planting]]\ncrop = "tomato"\nid = \'the "big" ones\'\nplants = 3\nset_out = 2027-05-20',
     "id = ", ["double quote", "single quotes"]),
    ('[[planting]]\ncrop = "tomato"\nid = "a b"\nplants = 3\nset_out = 2027-05-20\n[[planting]]\n'
     'crop = "tomato"\nid = " a  b"\nplants = 4\nset_out = 2027-05-25', 'id = " a',
     ["already used"]),
    ('[[planting]]\ncrop = "tomato"\nhabit = "steaked"\nplants = 3\nset_out = 2027-05-20',
     "habit", ['no habit "steaked" of tomato', '"staked"']),
    ('[[planting]]\ncrop = "carrot"\nhabit = "staked"\nrow = "3 m"\nsown = 2027-05-20',
     "habit", ['no habit "staked" of carrot', "leave it out"]),
    ('[weather]\nlast_frost = "13-45"', "last_frost", ["no \"13-45\""]),
    ('[weather]\nlast_frost = "May 12"', "last_frost", ["month and day", '"05-12"']),
    ('[weather]\ndaily = "wether.csv"', "daily", ["no file", "season folder"]),
    ('[weather]\ndaily = "../weather.csv"', "daily", ["outside the season folder"]),
    ('[calendars]\nbusy = ["a.ics"]', "busy", ["no file", "season folder"]),
    ('[calendars]\nbusy = ["/etc/passwd"]', "busy", ["outside the season folder"]),
    ('[calendars]\nbusy = ["a\\u0000.ics"]', "busy", ["cannot be seen"]),
    ('[calendars]\ntravel = "15"', "travel", ["no unit"]),
    ('[[stored]]\nproduct = "snap been"\nportions = 1\nportion = "1 lb"\nfrozen_on = 2026-08-01',
     'product = "snap been"', ["no product", "Did you mean"]),
    ('[[stored]]\nproduct = "pear"\nportions = 1\nportion = "1 lb"\nfrozen_on = 2029-08-01',
     "frozen_on", ["after the season's end"]),
    ('[[fresh]]\ncrop = "carot"\nper_week = "1 lb"', "crop = \"carot\"", ['"carrot"']),
    ('[season]\nstart = 2027-01-01\nend = 2027-05-01', "[season]\nstart = 2027-01", ["again"]),
]  # fmt: skip


@pytest.mark.parametrize(("added", "where", "words"), ADDED)
def test_a_flaw_in_an_added_table(tmp_path: Path, added: str, where: str, words: list[str]) -> None:
    text = SOUND + "\n" + added + "\n"
    flaws = flaws_of(write(tmp_path, season=text))
    line = SOUND.count("\n") + 1 + line_of(added + "\n", where)
    told = [flaw for flaw in flaws if flaw.line == line]
    assert told, [str(flaw) for flaw in flaws]
    for word in words:
        assert word in str(told[0])


def test_all_flaws_of_all_files_come_at_once(tmp_path: Path) -> None:
    garden = '[[planting]]\ncrop = "snap been"\nplants = "5"\nsown = 2027-05-10\n'
    wanted = '[[want]]\nproduct = "snap bean, pickled"\nportions = 2\nportion = 12 oz\nprio = 3\n'
    write(tmp_path, season=SOUND.replace('"8 in"', '"20 in"'), garden=garden, wanted=wanted)
    found = [(flaw.file, flaw.line) for flaw in flaws_of(tmp_path)]
    expected = [
        ("garden.toml", 2),
        ("garden.toml", 3),
        ("wanted.toml", 2),
        ("wanted.toml", 4),
        ("wanted.toml", 5),
        ("season.toml", line_of(SOUND, 'width = "8 in"')),
    ]
    assert sorted(found) == sorted(expected)


def test_a_second_single_table_in_another_file(tmp_path: Path) -> None:
    other = "# notes\n[season]\nstart = 2027-01-01\nend = 2027-02-01\n"
    (flaw,) = flaws_of(write(tmp_path, season=SOUND, zz=other))
    assert (flaw.file, flaw.line) == ("zz.toml", 2)
    assert "season.toml, line 6" in flaw.message


def test_missing_tables(tmp_path: Path) -> None:
    flaws = flaws_of(write(tmp_path, season="[cold]\ncellar = true\n"))
    assert ["[household]" in str(flaws), "[season]" in str(flaws)] == [True, True]
    assert {flaw.line for flaw in flaws} == {None}


def test_a_torn_file_does_not_make_up_missing_keys(tmp_path: Path) -> None:
    text = SOUND.replace('volume = "12 qt"', 'volume = "12 qt')
    (flaw,) = flaws_of(write(tmp_path, season=text))
    assert flaw.line == line_of(SOUND, 'volume = "12 qt"')


def test_other_encodings(tmp_path: Path) -> None:
    latin = SOUND.replace("The Lane", "Grünweg").encode("latin-1")
    (flaw,) = flaws_of(write(tmp_path / "a", season=latin))
    assert flaw.line == 2 and "UTF-8" in flaw.hint
    (flaw,) = flaws_of(write(tmp_path / "b", season=SOUND.encode("utf-16")))
    assert "UTF-8" in flaw.hint


@pytest.mark.parametrize(
    "text", ["x = " + "[" * 5000, "x = " + "9" * 5000, "\x00", '"""', "]", "="]
)
def test_hostile_text_is_a_flaw_and_no_crash(tmp_path: Path, text: str) -> None:
    assert flaws_of(write(tmp_path, season=SOUND + text + "\n"))


def test_nothing_to_read(tmp_path: Path) -> None:
    for folder in (tmp_path, tmp_path / "none"):
        with pytest.raises(FilesNeedMending, match="harvestplan new"):
            load_season(folder, LIBRARY)


def test_links_do_not_lead_out_of_the_folder(tmp_path: Path) -> None:
    outside = write(tmp_path / "outside", secret=SOUND, family_ics="x")
    folder = write(tmp_path / "season", season=SOUND + '\n[calendars]\nbusy = ["family.ics"]\n')
    (folder / "family.ics").symlink_to(outside / "family.ics")
    (folder / "more.toml").symlink_to(outside / "secret.toml")
    told = [str(flaw) for flaw in flaws_of(folder)]
    assert len(told) == 2
    assert any("leads out of the folder" in flaw for flaw in told)
    assert any("outside the season folder" in flaw for flaw in told)


def test_the_mouth_is_the_width_and_the_chamber_takes_the_length(tmp_path: Path) -> None:
    chamber = 'kind = "chamber"\nchamber = "{}"'
    fits = SOUND.replace('kind = "external"', chamber.format("12x12x4 in"))
    long = fits.replace('length = "12 in"', 'length = "40 in"')
    assert load(write(tmp_path / "a", season=fits)).season.pouch[0].length > 0.3
    (flaw,) = flaws_of(write(tmp_path / "b", season=long))
    assert flaw.line == line_of(long, 'length = "40 in"') and "too long for the chamber" in str(
        flaw
    )
    flat = SOUND.replace('kind = "external"', chamber.format("12x12 in"))
    (flaw,) = flaws_of(write(tmp_path / "c", season=flat))
    assert "length, width and height" in str(flaw)


def test_a_weather_file_with_other_columns(tmp_path: Path) -> None:
    write(tmp_path, season=SOUND + '\n[weather]\ndaily = "w.csv"\n', w_csv="day,low,high\n")
    (flaw,) = flaws_of(tmp_path)
    assert (flaw.file, flaw.line) == ("w.csv", 1)
    assert "date,tmin_c,tmax_c" in flaw.hint


SLIPS = st.lists(
    st.tuples(
        st.integers(0, len(SOUND) - 1),
        st.integers(0, 20),
        st.text(alphabet="\"[]{}='\\#,.:\n 0-x“é\t\0", max_size=3),
    ),
    min_size=1,
    max_size=3,
)


@given(SLIPS)
def test_any_slip_of_the_pen_is_read_or_named(
    tmp_path_factory: pytest.TempPathFactory, slips: list[tuple[int, int, str]]
) -> None:
    text = SOUND
    for at, cut, put in slips:
        text = text[:at] + put + text[at + cut :]
    folder = write(tmp_path_factory.mktemp("slips"), season=text)
    try:
        assert load(folder).season.household.name
    except FilesNeedMending as error:
        assert all(flaw.message.strip() for flaw in error.flaws)
        lines = text.split("\n")
        assert all(flaw.text in ("", lines[flaw.line - 1]) for flaw in error.flaws if flaw.line)


def test_a_planting_is_called_by_its_crop_where_nobody_named_it() -> None:
    assert called("winter-squash", "winter squash") == "winter squash"
    assert called("winter-squash-2", "winter squash") == "winter-squash-2"
    assert called("behind the shed", "winter squash") == "behind the shed"
