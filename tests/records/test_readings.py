"""What a thermometer read in food put to chill is kept; 41 °F is the end of the two-stage rule
(Southern Nevada Health District, cool foods quickly and safely)."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from records.diary_folder import make_folder

from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.records.events import ColdReading
from harvestplan.records.names import Names, names_in
from harvestplan.records.phrases import read_event

HEAD = (dt.date(2027, 8, 17), "", 1)


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> Names:
    return names_in(make_folder(Path(tmp_path_factory.mktemp("names")) / "s"))


@pytest.mark.parametrize(
    ("words", "celsius", "minutes"),
    [
        ("41 F", 5.0, None),
        ("41 °F after 50 min", 5.0, 50.0),
        ("5 C, after 1 h", 5.0, 60.0),
        ("70 F after 12 minutes", 21.11, 12.0),
    ],
)
def test_a_reading_is_kept(words: str, celsius: float, minutes: float | None, names: Names) -> None:
    event = read_event("reading", f'"winter squash, purée" {words}', names, head=HEAD)
    assert isinstance(event, ColdReading)
    assert event.celsius == pytest.approx(celsius, abs=0.01)
    assert event.minutes == minutes
    again = read_event("reading", event.text.removeprefix("reading "), names, head=HEAD)
    assert again == event


@pytest.mark.parametrize("words", ["", "cold", "41", "500 F", "-80 C", "41 F after dinner"])
def test_what_is_no_reading_is_asked_about(words: str, names: Names) -> None:
    with pytest.raises(Unclear):
        read_event("reading", f'"winter squash, purée" {words}'.strip(), names, head=HEAD)
