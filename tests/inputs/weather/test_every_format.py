"""What holds of every weather format: read as documented, packed or not, whole or torn."""

from __future__ import annotations

import datetime as dt
import random
from pathlib import Path

import pandas as pd
import pytest
from inputs.weather.files import PACKED, days_of, encoded, read
from inputs.weather.samples import EXPECTED, SAMPLES, Sample

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.weather import typical_year
from harvestplan.inputs.weather.all_formats import FORMATS, format_of

every = pytest.mark.parametrize("sample", SAMPLES.values(), ids=list(SAMPLES))


def test_there_is_a_sample_of_every_format_but_the_plain_one() -> None:
    named = {sample.format for sample in SAMPLES.values()}
    assert named == {f.name for f in FORMATS} - {"the plain form", typical_year.FORMAT.name}
    assert all(sample.document for sample in SAMPLES.values())


@every
def test_it_is_read_as_documented(sample: Sample, tmp_path: Path) -> None:
    found = read(tmp_path, *encoded(sample))
    days = days_of(found.daily)
    assert {day: days[day] for day in EXPECTED} == {
        day: pytest.approx(both) for day, both in EXPECTED.items()
    }
    assert found.filled == (dt.date(2026, 5, 4), dt.date(2026, 5, 5))
    assert {source.format for source in found.sources} == {sample.format}
    told = " ".join(line for source in found.sources for line in source.oddities)
    assert ("doubtful" in told or "gathered" in told) == sample.flagged
    if sample.flagged:
        assert "1 value " in told


@every
def test_only_its_own_format_recognises_it(sample: Sample) -> None:
    for text in sample.texts:
        assert [f.name for f in FORMATS if f.recognises(text)] == [sample.format]


@every
@pytest.mark.parametrize("packing", PACKED)
def test_packed_or_not_it_is_the_same(sample: Sample, packing: str, tmp_path: Path) -> None:
    files = encoded(sample)
    (tmp_path / "plain").mkdir()
    bare = read(tmp_path / "plain", *files).daily
    packed = read(tmp_path, *(PACKED[packing](data) for data in files)).daily
    pd.testing.assert_frame_equal(bare, packed)


@every
def test_line_ends_and_a_byte_order_mark_do_not_matter(sample: Sample, tmp_path: Path) -> None:
    files = [b"\xef\xbb\xbf" + data.replace(b"\n", b"\r\n") for data in encoded(sample)]
    days = days_of(read(tmp_path, *files).daily)
    assert {day: days[day] for day in EXPECTED} == {
        day: pytest.approx(both) for day, both in EXPECTED.items()
    }


CUTS = [
    (name, lost)
    for name, sample in SAMPLES.items()
    for lost in (1, 2, 3, 4, 6, 9, 15, 21)
    # A shorter number in the last field cannot be told from a whole one.
    if lost >= 6 or not sample.last_is_temperature
]


@pytest.mark.parametrize(("name", "lost"), CUTS)
def test_a_last_line_cut_short_gives_no_false_day(name: str, lost: int, tmp_path: Path) -> None:
    *others, last = encoded(SAMPLES[name])
    try:
        days = days_of(read(tmp_path, *others, last[:-lost]).daily)
    except FilesNeedMending as error:
        assert name == "open_meteo_json" and "cut short" in str(error)
        return
    for day, both in days.items():
        if day in EXPECTED:
            assert both == pytest.approx(EXPECTED[day])
    assert set(EXPECTED) - set(days) <= {"2026-05-06"}


@every
@pytest.mark.parametrize("packing", ["gzip", "bzip2", "xz", "zip"])
def test_a_packed_file_cut_short_is_refused(sample: Sample, packing: str, tmp_path: Path) -> None:
    *others, last = encoded(sample)
    data = PACKED[packing](last)
    with pytest.raises(FilesNeedMending, match=r"damaged|known") as caught:
        read(tmp_path, *others, data[: len(data) // 2])
    assert caught.value.flaws[0].file.startswith(f"file{len(others)}.dat")


@every
def test_days_in_disorder_and_twice_over(sample: Sample, tmp_path: Path) -> None:
    """The same file once more behind itself changes nothing."""
    files = encoded(sample)
    once = days_of(read(tmp_path, *files).daily)
    assert days_of(read(tmp_path, *files, *files).daily) == once


def test_nothing_of_other_texts_is_taken_for_weather() -> None:
    for text in ("", "\n", "a,b\n1,2\n", "<html>", "{}", "[]", '{"daily": 1}', "\0", "DATE;x\n"):
        assert format_of(text) is None


BITS = (b"", b",", b";", b'"', b"\n", b"\0", b"\xff", b"-9999", b"nan", b"1e400", b"{", b"null",
        b"\xe2\x80\xae", b"\r", b"2026-02-30", b"TMAX", b"-", b"99999999999999999999")  # fmt: skip


@every
def test_files_spoiled_at_random_are_read_or_refused_in_words(
    sample: Sample, tmp_path: Path
) -> None:
    """Bytes replaced, repeated and drawn, some packed; whatever comes, no other error."""
    draw = random.Random(sample.format)
    for _ in range(25):
        files = []
        for data in encoded(sample):
            spoiled = bytearray(data)
            for _ in range(draw.choice((1, 1, 2, 5))):
                at = draw.randrange(len(spoiled) + 1)
                to = at + draw.choice((0, 1, 2, 30))
                many = draw.choice((1, 1, 50))
                spoiled[at:to] = draw.choice((*BITS, bytes(spoiled[at:to]))) * many
            pack = draw.choice((bytes, bytes, *PACKED.values()))
            files.append(pack(bytes(spoiled)))
        try:
            read(tmp_path, *files)
        except FilesNeedMending as error:
            assert str(error).strip()


def test_of_two_columns_of_one_name_the_first_counts(tmp_path: Path) -> None:
    (text,) = SAMPLES["ghcn_wide"].texts
    doubled = "\n".join(
        f'{line},"{"TMAX" if n == 0 else 999}"' for n, line in enumerate(text.splitlines())
    )
    days = days_of(read(tmp_path, doubled.encode()).daily)
    assert days["2026-05-01"] == pytest.approx(EXPECTED["2026-05-01"])
