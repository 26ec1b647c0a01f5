"""The words of a line and the events they tell of."""

import datetime as dt
from pathlib import Path

import pytest
from records.diary_folder import make_folder

from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.records import events
from harvestplan.records.names import Names, names_in
from harvestplan.records.phrases import counted_apart, read_event

HEAD = (dt.date(2027, 7, 14), "a1f3", 1)
POUND = 453.59237


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> Names:
    return names_in(make_folder(Path(tmp_path_factory.mktemp("names")) / "s"))


def read(text: str, names: Names, strict: bool = False) -> events.Event:
    verb, _, rest = text.partition(" ")
    return read_event(verb, rest, names, head=HEAD, strict=strict)


@pytest.mark.parametrize(
    ("written", "crop", "grams"),
    [
        ("picked snap bean 2.3 kg", "snap bean", 2300),
        ('picked "snap bean" 2 lb 3 oz', "snap bean", 2 * POUND + 3 / 16 * POUND),
        ("picked  Green Beans  1 1/2 lb", "snap bean", 1.5 * POUND),
        ("picked tomatoes ½ lb", "tomato", 0.5 * POUND),
        ("picked strawberries 800 g", "strawberry", 800),
        ("picked winter squash 12 kg", "winter squash", 12_000),
        ("picked “summer squash” 1 kg", "summer squash", 1000),
    ],
)
def test_picks(written: str, crop: str, grams: float, names: Names) -> None:
    event = read(written, names)
    assert isinstance(event, events.Picked)
    assert (event.crop, event.planting) == (crop, None)
    assert event.amount.value == pytest.approx(grams)


def test_none_yet_and_failed(names: Names) -> None:
    for written in ("none yet snap bean", "None Yet green beans", 'none yet "snap bean"'):
        event = read(written, names)
        assert isinstance(event, events.NoneYet)
        assert (event.crop, event.planting, event.text) == (
            "snap bean", None, "none yet snap bean",
        )  # fmt: skip
    one = read("none yet beans-1", names, strict=True)
    assert isinstance(one, events.NoneYet)
    assert one.text == "none yet snap bean planting beans-1"
    gone = read("failed beans-1", names, strict=True)
    assert isinstance(gone, events.Failed)
    assert (gone.crop, gone.planting) == ("snap bean", "beans-1")
    for wrong in ("none", "none yet", "none snap bean", "failed", "failed snap bean 2 lb"):
        with pytest.raises(Unclear):
            read(wrong, names)


@pytest.mark.parametrize(
    ("written", "text"),
    [
        ("printed labels 2027-07-14", "printed labels 2027-07-14"),
        ("Printed the labels for Wed 14 July", "printed labels 2027-07-14"),
        ("printed labels of tomorrow", "printed labels 2027-07-15"),
        ("keep free 2027-07-14", "keep free 2027-07-14"),
        ("keep free 24 December", "keep free 2027-12-24"),
    ],
)
def test_days_as_people_say_them(written: str, text: str, names: Names) -> None:
    """Seen from the day of the line; written down with the year."""
    event = read(written, names)
    assert event.text == text
    assert isinstance(event, events.LabelsPrinted | events.KeepFree)
    assert f"{event.day}" == text.rpartition(" ")[2]


def test_labels_of_no_day_are_asked_about(names: Names) -> None:
    for wrong in ("printed", "printed labels", "printed book", "printed labels 31 February"):
        with pytest.raises(Unclear):
            read(wrong, names)


def test_which_of_several_plantings_failed_has_to_be_said(names: Names) -> None:
    """At the keyboard; a line of an old diary is read as it stands."""
    twice = list(names.plantings.values())
    crop = next(crop for crop in twice if twice.count(crop) > 1)
    with pytest.raises(Unclear, match="Which planting"):
        read(f"failed {crop}", names, strict=True)
    assert isinstance(read(f"failed {crop}", names), events.Failed)


def test_a_volume_stays_a_volume(names: Names) -> None:
    event = read("picked raspberry 2 qt", names)
    assert isinstance(event, events.Picked)
    assert event.amount.kind == "volume"
    assert event.amount.value == pytest.approx(2 * 946.352946)


def test_the_planting_by_word_or_by_its_id_alone(names: Names) -> None:
    for written in ("picked snap bean 1 kg planting beans-1", "picked beans-1 1 kg"):
        event = read(written, names, strict=True)
        assert isinstance(event, events.Picked)
        assert (event.crop, event.planting) == ("snap bean", "beans-1")
        assert event.text == "picked snap bean 1 kg planting beans-1"
    with pytest.raises(Unclear, match='"beans-1"'):
        read("flowering snap bean planting beans-9", names, strict=True)
    with pytest.raises(Unclear, match="is snap bean, not tomato"):
        read("flowering tomato planting beans-1", names, strict=True)
    past = read("flowering tomato planting tomatoes-2024", names)
    assert isinstance(past, events.Flowering) and past.planting == "tomatoes-2024"


def test_the_store(names: Names) -> None:
    froze = read('froze "snap bean, cut" 6 pouches of 12 oz, 1 failed seal', names)
    assert isinstance(froze, events.Froze)
    assert (froze.product, froze.portions, froze.failed) == ("snap bean, cut", 6, 1)
    assert froze.portion is not None and froze.portion.value == pytest.approx(0.75 * POUND)
    plain = read("froze snap bean 3", names)
    assert isinstance(plain, events.Froze)
    assert (plain.product, plain.portions, plain.failed) == ("snap bean, cut", 3, 0)
    ate = read("ate winter squash, puree 1", names)
    assert isinstance(ate, events.Ate)
    assert (ate.product, ate.portions) == ("winter squash, purée", 1)
    count = read('count "snap bean, cut" 0', names)
    assert isinstance(count, events.Count) and count.portions == 0
    setting = read('setting "apple butter" pump-down 22 s foamed', names)
    assert isinstance(setting, events.Setting)
    assert (setting.product, setting.words) == ("apple butter", "pump-down 22 s foamed")


def test_what_is_given_is_portions_or_a_fresh_amount(names: Names) -> None:
    pouches, fresh = read('gave "snap bean, cut" 2 pouches', names), read("lost tomato 3 lb", names)
    assert isinstance(pouches, events.Gave) and isinstance(fresh, events.Lost)
    assert (pouches.name, pouches.portions, pouches.amount) == ("snap bean, cut", 2, None)
    assert (fresh.name, fresh.portions) == ("tomato", None)
    assert fresh.amount is not None and fresh.amount.value == pytest.approx(3 * POUND)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("piked snap bean 2 lb", 'Did you mean "picked"'),
        ("picked snap baen 2 lb", 'Did you mean "snap bean"'),
        ("picked snap bean", "How much"),
        ("picked snap bean 2,345 kg", "2.345 kg"),
        ("picked snap bean 5", "no unit"),
        ("picked snap bean 5 min", "mass"),
        ("picked snap bean 0 lb", "is nothing"),
        ("flowering snap bean soon", '"soon"'),
        ("ate snap bean", "How many"),
        ("ate snap bean 1.5", "How many"),
        ("ate snap bean 100000", "How many"),
        pytest.param('count "snap bean, cut" ' + "9" * 5000, "How many", id="more than a number"),
        ('froze "snap bean, cut" a few', "pouches"),
        pytest.param('froze "snap bean, cut" ' + "9" * 5000, "pouches", id="no end of pouches"),
        ('froze "snap bean, cut" 5 pouches, 999999 failed seals', "pouches"),
        ("setting sanp bean, cut 22 s", "snap bean, cut"),
        ("setting snap bean", "How was the sealer"),
        ("undo a1", "no code"),
        ("picked", "Which crop"),
    ],
)
def test_a_slip_is_answered_with_the_way_to_write_it(written: str, told: str, names: Names) -> None:
    with pytest.raises(Unclear) as refused:
        read(written, names)
    assert told in str(refused.value)
    assert refused.value.exit_code == 2


@pytest.mark.parametrize(
    "written",
    [
        "picked snap bean 2 lb 3 oz",
        "picked snap bean 1 kg planting beans-1",
        'picked snap bean 1 kg planting "by the wall"',
        'froze "snap bean, cut" 6 pouches of 12 oz, 1 failed seal',
        'ate "snap bean, cut" 1',
        'gave "snap bean, cut" 2',
        "lost tomato 3 lb",
        'count "snap bean, cut" 14',
        'setting "apple butter" pump-down 22 s foamed',
        "emerged tomato",
        "undo #a1f3",
    ],
)
def test_the_diarys_own_words_read_back_as_themselves(written: str, names: Names) -> None:
    assert read(written, names).text == written


@pytest.mark.parametrize(
    ("tail", "failed", "minutes"),
    [
        ("6 pouches of 12 oz, 1 failed seal, 95 minutes", 1, 95),
        ("6 pouches of 12 oz, 95 minutes, 1 failed seal", 1, 95),
        ("6 pouches of 12 oz and 2 failed in 1 h 35 min", 2, 95),
        ("6 pouches of 1 1/2 lb, 1.5 hours of work", 0, 90),
        ("6, 40 min", 0, 40),
        ("6 95 minutes of hand work", 0, 95),
        ("6 pouches of 2 lb 3 oz", 0, None),
        ("6 zip bags of 10 oz, 1 failed, 40 min", 1, 40),
        ("6 boxes of 2 cups", 0, None),
        ("6 jars, 40 min", 0, 40),
    ],
)
def test_frozen_with_failed_seals_and_minutes(
    tail: str, failed: int, minutes: float | None, names: Names
) -> None:
    froze = read(f'froze "snap bean, cut" {tail}', names)
    assert isinstance(froze, events.Froze)
    assert (froze.portions, froze.failed, froze.minutes) == (6, failed, minutes)
    assert froze.text == f'froze "snap bean, cut" {tail}'


@pytest.mark.parametrize("tail", ["6, 0 minutes", "6, 30 hours", "6, 95", "6, many minutes"])
def test_minutes_that_make_no_sense_are_refused(tail: str, names: Names) -> None:
    with pytest.raises(Unclear, match="minutes"):
        read(f'froze "snap bean, cut" {tail}', names)


@pytest.mark.parametrize("counted", ["14", "14 bags", "14 zip bags", "14 boxes", "14 portions"])
def test_a_stocktake_is_cut_after_each_number(counted: str) -> None:
    said = ["snap bean, cut", *counted.split(), "sweet corn, kernel", "9", "boxes"]
    assert counted_apart(said) == [
        ["snap bean, cut", *counted.split()],
        ["sweet corn, kernel", "9", "boxes"],
    ]


@pytest.mark.parametrize(
    ("line", "text", "grams"),
    [
        ("picked sweet corn a dozen ears", "picked sweet corn 7 lb", 12 * 265),
        ("picked a dozen ears of sweet corn", "picked sweet corn 7 lb", 12 * 265),
        ("picked summer squash 2 courgettes", "picked summer squash 14 oz", 2 * 196),
        ("picked courgettes 2 pieces", "picked summer squash 14 oz", 2 * 196),
        ("picked tomatoes two tomatoes", "picked tomato 8 1/2 oz", 2 * 123),
    ],
)
def test_pieces_are_written_as_what_they_weigh(
    line: str, text: str, grams: float, names: Names
) -> None:
    """To the step of a kitchen scale, so that the line reads back as the same amount."""
    event = read(line, names)
    assert isinstance(event, events.Picked) and event.text == text
    assert event.amount.value == pytest.approx(grams, rel=0.03)


def test_a_number_alone_is_asked_about_where_it_may_be_pieces(names: Names) -> None:
    with pytest.raises(Unclear) as asked:
        read("picked courgettes 4", names)
    assert asked.value.choices == ("4 pieces", "4 lb")
    with pytest.raises(Unclear) as asked:
        read("picked snap bean 4", names)
    assert not asked.value.choices
