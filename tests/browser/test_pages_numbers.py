"""What the book shows is what plan.json says, read from the page as a browser has laid it out."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections import defaultdict
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from browser.measures import OPEN_ALL, TABLE

from harvestplan.words import crop_many, food_name

Show = Callable[..., Any]
Pages = dict[str, Path]

BARS = """field => {
  const box = field.getBoundingClientRect();
  return [...field.querySelectorAll('path.bar')].flatMap(path =>
    path.getAttribute('d').split('z').slice(0, -1).map(shape => {
      const [, x, , width] = shape.match(/M([0-9.]+) ([0-9.]+)h([0-9.]+)/);
      const at = path.getScreenCTM();
      return [path.getAttribute('class').split(' ')[1],
              (at.e + x * at.a - box.left) / box.width, width * at.a / box.width];
    }));
}"""
"""Class, start and width of each bar as shares of its field's width on the screen."""

POUND = 453.59237
OUNCE = POUND / 16


@pytest.fixture(scope="module")
def plan(pages: Pages) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((pages["book"].parent / "plan.json").read_text())
    return data


@pytest.fixture
def book(show: Show, pages: Pages) -> Any:
    page = show(pages["book"], width=1280)
    page.evaluate(OPEN_ALL)
    return page


def rows(book: Any, where: str) -> list[list[str]]:
    found: list[list[str]] = book.locator(f"{where} table").first.evaluate(TABLE)
    return found


def grams(words: str) -> float:
    """Like "10 1/2 lb" or "3 lb"."""
    *number, unit = words.removeprefix("about ").split()
    return float(sum(map(Fraction, number))) * {"lb": POUND, "oz": OUNCE}[unit]


COUNTS = ("wanted", "stored", "planned", "short")
CONTENTS = (
    "This week", "The season at a glance", "The sessions one by one", "Shopping", "To give away",
    "What to expect of the harvest", "How full the freezer gets",
    "What was wanted, what is planned", "How good the plan is", "Take care",
)  # fmt: skip


def test_its_contents_lead_to_each_part(book: Any) -> None:
    assert tuple(book.locator("h2").all_inner_texts()) == CONTENTS
    targets = book.locator("nav a").evaluate_all("all => all.map(each => each.hash.slice(1))")
    parts = book.locator("main > section").evaluate_all("all => all.map(each => each.id)")
    assert targets == parts


def test_every_link_leads_to_a_file_that_is_there(book: Any, pages: Pages) -> None:
    links = book.locator("main a").evaluate_all("all => all.map(each => each.getAttribute('href'))")
    assert len(links) > 20
    assert all((pages["book"].parent / link).is_file() for link in links)


def test_book_and_sheets_lead_to_each_other(show: Show, book: Any, pages: Pages) -> None:
    sheets = book.locator(".foods a:first-of-type").evaluate_all(
        "all => all.map(a => a.getAttribute('href'))"
    )
    for link in sheets[:3]:
        back = show(pages["book"].parent / link).locator(".to-book a").get_attribute("href")
        article = book.locator(f"[id='{back.partition('#')[2]}']")
        assert back.startswith("../book.html#")
        assert article.locator(".foods a").first.get_attribute("href") == link


def test_wants(book: Any, plan: dict[str, Any]) -> None:
    wants = plan["wants"]
    assert rows(book, "#wants") == [
        [
            food_name(w["product"]),
            *(str(w[key]) for key in ("wanted", "stored", "planned", "short")),
        ]
        for w in wants
    ]
    fields = book.locator("#wants .field").all()
    assert len(fields) == len(wants)
    for want, field in zip(wants, fields, strict=True):
        whole = max(want["wanted"], want["planned"] + want["stored"])
        drawn = {css: width for css, _, width in field.evaluate(BARS)}
        for css, key in (("c2", "stored"), ("c3", "planned"), ("empty", "short")):
            assert drawn.get(css, 0) == pytest.approx(want[key] / whole, abs=0.005)
    short = sum(w["short"] for w in wants)
    assert f"short by {short} in all" in book.locator("#wants .finding").inner_text()


def test_why_each_want_falls_short(book: Any, plan: dict[str, Any]) -> None:
    told = book.locator("#wants ul:not(.keys) li").all_inner_texts()
    short = [food_name(want["product"]) for want in plan["wants"] if want["short"]]
    assert sorted(line.partition(":")[0] for line in told) == sorted(short)
    assert all(line.partition("short. ")[2] for line in told)


def test_sessions_and_their_timelines(book: Any, plan: dict[str, Any]) -> None:
    sessions = sorted(plan["sessions"], key=lambda s: s["start"])
    articles = book.locator("#evenings article").all()
    assert len(articles) == len(sessions)
    for session, article in zip(sessions[:8], articles[:8], strict=True):
        start, end = (dt.datetime.fromisoformat(session[key]) for key in ("start", "end"))
        assert f"{start.day} {start:%B}" in article.locator("h3").inner_text()
        assert article.locator("tbody tr").count() == len(session["tasks"])
        drawn: dict[str, list[list[Any]]] = {}
        for strip in article.locator(".strip").all():
            drawn[strip.locator(".label").inner_text()] = strip.locator(".field").evaluate(BARS)
        for task in session["tasks"]:
            begins, ends = (dt.datetime.fromisoformat(task[key]) for key in ("start", "end"))
            x, width = (begins - start) / (end - start), (ends - begins) / (end - start)
            for machine in task["equipment"]:
                near = [b for b in drawn[machine] if abs(b[1] - x) < 0.003]
                assert any(abs(bar[2] - width) < 0.003 for bar in near), task["id"]
        cooks = {cook for task in session["tasks"] for cook in task["cooks"]}
        hours = sum(len(drawn[cook]) for cook in cooks)
        assert hours == sum(task["hands"] for task in session["tasks"])


def test_sessions_by_week(book: Any, plan: dict[str, Any]) -> None:
    weeks: dict[str, list[float]] = defaultdict(list)
    for session in plan["sessions"]:
        start, end = (dt.datetime.fromisoformat(session[key]) for key in ("start", "end"))
        monday = start.date() - dt.timedelta(days=start.weekday())
        weeks[f"Mon {monday.day} {monday:%B}"].append((end - start).total_seconds() / 3600)
    shown = [row for row in rows(book, "#season") if row[1] != "0"]
    assert shown == [
        [week, str(len(h)), f"{sum(h):.1f}"]
        for week, h in sorted(
            weeks.items(), key=lambda item: dt.datetime.strptime(item[0], "Mon %d %B")
        )
    ]


def test_the_harvest_by_week(book: Any, plan: dict[str, Any]) -> None:
    likely: dict[str, float] = defaultdict(float)
    for lot in plan["lots"]:
        if lot["planting"]:
            likely[crop_many(lot["crop"]).capitalize()] += lot["grams"]
    charts = book.locator("#harvest .chart").all()
    assert {chart.locator("h3").inner_text() for chart in charts} == set(likely)
    for chart in charts:
        found = chart.locator("table").evaluate(TABLE)
        total = sum(grams(row[2]) for row in found)
        # Each week to half a pound or two figures.
        steps = sum(max(POUND / 4, grams(row[2]) / 20) for row in found)
        assert total == pytest.approx(likely[chart.locator("h3").inner_text()], abs=steps)
        for _, low, middle, high in found:
            assert grams(low) <= grams(middle) <= grams(high)


def test_the_freezers_fullest_day(book: Any, plan: dict[str, Any]) -> None:
    fullest = max(plan["freezer"], key=lambda row: row["used_ml"])
    date = dt.date.fromisoformat(fullest["date"])
    told = book.locator("#freezer .finding").first.inner_text()
    assert f"{date.day} {date:%B} {date.year}" in told
    assert f"({100 * fullest['used_ml'] / fullest['capacity_ml']:.0f}%)" in told


def test_what_to_give_away(book: Any, plan: dict[str, Any]) -> None:
    surplus = sum(each["surplus_grams"] for each in plan["balance"])
    shown = sum(grams(row[2]) for row in rows(book, "#give"))
    trifles = 100 * len(plan["lots"])
    assert surplus - trifles <= shown <= surplus * 1.05
    last = {crop_many(lot["crop"]): set() for lot in plan["lots"]}
    for lot in plan["lots"]:
        keep = dt.date.fromisoformat(lot["keep_until"])
        last[crop_many(lot["crop"])].add(f"{keep.day} {keep:%B}")
    for date, crop, _ in rows(book, "#give"):
        assert date.partition(" ")[2] in last[crop]


def test_shopping_and_cost(book: Any, plan: dict[str, Any]) -> None:
    wanted = sorted((s for s in plan["shopping"] if s["buy"]), key=lambda s: s["order_by"])
    found = rows(book, "#buy")
    assert len(found) == len(wanted)
    for (date, what, price), line in zip(found, wanted, strict=True):
        day = dt.date.fromisoformat(line["order_by"])
        assert date.endswith(f"{day.day} {day:%B}")
        assert line["item"] in what
        assert price == ("" if line["price"] is None else f"{line['price']:.2f}")
    cost = sum(s["price"] for s in wanted if s["price"] is not None)
    assert f"Cost of what has a price: {cost:.2f}" in book.locator("#buy").inner_text()


def test_the_proof(book: Any, plan: dict[str, Any]) -> None:
    *parts, together, most = rows(book, "#proof")
    proof = plan["proof"]
    told = [p["portions"] for p in proof["parts"] if abs(p["portions"]) >= 0.05]
    assert [row[1] for row in parts] == [f"{portions:+.1f}" for portions in told]
    assert (together[1], most[1]) == (f"{proof['worth']:+.1f}", f"{proof['bound']:+.1f}")


def test_labels_and_tally_have_a_place_for_each_pouch(
    show: Show, pages: Pages, plan: dict[str, Any]
) -> None:
    pouches: dict[str, int] = defaultdict(int)
    for session in plan["sessions"]:
        for run in session["runs"]:
            pouches[food_name(run["product"])] += run["pouches"]
    labels = show(pages["labels"], width=1280).locator(".label").all_inner_texts()
    assert len(labels) == sum(pouches.values())
    codes = [code for text in labels for code in re.findall(r"^[A-Z0-9]+-\d+$", text, re.M)]
    assert len(set(codes)) == len(codes) == len(labels)
    tally = show(pages["tally"])
    for part in tally.locator("section").all():
        name = re.sub(r" \(\w+\)$", "", part.locator("h2").inner_text())
        assert part.locator("li:not(.there)").count() == pouches[name]
