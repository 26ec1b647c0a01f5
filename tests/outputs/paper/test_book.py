"""The book: whole in one file, its numbers those of the plan, every chart told in words too."""

from __future__ import annotations

import datetime as dt
import itertools
import re
from typing import Any

import pytest
from outputs.paper.pages_read import Element, outside_references, read_page
from outputs.written_plans import AFTER, AS_OF, make_library, make_plan, make_season, plan_data

from harvestplan.outputs.paper.book import book_bytes


def book(data: dict[str, Any] | None = None, today: dt.date = AS_OF, **season: Any) -> bytes:
    return book_bytes(make_plan(data=data), make_season(**season), make_library(), today=today)


def part(name: str, data: dict[str, Any] | None = None, **more: Any) -> Element:
    page = read_page(book(data, **more))
    return next(each for each in page.all("section") if each.attributes.get("id") == name)


def rows(section: Element, number: int = 0) -> list[list[str]]:
    """A table's body as text."""
    body = section.all("tbody")[number]
    return [[cell.text for cell in row.all() if cell.tag in ("th", "td")] for row in body.all("tr")]


def bars(part: Element) -> list[tuple[float, float, float, float]]:
    """The rectangles drawn in a part of the page: x, y, width, height in percent."""
    found = []
    for path in part.all("path", "bar"):
        for shape in (path.attributes["d"] or "").split("z")[:-1]:
            number = r"([\d.]+)"
            match = re.fullmatch(f"M{number} {number}h{number}v{number}h-{number}", shape)
            assert match is not None
            x, y, width, height, back = map(float, match.groups())
            assert back == width
            found.append((x, y, width, height))
    return found


def test_it_asks_nothing_of_the_outside_and_runs_no_script() -> None:
    assert outside_references(book()) == []
    assert read_page(book()).all("script") == []


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert book() == book()


def test_every_chart_has_a_sentence_and_its_numbers() -> None:
    charts = read_page(book()).all("section", "chart")
    assert len(charts) == 2 + 3 + 1 + 1 + 2  # glance, crops, freezer, wants, sessions
    for chart in charts:
        sentence = chart.all("p", "finding")[0].text
        assert sentence.endswith(".")
        assert sum(c.isdigit() for c in sentence) > 0
        drawn = [each for each in chart.all("div") if each.attributes.get("role") == "img"]
        assert sentence in (drawn[0].attributes["aria-label"] or "")
        assert len(chart.all("details")) == 1
        assert all(len(row) == len(chart.all("thead")[0].all("th")) for row in rows(chart))
        assert rows(chart)


def test_all_text_stands_outside_the_stretched_shapes() -> None:
    page = read_page(book())
    for svg in page.all("svg"):
        assert svg.text == ""
        assert svg.all("text") == []
    for field in page.all("div", "field"):
        svg = field.all("svg")[0]
        assert svg.attributes["preserveaspectratio"] == "none"


def test_lines_keep_their_width_in_stretched_shapes() -> None:
    style = read_page(book()).all("style")[0].text
    assert ".field svg * { vector-effect: non-scaling-stroke; }" in style


def test_shapes_lie_within_their_box() -> None:
    for field in read_page(book()).all("div", "field"):
        for x, y, width, height in bars(field):
            assert x >= 0 and x + width <= 100.05
            assert y >= 0 and y + height <= 100.05
            assert width > 0


def test_wants_are_the_plans() -> None:
    wants = part("wants")
    assert rows(wants) == [
        ["snap beans, cut", "40", "3", "12", "25"],
        ["broccoli florets", "8", "0", "8", "0"],
        ["winter squash purée", "10", "0", "10", "0"],
    ]
    assert wants.all("p", "finding")[0].text == (
        "Of 58 portions wanted, 30 are planned and 3 stored already; "
        "1 food falls short by 25 in all."
    )
    assert "snap beans, cut: 25 portions short. There is more of it" in wants.text
    beans = wants.all("div", "strip")[0]
    assert [width for _, _, width, _ in bars(beans)] == pytest.approx(
        [100 * 3 / 40, 100 * 12 / 40, 100 * 25 / 40], abs=0.01
    )


def test_the_reason_of_the_plan_stands_with_a_short_want() -> None:
    told = {"code": "short", "message": "snap beans, cut: 25 portions short. The frost took them."}
    data = plan_data() | {"warnings": [told]}
    assert "The frost took them." in part("wants", data).text
    assert "The frost took them." not in part("care", data).text


def test_harvest_by_week_adds_up_the_lots() -> None:
    """The two bean lots fall into two weeks; low is half, high twice the likely harvest."""
    charts = part("harvest", measures="metric").all("section", "chart")
    beans = next(chart for chart in charts if chart.all("h3")[0].text == "Snap beans")
    assert rows(beans) == [
        ["Mon 25 October", "2.6 kg", "5.3 kg", "11 kg"],
        ["Mon 1 November", "200 g", "400 g", "800 g"],
    ]
    assert beans.all("p", "finding")[0].text == (
        "5.7 kg (from 2.8 kg to 11 kg) in all; most in the week of Mon 25 October, 5.3 kg."
    )


def test_two_plantings_even_each_other_out() -> None:
    """1000 g each from 500 to 2000 g: the root of 2 times 500 less, and times 1000 more."""
    data = plan_data()
    first = data["lots"][0] | {"grams": 1000, "low_grams": 500, "high_grams": 2000}
    data["lots"] = [first, first | {"id": "other", "planting": "other row"}]
    charts = part("harvest", data, measures="metric").all("section", "chart")
    assert rows(charts[0]) == [["Mon 25 October", "1.3 kg", "2 kg", "3.4 kg"]]
    data["lots"][1]["planting"] = data["lots"][0]["planting"]
    charts = part("harvest", data, measures="metric").all("section", "chart")
    assert rows(charts[0]) == [["Mon 25 October", "1 kg", "2 kg", "4 kg"]]


def test_what_is_bought_comes_in_but_is_no_harvest() -> None:
    data = plan_data()
    data["lots"][3] |= {"planting": None, "bought": "winter squash"}
    assert "Winter squash" not in part("harvest", data).text
    assert "winter squash" in [row[0] for row in rows(part("season", data), 1)]


def test_the_freezers_fullest_day() -> None:
    freezer = part("freezer", measures="metric")
    assert freezer.all("p", "finding")[0].text == (
        "Chest is fullest on Tue 9 November 2027: 90 L of 100 L (90%); it never gets full."
    )
    assert rows(freezer) == [
        ["Mon 25 October 2027", "60 L", "100 L"],
        ["Mon 8 November 2027", "90 L", "100 L"],
    ]
    limit = freezer.all("path", "limit")[0].attributes["d"] or ""
    assert float(limit.split()[1].partition("L")[0]) == pytest.approx(100 - 100 / 1.05, abs=0.01)


def test_when_a_freezer_is_full() -> None:
    data = plan_data()
    data["freezer"][1]["used_ml"] = data["freezer"][2]["used_ml"] = 97_500
    told = part("freezer", data).all("p", "finding")[0].text
    assert told.endswith("it is full from Tue 9 November 2027 to Wed 10 November 2027.")
    data["freezer"][2]["used_ml"] = 96_000
    told = part("freezer", data).all("p", "finding")[0].text
    assert told.endswith("it is full on Tue 9 November 2027.")


@pytest.mark.parametrize("name", ["season", "harvest", "freezer"])
def test_today_is_marked_in_the_charts_of_the_season_and_only_within_it(name: str) -> None:
    charts = part(name, today=dt.date(2027, 10, 30)).all("section", "chart")
    assert charts and all(chart.all("i", "now") for chart in charts)
    told = "today, Sat 30 October" in part(name, today=dt.date(2027, 10, 30)).text
    assert told == (name != "harvest")  # small charts have no key
    assert part(name, today=dt.date(2029, 1, 1)).all("i", "now") == []


def test_today_stands_where_its_day_is() -> None:
    """The charts run over four whole weeks from Monday 18 October."""
    chart = part("season", today=dt.date(2027, 10, 30)).all("section", "chart")[0]
    at = float(re.findall(r"left:([\d.]+)%", chart.all("i", "now")[0].attributes["style"] or "")[0])
    assert at == pytest.approx(100 * 12 / 28, abs=0.01)


def test_a_long_chart_has_its_months_above_as_well() -> None:
    data = plan_data()
    data["lots"] += [data["lots"][0] | {"id": f"l{n}", "crop": f"crop {n}"} for n in range(8)]
    (coming,) = [c for c in part("season", data).all("section", "chart") if c.all("div", "strips")]
    assert len(coming.all("div", "across")) == 2
    assert len(coming.all("div", "heads")) == 1


def test_sessions_soon_show_their_timelines_and_the_others_at_a_tap() -> None:
    shown = [
        "open" in article.all("details", "timeline")[0].attributes
        for article in part("evenings").all("article")
    ]
    assert shown == [True, False]


def test_sessions_by_week() -> None:
    season = part("season")
    assert "2 sessions with 5.0 hours in all" in season.text
    assert [row for row in rows(season) if row[1] != "0"] == [
        ["Mon 25 October", "1", "2.5"],
        ["Mon 8 November", "1", "2.5"],
    ]


def test_each_session_has_its_timeline_and_every_step() -> None:
    evenings = part("evenings").all("article")
    assert [each.all("h3")[0].text for each in evenings] == [
        "Thu 28 October, 6:00 pm",
        "Tue 9 November, 6:00 pm",
    ]
    first = evenings[0]
    labels = [each.text for each in first.all("span", "label")]
    assert labels == ["Hands 1", "Hands 2", "big pot", "sink", "sealer"]
    assert len(rows(first)) == 10
    assert first.all("a")[0].attributes["href"] == "runsheets/2027-10-28.html"
    x, _, width, _ = bars(first.all("div", "strip")[2])[0]
    assert x == pytest.approx(100 * 5 / 150, abs=0.01)
    assert width == pytest.approx(100 * 25 / 150, abs=0.01)


def test_no_pair_of_hands_does_two_things_at_once() -> None:
    for evening in part("evenings").all("article"):
        for strip in evening.all("div", "strip"):
            spans = sorted((x, width) for x, _, width, _ in bars(strip))
            for (x, width), (following, _) in itertools.pairwise(spans):
                assert x + width <= following + 0.02


def test_this_weeks_session_leads_to_its_run_sheet() -> None:
    links = part("week").all("a")
    assert [link.attributes["href"] for link in links] == ["runsheets/2027-10-28.html"]
    assert [bold.text for bold in part("week").all("b")] == [
        "6:00 pm to 8:30 pm: snap beans, cut, 12 portions"
    ]


def test_this_week_begins_on_the_day_asked_for() -> None:
    assert "broccoli, florets, 8 portions" not in part("week").text
    assert "broccoli florets, 8 portions" in part("week", today=AFTER).text
    empty = part("week", today=dt.date(2028, 3, 1)).text
    assert "Nothing to do up to Tue 7 March. No session lies ahead." in empty


def test_gifts_shopping_proof_and_cautions() -> None:
    page = read_page(book()).text
    for words in (
        "snap beans: 1 1/2 lb, of which 11 oz by Sun 31 October and 14 oz by Sat 6 November",
        "1 pack of 50 pouches 8x10",
        "Pouches in stock, as your kitchen file says: 10 of 8x10. Count what lies there today",
        "Cost of what has a price: 9.50",
        "At best another plan could bring 6.5% more: about 1.5 portions.",
        "The sealer passes its service time.",
        "Cool it in ice water.",
    ):
        assert words in page
    assert rows(part("give")) == [
        ["Sun 31 October", "snap beans", "11 oz"],
        ["Sat 6 November", "snap beans", "14 oz"],
    ]


def test_what_the_proof_counts_adds_up() -> None:
    """Each part that counts for anything, their sum, and what no plan can be worth more than."""
    *parts, (together, worth), (most, bound) = rows(part("proof"))
    assert [figure for _, figure in parts] == ["+30.0", "-0.6", "-4.0", "-2.1"]
    assert parts[2][0] == "Evenings in the kitchen"
    assert together.startswith("Together") and float(worth) == pytest.approx(30 - 0.6 - 4 - 2.1)
    assert most.startswith("At best another plan") and float(bound) == plan_data()["proof"]["bound"]


def test_a_plan_of_which_nothing_is_known_says_so() -> None:
    page = part("proof", plan_data() | {"proof": None})
    assert "Nothing is proven of this plan." in page.text
    assert page.all("table") == []


def test_what_is_written_in_a_file_looks_so() -> None:
    told = {"code": "files", "message": "Set `one_minute = true` in <kitchen>."}
    page = part("care", plan_data() | {"warnings": [told]})
    assert [code.text for code in page.all("code")] == ["one_minute = true"]
    assert "Set one_minute = true in <kitchen>." in page.text


NASTY = "<script>alert(1)</script>\"'&"


def test_names_are_text_and_nothing_else() -> None:
    data = plan_data()
    data["season"]["name"] = NASTY
    data["freezer"] = [row | {"name": NASTY} for row in data["freezer"]]
    data["wants"][0]["product"] = NASTY
    data["lots"][0]["crop"] = NASTY
    data["sessions"][0]["runs"][0]["product"] = NASTY
    data["sessions"][0]["tasks"][4]["equipment"] = [NASTY]
    data["shopping"][0]["item"] = NASTY
    data["warnings"] = [{"code": "files", "message": NASTY + "\u2028\x07"}]
    page = book(data)
    assert read_page(page).all("script") == []
    assert b"<script" not in page
    assert read_page(page).text.count("<script>alert(1)</script>") > 6


def test_an_empty_plan_still_makes_a_book() -> None:
    empty: dict[str, Any] = {
        key: []
        for key in (
            "lots",
            "sessions",
            "picks",
            "freezer",
            "balance",
            "wants",
            "shopping",
            "warnings",
        )
    }
    page = read_page(book(plan_data() | empty | {"proof": None}))
    assert "No session is planned." in page.text
    assert "Nothing to buy." in page.text


@pytest.mark.parametrize(
    ("status", "said"), [("planned", ""), ("firm", " (promised)"), ("done", " (done)")]
)
def test_what_stands_as_it_is_says_so_in_plain_words(status: str, said: str) -> None:
    data = plan_data()
    data["sessions"][0]["status"] = status
    heading = part("evenings", data).all("h3")[0].text
    assert heading == f"Thu 28 October, 6:00 pm{said}"


def test_cancelled_sessions_are_left_out() -> None:
    data = plan_data()
    data["sessions"][0]["status"] = "cancelled"
    assert len(part("evenings", data).all("article")) == 1
    assert "1 session with 2.5 hours in all" in part("season", data).text


def test_letters_are_large_enough_and_colours_follow_the_dark() -> None:
    """Smallest text 12 px at a base of 18 px; prefers-color-scheme is an open standard."""
    style = read_page(book()).all("style")[0].text
    assert "html { font-size: 18px;" in style
    sizes = [float(size) for size in re.findall(r"font-size: ([\d.]+)rem", style)]
    assert min(sizes) * 18 >= 12
    assert "prefers-color-scheme: dark" in style
    used = set(re.findall(r"var\((--[a-z0-9]+)\)", style)) - {"--rules"}  # each chart's own
    light, dark = (style.split("prefers-color-scheme: dark")[n] for n in (0, 1))
    for variables in (light, dark.split("@media print")[0]):
        assert used <= set(re.findall(r"(--[a-z0-9]+):", variables))


def test_an_old_plan_says_its_age_and_prices_have_the_households_currency() -> None:
    season = make_season()
    home = season.household.model_copy(update={"currency": "€"})
    priced = season.model_copy(update={"household": home})
    late = book_bytes(make_plan(), priced, make_library(), today=AS_OF + dt.timedelta(days=30))
    assert "This plan is 30 days old" in read_page(late).text
    assert "€9.50" in read_page(late).text
    fresh = book_bytes(make_plan(), season, make_library(), today=AS_OF)
    assert "days old" not in read_page(fresh).text and "€" not in read_page(fresh).text
