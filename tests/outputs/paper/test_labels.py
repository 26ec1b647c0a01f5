"""Labels: where each lies to the hundredth of a millimetre, what stands on it, codes of its own."""

from __future__ import annotations

import copy
import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from outputs.paper.pages_read import Element, outside_references, read_page
from outputs.written_plans import make_library, make_plan, make_season, plan_data

from harvestplan.outputs.paper.label_grids import (
    GRIDS,
    GridError,
    read_grid,
    read_shift,
    read_start,
    usual_grid,
)
from harvestplan.outputs.paper.labels import (
    bags_text,
    by_session,
    labels_html,
    make_labels,
    outlines_html,
    product_codes,
    tally_html,
)
from harvestplan.outputs.paper.printed import Sheet, write_labels
from harvestplan.words import product_words


def labels(data: dict[str, Any] | None = None, **season: Any) -> Any:
    return make_labels(make_plan(data=data), make_season(**season), make_library())


def places(page: bytes) -> list[list[tuple[float, float]]]:
    """(left, top) in mm of each label, by sheet."""
    sheets = read_page(page).all("div", "sheet")
    return [[_place(label) for label in sheet.all("div", "label")] for sheet in sheets]


def _place(label: Element) -> tuple[float, float]:
    style = label.attributes["style"] or ""
    left, top = re.findall(r"(?:left|top):(-?[\d.]+)mm", style)
    return float(left), float(top)


@pytest.mark.parametrize(
    ("name", "last"),
    [  # left and top of the last label, from the sheet's sizes
        ("a4-3x7", (7.25 + 2 * 66.0, 15.15 + 6 * 38.1)),
        ("a4-2x7", (4.65 + 101.6, 15.15 + 6 * 38.1)),
        ("a4-4x10", (8 + 3 * 48.5, 21.5 + 9 * 25.4)),
        ("letter-3x10", (25.4 * (3 / 16 + 2 * 2.75), 25.4 * 9.5)),
    ],
)
def test_labels_lie_where_the_sheet_has_them(name: str, last: tuple[float, float]) -> None:
    grid = GRIDS[name]
    assert grid.place(0) == pytest.approx((grid.left, grid.top), abs=0.01)
    assert grid.place(grid.per_sheet - 1) == pytest.approx(last, abs=0.01)
    many = labels() * 3
    shown = places(labels_html(many, grid))
    assert sum(map(len, shown)) == len(many) == 90
    assert len(shown) == -(-90 // grid.per_sheet)
    for sheet in shown:
        for number, place in enumerate(sheet):
            assert place == pytest.approx(grid.place(number), abs=0.01)


@pytest.mark.parametrize("grid", GRIDS.values(), ids=GRIDS)
def test_margins_are_alike_on_both_sides(grid: Any) -> None:
    """The sums of margins, labels and gaps fill the sheet."""
    left, top = grid.place(grid.per_sheet - 1)
    assert left + grid.width + grid.left == pytest.approx(grid.paper[0], abs=0.01)
    assert top + grid.height + grid.top == pytest.approx(grid.paper[1], abs=0.01)


def test_a_part_used_sheet_starts_later_and_all_is_shifted() -> None:
    grid = GRIDS["a4-3x7"]
    page = labels_html(
        labels(), grid, read_start(7, grid), shift=read_shift("1.5 mm,-0.5 mm", "US")
    )
    first, second = places(page)
    assert first[0] == pytest.approx((7.25 + 1.5, 15.15 + 2 * 38.1 - 0.5), abs=0.01)
    assert (len(first), len(second)) == (15, 15)
    assert second[0] == pytest.approx((8.75, 14.65), abs=0.01)


def test_the_paper_is_fixed_and_what_to_print_is_said() -> None:
    page = labels_html(labels(), GRIDS["letter-3x10"])
    style = read_page(page).all("style")[0].text
    assert "@page { size: 215.9mm 279.4mm; margin: 0; }" in style
    assert "Print at 100%, not fit to page" in read_page(page).text
    assert outside_references(page) == ["../book.html#evenings"]  # beside it, in out/


def test_the_test_page_has_outlines_and_rulers_but_no_labels() -> None:
    page = read_page(outlines_html(GRIDS["a4-4x10"], (1.0, 2.0)))
    outlines = page.all("rect", "outline")
    assert len(outlines) == 40
    assert (outlines[0].attributes["x"], outlines[0].attributes["y"]) == ("9.0", "23.5")
    assert "snap bean" not in page.text
    rulers = page.all("path", "ruler")
    assert len(rulers) == 2
    for number, ruler in enumerate(rulers):
        marks = [mark.split() for mark in re.findall(r"M([\d. ]+)", ruler.attributes["d"] or "")]
        at = [float(mark[number]) for mark in marks]
        assert [round(place - at[0], 2) for place in at] == list(range(101))


@pytest.mark.parametrize(
    ("text", "place", "size"),
    [
        ("2x5 of 90x50 mm, top 12 mm, left 10 mm, gap 3 mm, on a4", (103, 12), (90, 50)),
        ("2x5 of 4 x 2 in, top 1/2 in, left 0.15 in, gap 0.2 in x 0.1 in, on letter",
         (25.4 * 4.35, 12.7), (101.6, 50.8)),
        ("3 x 4 of 5x5 cm, on 200x250 mm", (50, 0), (50, 50)),
        ("A4-2x7", (4.65 + 101.6, 15.15), (99.1, 38.1)),
    ],
)  # fmt: skip
def test_own_grids_in_any_unit(text: str, place: Any, size: Any) -> None:
    grid = read_grid(text, "metric")
    assert grid.place(1) == pytest.approx(place, abs=0.01)
    assert (grid.width, grid.height) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a5-3x3", "There are a4-3x7"),
        ("2x5 of 90x50", "no unit"),
        ("2x5 of 90x50 mm, bottom 3 mm", "bottom 3 mm"),
        ("2x5 of 90x50 mm, top", "top"),
        ("3x5 of 90x50 mm", "reach 270 mm across"),
        ("2x9 of 90x50 mm", "450 mm down"),
        ("0x5 of 90x50 mm", "1 to 20 labels"),
        ("30x30 of 5x5 mm", "1 to 20 labels"),
        ("4x10 of 20x10 mm", "25 mm across"),
        ("2x5 of 90 g", "length"),
        ("", "There are"),
    ],
)
def test_a_grid_that_cannot_be(text: str, words: str) -> None:
    with pytest.raises(GridError, match=re.escape(words)):
        read_grid(text, "metric")


@pytest.mark.parametrize("text", ["3 mm", "1 mm,2 mm,3 mm", "a,b", "1,2", "30 mm,0", ",", "1 g,0"])
def test_a_shift_that_cannot_be(text: str) -> None:
    with pytest.raises(GridError):
        read_shift(text, "US")


def test_shifts() -> None:
    assert read_shift("0,0", "US") == (0.0, 0.0)
    assert read_shift("1/8 in, -0.2 cm", "US") == pytest.approx((3.175, -2.0), abs=0.001)


@pytest.mark.parametrize("start", [0, -1, 22])
def test_a_start_off_the_sheet(start: int) -> None:
    with pytest.raises(GridError, match="1 to 21"):
        read_start(start, GRIDS["a4-3x7"])


def test_what_stands_on_a_label() -> None:
    """Twelve pouches of 340 g, the last with 300 g; 300 days of keeping."""
    found = labels()
    assert len(found) == 12 + 8 + 10
    assert found[0].line == (
        "SB-01; snap beans, cut; 12 oz; Frozen 28 Oct 2027; Best before Aug 2028"
    )
    assert found[11].line == (
        "SB-12; snap beans, cut; 10 1/2 oz; Frozen 28 Oct 2027; Best before Aug 2028"
    )
    page = read_page(labels_html(found, usual_grid("US")))
    shown = page.all("div", "label")
    assert len(shown) == 30
    assert shown[12].text == "broccoli florets 12 oz BR-01 Frozen 9 Nov 2027 Best before Sep 2028"
    assert found[11].amount == "10 1/2 oz" and labels(measures="metric")[11].amount == "300 g"


def test_no_label_for_cancelled_sessions_or_first_sittings() -> None:
    data = plan_data()
    data["sessions"][0]["status"] = "cancelled"
    data["sessions"][1]["runs"][0] |= {"pouches": 0, "grams_packed": 0, "pouch": None}
    assert [label.code for label in labels(data)] == [f"WS-{n:02d}" for n in range(1, 11)]


NAMES = st.lists(st.text(min_size=1, max_size=12), min_size=1, max_size=30, unique=True)


@given(NAMES)
def test_codes_are_short_and_never_shared(names: list[str]) -> None:
    data = plan_data()
    data["wants"] = [
        {"product": name, "wanted": 1, "planned": 1, "stored": 0, "short": 0} for name in names
    ]
    codes = product_codes(make_plan(data=data), make_season())
    assert len(set(codes.values())) == len(codes)
    fewer = dict(data, wants=data["wants"][:-1])
    before = product_codes(make_plan(data=fewer | {"sessions": []}), make_season())
    assert before and all(codes[name] == code for name, code in before.items())


def test_codes_of_like_names_differ() -> None:
    names = ("winter squash, purée", "winter squash, soup", "beet, sliced", "beet, whole")
    wants = [{"product": name, "portions": 4, "portion": "300 g"} for name in names]
    codes = product_codes(make_plan(), make_season(want=wants))
    assert [codes[product_words(name)] for name in names] == ["WS", "WSS", "BE", "BEW"]


def test_the_list_for_the_pen() -> None:
    text = bags_text(labels(), make_season())
    assert text.count("[ ] ") == 30
    assert "Thu 28 October 2027\n[ ] SB-01; snap beans, cut; 12 oz;" in text
    assert bags_text([], make_season()) == "Nothing to be packed is planned.\n"


def test_the_tally_has_a_box_for_each_pouch_and_those_already_there() -> None:
    stored = [
        {"product": "snap bean, cut", "portions": 3, "portion": "340 g", "frozen_on": "2026-08-01"}
    ]
    season = make_season(stored=stored)
    data = tally_html(labels(), make_plan(), season)
    assert outside_references(data) == ["../book.html#buy"]  # beside it, in out/
    sections = {each.all("h2")[0].text: each for each in read_page(data).all("section")}
    assert {name: len(each.all("li")) for name, each in sections.items()} == {
        "snap beans, cut (SB)": 15,
        "broccoli florets (BR)": 8,
        "winter squash purée (WS)": 10,
    }
    assert len(sections["snap beans, cut (SB)"].all("li", "there")) == 3


def test_a_session_that_moves_takes_its_dates_along_and_keeps_its_codes() -> None:
    """Each session's labels by the name of its sheet; the other session's stay as they were."""
    before = by_session(labels())
    data = plan_data()
    first = data["sessions"][0]
    for key in ("start", "end", "window_start", "window_end"):
        first[key] = first[key].replace("2027-10-28", "2027-10-30")
    after = by_session(labels(data))
    assert list(before) == ["2027-10-28", "2027-11-09"]
    assert list(after) == ["2027-10-30", "2027-11-09"]
    assert after["2027-11-09"] == before["2027-11-09"]
    moved = after["2027-10-30"]
    assert {label.dated for label in moved} == {"Frozen 30 Oct 2027"}
    assert [label.code for label in moved] == [label.code for label in before["2027-10-28"]]
    assert moved[0].best_by == before["2027-10-28"][0].best_by + dt.timedelta(days=2)


def test_the_tally_knows_which_labels_are_on_pouches_in_store() -> None:
    """Those of sessions that are done have the double frame."""
    data = plan_data()
    data["sessions"][0]["status"] = "done"
    page = read_page(tally_html(labels(data), make_plan(data=data), make_season()))
    there = {each.all("h2")[0].text: len(each.all("li", "there")) for each in page.all("section")}
    assert there["snap beans, cut (SB)"] == 12
    assert there["winter squash purée (WS)"] == 0


def printed(data: dict[str, Any], *days: tuple[str, str]) -> dict[str, Any]:
    """Plan data with labels told to be printed: (the day on them, the day of the telling)."""
    return data | {"printed": [{"day": day, "told_on": on} for day, on in days]}


def boxes(data: dict[str, Any]) -> dict[str, dict[str, int]]:
    """How many boxes of each kind the tally has, by food."""
    page = read_page(tally_html(labels(data), make_plan(data=data), make_season()))
    kinds = ("there", "labelled", "to-come")
    return {
        each.all("h2")[0].text: {kind: len(each.all("li", kind)) for kind in kinds}
        for each in page.all("section")
    }


def test_the_tally_shows_of_which_pouches_labels_are_printed() -> None:
    """Where nothing is told of any, boxes are as they were."""
    plain = boxes(plan_data())
    assert all(kinds == {"there": 0, "labelled": 0, "to-come": 0} for kinds in plain.values())
    told = boxes(printed(plan_data(), ("2027-10-28", "2027-10-27")))
    assert told["snap beans, cut (SB)"] == {"there": 0, "labelled": 12, "to-come": 0}
    assert told["winter squash purée (WS)"] == {"there": 0, "labelled": 0, "to-come": 10}
    data = printed(plan_data(), ("2027-10-28", "2027-10-27"))
    assert bags_text(labels(data), make_season()).count("[x] ") == 12


def test_labels_of_a_day_on_which_nothing_is_packed_any_more_are_named() -> None:
    data = printed(plan_data(), ("2027-10-30", "2027-10-27"), ("2027-10-28", "2027-10-27"))
    page = read_page(tally_html(labels(data), make_plan(data=data), make_season())).text
    assert "Labels are printed for Sat 30 October" in page
    assert "printed for Thu 28 October" not in page


def test_numbers_on_paper_stay_whatever_comes_before_them() -> None:
    """The second session's beans are labelled first, then another session with beans is planned
    before both: what is printed or in store keeps its numbers, also when the first is done."""

    def codes(data: dict[str, Any], day: str) -> list[str]:
        return [each.code for each in labels(data) if f"{each.date}" == day and "SB" in each.code]

    told = ("2027-11-09", "2027-10-27")
    plain = plan_data()
    plain["sessions"][1]["runs"][0]["product"] = "snap bean, cut"
    assert codes(plain, "2027-11-09")[0] == "SB-13"
    data = printed(plain, told)
    late = codes(data, "2027-11-09")
    assert late[0] == "SB-01"
    assert codes(data, "2027-10-28")[0] == f"SB-{len(late) + 1:02d}"
    done = copy.deepcopy(data)
    done["sessions"][0]["status"] = "done"
    assert codes(done, "2027-11-09") == late
    assert codes(done, "2027-10-28") == codes(data, "2027-10-28")
    both = printed(done, told, ("2027-10-28", "2027-10-26"))
    assert codes(both, "2027-10-28")[0] == "SB-01"
    assert [label.date for label in labels(data)] == sorted(label.date for label in labels(data))


def test_a_sheet_of_one_day_says_how_to_tell_that_it_is_printed() -> None:
    (first, *_) = by_session(labels()).values()
    page = read_page(labels_html(first, usual_grid("US"))).text
    assert "harvestplan printed labels 2027-10-28" in page


def test_labels_of_many_days_say_why_each_is_better_printed_on_its_own() -> None:
    grid = usual_grid("US")
    assert "A session that moves has other dates" in read_page(labels_html(labels(), grid)).text
    (first, *_) = by_session(labels()).values()
    page = read_page(labels_html(first, grid)).text
    assert "12 labels for Thu 28 October 2027" in page and "moves" not in page


def test_names_are_text_and_nothing_else() -> None:
    nasty = "<script>alert(1)</script>, \"'&<b>"
    data = plan_data()
    data["season"]["name"] = nasty
    data["sessions"][0]["runs"][0]["product"] = nasty
    plan, season = make_plan(data=data), make_season()
    found = make_labels(plan, season, make_library())
    for page in (labels_html(found, usual_grid("UK")), tally_html(found, plan, season)):
        assert b"<script" not in page and b"<b>alert" not in page
        assert "<script>alert(1)</script>" in read_page(page).text


def test_written_again_on_its_own(tmp_path: Path) -> None:
    plan, season, library = make_plan(), make_season(), make_library()
    wish = Sheet(grid="a4-3x7", start=7, shift="1 mm,0", day=plan.sessions[0].start.date())
    path = write_labels(plan, season, library, out=tmp_path, sheet=wish)
    assert path == tmp_path / "labels" / "2027-10-28.html"
    assert [len(sheet) for sheet in places(path.read_bytes())] == [12]
    assert places(path.read_bytes())[0][0] == pytest.approx((8.25, 15.15 + 2 * 38.1), abs=0.01)
    test = write_labels(plan, season, library, out=tmp_path, sheet=Sheet(test_page=True))
    assert test.name == "test-page.html" and path.exists()
    assert (tmp_path / "labels" / "tally.html").exists()
    with pytest.raises(GridError, match="No pouch is packed on"):
        write_labels(plan, season, library, out=tmp_path, sheet=Sheet(day=plan.as_of))
