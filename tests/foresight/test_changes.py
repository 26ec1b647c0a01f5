"""The small language of changes: what each does to the season, and what is refused."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from foresight.what_if_folder import write_folder
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from harvestplan.errors import FilesNeedMending
from harvestplan.foresight.apply import change_of
from harvestplan.foresight.changes import Variant, read_variant
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library

LIBRARY = load_library()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_folder(tmp_path_factory.mktemp("season"))


def changed(folder: Path, text: str) -> Season:
    return load_season(folder, LIBRARY, change_of(read_variant(text))).season


def refused(folder: Path, text: str) -> str:
    with pytest.raises(FilesNeedMending) as caught:
        changed(folder, text)
    return str(caught.value)


def test_a_key_of_the_only_table(folder: Path) -> None:
    assert changed(folder, "household.hands=2").household.hands == 2
    assert changed(folder, "season.max_sessions=3").season.max_sessions == 3
    assert changed(folder, "season.end=2027-07-10").season.end == dt.date(2027, 7, 10)


def test_a_key_of_a_named_thing_and_of_the_only_one(folder: Path) -> None:
    for text in ("freezer.chest.volume=300 L", "freezer.volume=300 L", "FREEZER.Chest.volume=300L"):
        assert changed(folder, text).freezer[0].volume == pytest.approx(300_000)


def test_more_and_less_of_what_is_there(folder: Path) -> None:
    before = changed(folder, "household.hands=1")
    more = changed(folder, "freezer.chest.volume=+100 L and sealer.bar=-2 in")
    assert more.freezer[0].volume == pytest.approx(before.freezer[0].volume + 100_000)
    assert more.sealer is not None and before.sealer is not None
    assert more.sealer.bar == pytest.approx(10 * 0.0254)
    assert changed(folder, "household.hands=+1").household.hands == 2
    later = changed(folder, "planting.beans-1.sown=+2 weeks").planting[0]
    assert later.sown == dt.date(2027, 5, 15)
    assert changed(folder, "bought.shrimp.amount=+50 %").bought[1].amount.value == pytest.approx(
        1.5 * before.bought[1].amount.value
    )
    assert changed(folder, "window.sat.end=+30 min").window[1].end == dt.time(16, 30)


def test_one_more_of_the_same_and_one_of_another_kind(folder: Path) -> None:
    names = [pot.name for pot in changed(folder, "pot.kettle=+2").pot]
    assert names == ["kettle", "kettle 2", "kettle 3"]
    third = changed(folder, "pot.third=volume 4 qt, power 1.2 kW").pot[-1]
    assert (third.name, third.power) == ("third", pytest.approx(1200))
    kale = changed(folder, "want.carrot, sliced=portions 10, portion 8 oz").want[-1]
    assert (kale.product, kale.portions) == ("carrot, sliced", 10)
    week = changed(folder, "away.2027-06-10=end 2027-06-12").away
    assert (week[0].start, week[0].end) == (dt.date(2027, 6, 10), dt.date(2027, 6, 12))


def test_nothing_of_it(folder: Path) -> None:
    assert changed(folder, "pot.kettle=none").pot == ()
    assert changed(folder, "bought=none").bought == ()
    assert changed(folder, "want.shrimp=none and want.dry bean, sealed=none").want[0].portions == 6
    assert changed(folder, "sealer=none").sealer is None
    assert changed(folder, "pouch.quart.price=none").pouch[0].price is None
    # Of visits "none" is a word of the season file's own.
    assert changed(folder, "season.visits=none").season.visits == "none"


def test_windows_go_by_their_day(folder: Path) -> None:
    def days(text: str) -> list[tuple[str, ...]]:
        return [window.days for window in changed(folder, text).window]

    assert days("window.wed=none") == [("sat",)]
    assert days("window.Wednesday=none and window.sat=none") == []
    assert days("window.sun=2 pm to 5 pm, 2 hands") == [("sat", "wed"), ("sun",)]
    sunday = changed(folder, "window.sun=2 pm to 5 pm, 2 hands").window[1]
    assert (sunday.start, sunday.end, sunday.hands) == (dt.time(14), dt.time(17), 2)
    assert days("window.wed=18:00-20:00") == [("sat",), ("wed",)]
    assert days("window.wed.hands=2") == [("sat",), ("wed",)]
    assert changed(folder, "extra_window.2027-06-20=9-12").extra_window[0].end == dt.time(12)


def test_plantings_go_by_the_id_they_are_given(folder: Path) -> None:
    plants = changed(folder, "planting.snap-bean.row=30 ft").planting
    assert plants[1].row == pytest.approx(30 * 0.3048)
    assert plants[0].row == pytest.approx(20 * 0.3048)


def test_none_is_a_kind_of_machine_where_it_is_one(folder: Path) -> None:
    """Elsewhere it takes the key out."""
    without = changed(folder, "sealer.kind=none")
    assert without.sealer is not None and without.sealer.kind == "none"
    assert without.machine is None
    assert changed(folder, "sealer=none").machine is None
    more = "pouch.quart box=kind box, volume 1 qt, mouth wide"
    assert changed(folder, more).pouch[-1].by_hand


def test_a_product_goes_by_every_name_the_library_has(folder: Path) -> None:
    want = changed(folder, "want.minced meat.portions=9").want[0]
    assert want.portions == 9


def test_a_patch_file_is_laid_over(folder: Path, tmp_path: Path) -> None:
    patch = tmp_path / "bigger.toml"
    patch.write_text(
        '[season]\nmax_sessions = 3\n[[freezer]]\nname = "chest"\nvolume = "300 L"\n'
        '[[window]]\ndays = ["wed"]\nstart = 18:00\nend = 20:00\n'
        '[[pot]]\nname = "second"\nvolume = "4 qt"\npower = "1 kW"\n',
        encoding="utf-8",
    )
    season = load_season(folder, LIBRARY, change_of(Variant("p", patch=patch))).season
    assert season.season.max_sessions == 3
    assert season.season.start == dt.date(2027, 6, 1)
    assert (season.freezer[0].volume, season.freezer[0].used) == (
        pytest.approx(300_000),
        pytest.approx(28316.8, rel=1e-4),
    )
    assert [window.days for window in season.window] == [("sat",), ("wed",)]
    assert [pot.name for pot in season.pot] == ["kettle", "second"]


def test_flaws_of_a_patch_name_its_lines(folder: Path, tmp_path: Path) -> None:
    patch = tmp_path / "p.toml"
    patch.write_text('[[freezer]]\nname = "chest"\nvolum = "300 L"\n', encoding="utf-8")
    with pytest.raises(FilesNeedMending) as caught:
        load_season(folder, LIBRARY, change_of(Variant("p", patch=patch)))
    assert "p.toml, line 3" in str(caught.value)
    assert 'Did you mean "volume"?' in str(caught.value)


def test_what_is_bought_twice_cannot_be_told_apart(tmp_path: Path) -> None:
    """Neither in a patch, of which the line is named, nor in a change."""
    folder = write_folder(tmp_path / "season")
    patch = tmp_path / "p.toml"
    again = '[[bought]]\nitem = "shrimp"\namount = "1 lb"\non = 2027-06-19\n'
    patch.write_text(f"\n{again}", encoding="utf-8")
    (folder / "again.toml").write_text(again, encoding="utf-8")
    twice = Variant("p", patch=patch), read_variant("bought.shrimp.amount=4 lb")
    for variant, where in zip(twice, ("p.toml, line 2", "change"), strict=True):
        with pytest.raises(FilesNeedMending) as caught:
            load_season(folder, LIBRARY, change_of(variant))
        told = str(caught.value)
        assert told.startswith(where) and 'Several go by "shrimp".' in told
        assert "no names to tell them apart" in told


REFUSED = {
    "frezer.chest.volume=1 L": 'Did you mean "freezer"?',
    "freezer.big.volume=1 L": "There are: chest.",
    "freezer.chest.volum=1 L": 'Did you mean "volume"?',
    "freezer.chest.volume=300": '"300" has no unit',
    "freezer.chest.volume=+3 lb": "volume",
    "household.hands=two": "a whole number is wanted",
    "household.hands=20": "at most 8",
    "window.fri=none": "no window on fri to leave out",
    "dryer=none": "no dryer to leave out",
    "window.someday=none": "The days are: mon",
    "window.fri.end=+1 h": "There is no window on fri",
    "window.sat.end=+14 h": "midnight",
    "window=18:00-20:00": "Say which: window.wed=",
    "planting.snap bean.sown=+1 week": '"beans-1", "snap-bean"',
    "pot.third=volume 8 qt": 'needs "power"',
    "pot.third=8 qt": "the keys are: name, volume, power",
    "pot.third=+1": 'I know no pot "third" here',
    "pot.kettle=+99": "At most 8 more",
    "season.max_sessions=+1": "has no value yet",
    "freezer.chest.volume": "This is no change",
    "want.kale=portions 3, portion 8 lightyears": "lightyears",
    "sealer.bar=4 in": "too wide for the bar",
}


@pytest.mark.parametrize("text", sorted(REFUSED))
def test_what_cannot_be_is_refused_with_the_way_out(folder: Path, text: str) -> None:
    assert REFUSED[text] in refused(folder, text)


def test_every_flaw_is_told_at_once(folder: Path) -> None:
    told = refused(folder, "household.hands=two and freezer.chest.volume=300")
    assert 'change "household.hands=two"' in told
    assert 'change "freezer.chest.volume=300"' in told


TEXT = st.text(st.characters(blacklist_categories=("Cs",)), max_size=12)
PLACES = st.sampled_from(
    ("household.hands", "freezer.chest.volume", "window.wed", "window.sat.end", "pot.kettle",
     "planting.beans-1.sown", "want.shrimp", "away.2027-06-10", "cold.cellar", "calendars.busy",
     "extra_window.2027-06-20", "bought.shrimp.amount", "planting.new", "season")
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(place=PLACES, value=TEXT)
def test_any_value_is_either_taken_or_refused_in_words(
    folder: Path, place: str, value: str
) -> None:
    def season() -> Any:
        try:
            return changed(folder, f"{place}={value}")
        except FilesNeedMending as error:
            return str(error)

    found = season()
    assert isinstance(found, Season) or found
