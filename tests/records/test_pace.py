"""What `froze` lines teach: a pace that one odd evening cannot upset, failed seals, hours."""

from __future__ import annotations

import datetime as dt
import math
import random
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records.diary_folder import make_folder

from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Season
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.experience import Experience
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.own_pace import OwnPace
from harvestplan.kitchen.process import Process
from harvestplan.records.diary import append_event, read_diary
from harvestplan.records.pace import PRIOR_EVENINGS, _shrunk, experience_from, hand_minutes

BEANS = "snap bean, cut"
KITCHEN = """
[[pot]]
name = "kettle"
volume = "12 L"
power = "2 kW"
[[bath]]
name = "sink"
volume = "20 L"
[sealer]
kind = "chamber"
bar = "12 in"
[[pouch]]
name = "long pint"
width = "6 in"
length = "14 in"
film = "3 mil"
[[freezer]]
name = "chest"
volume = "200 L"
[[want]]
product = "snap bean, cut"
portions = 20
portion = "340 g"
"""
LIBRARY = load_library(Path("nowhere"))
AS_OF = dt.date(2027, 8, 31)


def learn(folder: Path, diary: str, more: str = "", as_of: dt.date = AS_OF) -> Experience:
    make_folder(folder, diary)
    with (folder / "season.toml").open("a", encoding="utf-8") as file:
        file.write(KITCHEN + more)
    return experience_from(load(folder), LIBRARY, read_diary(folder), as_of=as_of)


def load(folder: Path) -> Season:
    return load_season(folder, LIBRARY).season


def beans(folder: Path) -> Process:
    found = LIBRARY.find_product(BEANS)
    assert found is not None
    return make_process(Kitchen.from_season(load(folder)), *found, 340)


def evenings(folder: Path, paces: Sequence[float | OwnPace]) -> str:
    """Lines of evenings of six pouches each, made at these paces."""
    make_folder(folder)
    with (folder / "season.toml").open("a", encoding="utf-8") as file:
        file.write(KITCHEN)
    process = beans(folder)
    own = (pace if isinstance(pace, OwnPace) else OwnPace(pace) for pace in paces)
    return "".join(
        f'2027-07-{day:02} froze "{BEANS}" 6, {hand_minutes(process, 6, pace):.1f} minutes\n'
        for day, pace in enumerate(own, start=1)
    )


def timings(step: str, per_kg: float, paces: Sequence[float]) -> str:
    """Lines of a step timed over 3 kg at these paces; `per_kg` are the crop file's minutes."""
    return "".join(
        f'2027-07-{day:02} timed "{BEANS}" {step} {3 * per_kg * pace:.1f} minutes for 3 kg\n'
        for day, pace in enumerate(paces, start=1)
    )


def test_four_slow_evenings_move_the_plan_most_of_the_way(tmp_path: Path) -> None:
    found = learn(tmp_path, evenings(tmp_path, [1.5] * 4)).paces[BEANS]
    assert found.evenings == 4
    assert found.median == pytest.approx(1.5, abs=0.05)
    weight = 4 / (4 + PRIOR_EVENINGS)
    assert found.factor == pytest.approx(found.median**weight, abs=0.01)


def test_one_evening_with_guests_tells_next_to_nothing(tmp_path: Path) -> None:
    steady = learn(tmp_path / "a", evenings(tmp_path / "a", [1.0] * 4)).paces[BEANS]
    guests = learn(tmp_path / "b", evenings(tmp_path / "b", [1.0, 1.0, 8.0, 1.0])).paces[BEANS]
    assert guests.factor == pytest.approx(steady.factor, abs=0.02)
    alone = learn(tmp_path / "c", evenings(tmp_path / "c", [8.0])).paces[BEANS]
    assert alone.median == 2.0
    assert alone.factor == pytest.approx(2 ** (1 / 4), abs=0.01)


@given(st.lists(st.floats(0.5, 2.0), min_size=1, max_size=30))
def test_a_learned_pace_lies_between_the_book_and_the_evenings(paces: list[float]) -> None:
    found = _shrunk(paces, len(paces))
    assert 0.5 <= found.factor <= 2.0
    low, high = sorted((1.0, found.median))
    assert low - 0.011 <= found.factor <= high + 0.011


def test_the_day_itself_and_lines_without_minutes_teach_no_pace(tmp_path: Path) -> None:
    diary = (
        f'2027-07-01 froze "{BEANS}" 6 pouches of 12 oz, 1 failed seal\n'
        f'2027-07-02 froze "{BEANS}" 6 pouches of 12 oz, 2 failed seals, 95 minutes\n'
    )
    found = learn(tmp_path, diary, as_of=dt.date(2027, 7, 2))
    assert (dict(found.paces), found.seals) == ({}, {BEANS: (6, 1)})
    later = experience_from(
        load(tmp_path), LIBRARY, read_diary(tmp_path), as_of=dt.date(2027, 7, 3)
    )
    assert later.paces[BEANS].evenings == 1
    assert later.seals == {BEANS: (12, 3)}


def test_the_machine_ran_for_every_closing_and_for_what_was_sealed_again(tmp_path: Path) -> None:
    found = learn(tmp_path, f'2027-07-01 froze "{BEANS}" 6 pouches of 12 oz, 1 failed seal\n')
    # Two 6-inch pouches on a 12-inch bar, seven seals: four closings of 30 + 2 + 3 + 3 s.
    assert [sealing.seconds for sealing in found.sealings] == [4 * 38]


def test_the_machine_s_hours_follow_its_own_settings_as_they_became_known(tmp_path: Path) -> None:
    """Each closing takes as long as plans of that day have it: 8 s more after the try that held."""
    diary = (
        f'2027-07-01 froze "{BEANS}" 6 pouches of 12 oz\n'
        f'2027-07-01 setting "{BEANS}" pump-down 38 s held\n'
        f'2027-07-02 froze "{BEANS}" 6 pouches of 12 oz\n'
    )
    found = learn(tmp_path, diary)
    assert [sealing.seconds for sealing in found.sealings] == [3 * 38, 3 * (38 + 8)]


def test_earlier_seasons_count_but_do_not_outweigh_this_one(tmp_path: Path) -> None:
    learned = '[[learned]]\nproduct = "green bean"\npace = 1.5\nevenings = 40\nsealed = 90\n'
    old = learn(tmp_path / "a", "", learned + "failed = 10\n")
    assert (old.paces[BEANS].evenings, old.seals) == (40, {BEANS: (90, 10)})
    assert old.paces[BEANS].factor == pytest.approx(math.exp(math.log(1.5) * 6 / 9), abs=0.01)
    folder = tmp_path / "b"
    text = evenings(folder, [0.8] * 9)
    (folder / "season.toml").unlink()
    assert learn(folder, text, learned).paces[BEANS].factor < 0.9


def test_a_product_the_kitchen_cannot_make_teaches_nothing(tmp_path: Path) -> None:
    found = learn(tmp_path, '2027-07-01 froze "apple, dried" 6 pouches of 2 oz, 95 minutes\n')
    assert dict(found.paces) == {}
    assert found.seals == {"apple, dried": (6, 0)}


def test_a_service_is_read_from_the_diary(tmp_path: Path) -> None:
    found = learn(tmp_path, "2027-07-01 serviced sealer\n2027-07-20 serviced\n")
    assert found.serviced == dt.date(2027, 7, 20)
    early = experience_from(
        load(tmp_path), LIBRARY, read_diary(tmp_path), as_of=dt.date(2027, 7, 20)
    )
    assert early.serviced == dt.date(2027, 7, 1)
    with pytest.raises(Unclear, match="serviced sealer"):
        append_event(tmp_path, "serviced", "the car", on=AS_OF)


TRIM, PORTION = 10.0, 4.0
"""Minutes per kg of beans in their crop file."""
TRUTH = OwnPace(0.9, {"trim": 1.6, "portion": 0.7})


def noisy(pace: float, draw: random.Random, count: int) -> list[float]:
    """Timings a tenth off on average, the third one taken on the telephone."""
    found = [pace * math.exp(draw.gauss(0, 0.1)) for _ in range(count)]
    return [*found[:2], 4 * pace, *found[3:]]


def test_a_kitchen_slow_at_one_step_is_known_by_its_steps(tmp_path: Path) -> None:
    draw = random.Random(7)
    diary = evenings(tmp_path / "a", [TRUTH] * 4 + [6.0] + [TRUTH] * 4)
    diary += timings("trim", TRIM, noisy(1.6, draw, 9))
    diary += timings("portion", PORTION, noisy(0.7, draw, 9))
    found = learn(tmp_path / "b", diary).paces[BEANS]
    assert found.steps["trim"].median == pytest.approx(1.6, rel=0.08)
    assert found.steps["portion"].median == pytest.approx(0.7, rel=0.08)
    assert found.own.of("trim") == pytest.approx(1.6, rel=0.12)
    assert found.own.of("portion") == pytest.approx(0.7, rel=0.25)
    whole = hand_minutes(beans(tmp_path / "b"), 6, found.own)
    assert whole == pytest.approx(hand_minutes(beans(tmp_path / "b"), 6, TRUTH), rel=0.07)


def test_whole_evenings_alone_give_every_step_the_same_pace(tmp_path: Path) -> None:
    found = learn(tmp_path, evenings(tmp_path / "a", [1.5] * 4)).paces[BEANS]
    assert found.steps == {}
    assert {found.own.of(step) for step in ("wash", "trim", "portion")} == {found.factor}


def test_one_timing_moves_its_step_a_quarter_of_the_way(tmp_path: Path) -> None:
    alone = learn(tmp_path / "a", timings("trim", TRIM, [1.8])).paces[BEANS]
    assert (alone.factor, alone.evenings) == (1.0, 0)
    assert alone.own.of("trim") == pytest.approx(1.8**0.25, abs=0.02)
    assert alone.own.of("portion") == 1.0


def test_timings_of_earlier_seasons_count_too(tmp_path: Path) -> None:
    learned = (
        f'[[learned]]\nproduct = "{BEANS}"\nsteps = {{ trim = {{ pace = 1.8, timings = 40 }} }}\n'
    )
    found = learn(tmp_path, timings("trim", TRIM, [1.8]), learned).paces[BEANS].steps["trim"]
    assert (found.median, found.evenings) == (1.8, 41)
    assert found.factor == pytest.approx(1.8**0.7, abs=0.02)


def test_a_step_is_timed_by_volume_too_and_by_other_words_for_it(tmp_path: Path) -> None:
    line = f'2027-07-01 timed "{BEANS}" cut 1 h 10 min of work for 3 kg\n'
    assert learn(tmp_path / "a", line).paces[BEANS].steps["trim"].median == 2.0  # at most
    density = beans(tmp_path / "a").crop.raw_density.value
    litres = 3000 / density / 1000
    line = f'2027-07-01 timed "{BEANS}" trim 45 minutes for {litres:.2f} L\n'
    found = learn(tmp_path / "b", line).paces[BEANS].steps["trim"]
    assert found.median == pytest.approx(1.5, abs=0.01)


@pytest.mark.parametrize(
    "words", ["blanch 5 minutes for 3 kg", "cool 5 minutes for 3 kg", "trim 25 minutes", "trim"]
)
def test_only_hand_work_on_a_known_amount_can_be_timed(tmp_path: Path, words: str) -> None:
    make_folder(tmp_path)
    steps = "wash, trim, shell, squeeze, puree, press, fill cubes, portion"
    with pytest.raises(Unclear, match=steps):
        append_event(tmp_path, "timed", f'"{BEANS}" {words}', on=AS_OF)


def test_what_was_timed_is_said_back_and_a_step_the_product_has_not_teaches_nothing(
    tmp_path: Path,
) -> None:
    found = learn(tmp_path, f'2027-07-01 timed "{BEANS}" shell 25 minutes for 3 kg\n')
    assert dict(found.paces) == {}
    event = append_event(tmp_path, "timed", "green bean trim 25 minutes for 6 lb", on=AS_OF).event
    assert event.text == f'timed "{BEANS}" trim 25 minutes for 6 lb'


def say(folder: Path, practised: str, diary: str = "") -> Experience:
    """What is known of a household that says how practised it is."""
    found = make_folder(folder, diary)
    text = (found / "season.toml").read_text(encoding="utf-8") + KITCHEN
    table = "[household]\n"
    assert table in text
    text = text.replace(table, f'{table}practised = "{practised}"\n')
    (found / "season.toml").write_text(text, encoding="utf-8")
    return experience_from(load(found), LIBRARY, read_diary(found), as_of=AS_OF)


def test_a_household_is_as_quick_as_it_says_until_its_diary_tells(tmp_path: Path) -> None:
    """Of beans the crop file gives 8 to 15 min a kg to trim, 3 to 6 to portion; water sets the
    time of blanching, and washing has no range."""
    slow = say(tmp_path / "a", "beginner").own_paces()[BEANS]
    assert [slow.of(step) for step in ("trim", "portion", "wash", "blanch")] == [1.5, 1.5, 1, 1]
    quick = say(tmp_path / "b", "practised").own_paces()[BEANS]
    assert [quick.of(step) for step in ("trim", "portion", "wash", "blanch")] == [0.8, 0.75, 1, 1]
    assert say(tmp_path / "c", "some").own_paces() == {}


@pytest.mark.parametrize("practised", ["beginner", "practised"])
def test_evenings_as_long_as_the_household_said_change_nothing(
    tmp_path: Path, practised: str
) -> None:
    said = say(tmp_path / "a", practised).own_paces()[BEANS]
    found = say(tmp_path / "b", practised, evenings(tmp_path / "c", [said] * 5))
    for step in ("trim", "portion", "wash"):
        assert found.own_paces()[BEANS].of(step) == pytest.approx(said.of(step), rel=0.02), step


def test_evenings_soon_tell_better_than_the_household_s_word(tmp_path: Path) -> None:
    """A household that takes the book's minutes, whatever it says of itself."""
    told = evenings(tmp_path / "diary", [1.0] * 12)
    process = beans(tmp_path / "diary")
    book = hand_minutes(process, 6)
    for practised in ("beginner", "some", "practised"):
        none = say(tmp_path / f"{practised}0", practised).own_paces().get(BEANS, OwnPace())
        taught = say(tmp_path / practised, practised, told).own_paces()[BEANS]
        before, after = (abs(math.log(hand_minutes(process, 6, p) / book)) for p in (none, taught))
        assert after <= 0.3 * before + 0.01, practised
        assert after < 0.08


def test_a_step_timed_by_itself_starts_from_the_household_s_word(tmp_path: Path) -> None:
    said = say(tmp_path / "a", "beginner", timings("trim", TRIM, [1.5])).paces[BEANS]
    assert said.own.of("trim") == pytest.approx(1.5, abs=0.01)
    assert said.own.of("portion") == pytest.approx(1.5, abs=0.01)
    quicker = say(tmp_path / "b", "beginner", timings("trim", TRIM, [1.0])).paces[BEANS]
    assert quicker.own.of("trim") == pytest.approx(1.5**0.75, abs=0.02)


def test_a_beginner_far_slower_than_the_book_is_believed(tmp_path: Path) -> None:
    """A beginner's 88 min a kg of peas are 2.7 times the book's, beyond what one odd evening may
    teach; that such evenings are usual here is what the household said."""
    peas = "shelling pea, shelled"
    told = "".join(
        f'2027-07-{day:02} timed "{peas}" shell 176 minutes for 2 kg\n' for day in range(1, 10)
    )
    assert say(tmp_path / "a", "beginner", told).paces[peas].own.of("shell") == pytest.approx(
        88 / 33, rel=0.01
    )
    assert say(tmp_path / "b", "some", told).paces[peas].own.of("shell") < 2
