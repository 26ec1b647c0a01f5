"""Forms over the season files: remarks stay, errors stand at their field, nobody is overwritten."""

from __future__ import annotations

import random
import tomllib
from pathlib import Path

import pytest
from page.served import SATURDAY, Page, demo_season

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.page import file_edit
from harvestplan.page.table_fields import FORMS


def _remarks(path: Path) -> list[str]:
    text = path.read_text(encoding="utf-8")
    return [line.partition("#")[2] for line in text.split("\n") if "#" in line]


def test_one_value_changes_and_all_else_stays_byte_for_byte(page: Page, folder: Path) -> None:
    before = (folder / "kitchen.toml").read_text(encoding="utf-8")
    form = page.get("/files").form("/files/kitchen.toml/freezer/0")
    assert page.send(form, used="2 cu ft").status == 200
    after = (folder / "kitchen.toml").read_text(encoding="utf-8")
    changed = [(a, b) for a, b in zip(before.split("\n"), after.split("\n"), strict=True) if a != b]
    assert len(changed) == 1 and 'used = "2 cu ft"' in changed[0][1]


def test_a_remark_beside_a_changed_value_stays() -> None:
    text = (
        '[[pot]]\nname = "kettle"   # mother\'s\nvolume = "8 US qt"  # to the rim\n\n# The bath.\n'
    )
    after = file_edit.with_values(text, "pot", 0, {"volume": '"9 US qt"', "name": None})
    assert after == '[[pot]]\nvolume = "9 US qt"  # to the rim\n\n# The bath.\n'


def test_what_a_form_cannot_change_safely_is_left_alone() -> None:
    for text in (
        'pot = [{ name = "kettle" }]\n',
        '[[pot]]\nname = """\n[[pot]]\nname = "x"\n"""\n',
        'pot.0.name = "x"\n',
        "[[pot]\n",
    ):
        with pytest.raises(file_edit.NotByForm):
            file_edit.with_values(text, "pot", 0, {"name": '"new"'})


def test_an_error_stands_at_its_field_in_the_words_of_the_command_line(
    page: Page, folder: Path
) -> None:
    before = (folder / "kitchen.toml").read_bytes()
    form = page.get("/files").form("/files/kitchen.toml/freezer/0")
    told = page.send(form, used="2 pints of it")
    assert told.status == 422 and told.text.count('aria-invalid="true"') == 1
    wrong = told.text.split('aria-invalid="true"')[0].rsplit("<input", 1)[1]
    assert 'name="used"' in wrong and "2 pints of it" in wrong
    assert (folder / "kitchen.toml").read_bytes() == before


def test_a_crop_that_nobody_knows_is_told_with_the_nearest(page: Page, folder: Path) -> None:
    form = page.get("/files").form("/files/planting/add")
    told = page.send(form, crop="grean bean", plants="3", sown="2027-05-10")
    assert told.status == 422 and "Did you mean" in told.words
    told = page.send(form, crop="green beans", row="10 ft", sown="2027-05-10")
    assert told.status == 200
    grown = load_season(folder, load_library(folder)).season.planting
    assert grown[-1].crop == "snap bean"


def test_the_later_of_two_who_change_a_value_is_asked(page: Page, folder: Path) -> None:
    first = page.get("/files").form("/files/kitchen.toml/freezer/0")
    second = page.get("/files").form("/files/kitchen.toml/freezer/0")
    page.send(first, used="2 cu ft")
    told = page.send(second, used="3 cu ft")
    assert told.status == 422 and "somebody else changed this" in told.words
    assert 'used = "2 cu ft"' in (folder / "kitchen.toml").read_text(encoding="utf-8")


def test_a_change_that_is_sent_twice_is_no_quarrel(page: Page, folder: Path) -> None:
    form = page.get("/files").form("/files/kitchen.toml/freezer/0")
    page.send(form, used="2 cu ft")
    written = (folder / "kitchen.toml").read_bytes()
    assert page.send(form, follow=False, used="2 cu ft").status == 303
    assert (folder / "kitchen.toml").read_bytes() == written


def test_a_file_as_text_is_not_written_over_an_editor(page: Page, folder: Path) -> None:
    form = page.get("/files/garden.toml/text").form("/files/garden.toml/text")
    path = folder / "garden.toml"
    path.write_text(path.read_text(encoding="utf-8") + "# by hand\n", encoding="utf-8")
    told = page.send(form, text=form.fields.get("text", "") + "# by the page\n")
    assert told.status in (409, 422)
    assert "# by hand" in path.read_text(encoding="utf-8")


def test_a_file_as_text_is_kept_as_it_was_sent(page: Page, folder: Path) -> None:
    path = folder / "garden.toml"
    before = path.read_text(encoding="utf-8")
    path.write_bytes(before.replace("\n", "\r\n").encode())
    form = page.get("/files/garden.toml/text").form("/files/garden.toml/text")
    after = f"# By the page: ½ row more.\n{before}"
    # Browsers send line ends as CRLF (HTML, "constructing the entry list"); the file had such too.
    assert page.send(form, text=after.replace("\n", "\r\n")).status == 200
    assert path.read_bytes() == after.replace("\n", "\r\n").encode()
    torn = page.get("/files/garden.toml/text").form("/files/garden.toml/text")
    told = page.send(torn, text=after + "[[want]\n")
    assert told.status == 422 and f"Line {after.count(chr(10)) + 1}" in told.words
    assert "[[want]\n" in told.text.replace("\r", "")  # what was typed stays there
    assert path.read_bytes() == after.replace("\n", "\r\n").encode()


def test_added_and_taken_out_again_leaves_the_file_as_it_was(page: Page, folder: Path) -> None:
    before = (folder / "kitchen.toml").read_text(encoding="utf-8")
    form = page.get("/files").form("/files/pot/add")
    page.send(form, name="third", volume="6 US qt", power="1.5 kW", kind="gas")
    page.send(form, name="third", volume="6 US qt", power="1.5 kW", kind="gas")
    pots = load_season(folder, load_library(folder)).season.pot
    assert [p.name for p in pots].count("third") == 1
    out = page.get("/files").form(f"/files/kitchen.toml/pot/{len(pots) - 1}/out")
    page.send(out)
    after = (folder / "kitchen.toml").read_text(encoding="utf-8")
    assert after.split() == before.split()


def test_every_table_of_the_demo_comes_back_from_its_form_unchanged(
    page: Page, folder: Path
) -> None:
    before = {p.name: tomllib.loads(p.read_text(encoding="utf-8")) for p in folder.glob("*.toml")}
    forms = [
        form
        for form in page.get("/files").forms()
        if form.action.count("/") == 4 and form.action.rsplit("/", 1)[1].isdigit()
    ]
    assert len(forms) > 40
    for form in forms[::4]:
        assert page.send(form, follow=False).status == 303, form.action
    after = {p.name: tomllib.loads(p.read_text(encoding="utf-8")) for p in folder.glob("*.toml")}
    assert after == before


def test_days_away_and_an_evening_more_stand_in_the_file_once(page: Page, folder: Path) -> None:
    away = page.get("/season").form("/season/away")
    evening = page.get("/season").form("/season/evening")
    for _ in range(2):
        page.send(away, start="2027-09-01", end="2027-09-05")
        page.send(evening, on="2027-09-20", start="18:00", end="20:30")
    season = load_season(folder, load_library(folder)).season
    assert [a.start.isoformat() for a in season.away].count("2027-09-01") == 1
    assert [w.date.isoformat() for w in season.extra_window].count("2027-09-20") == 1
    assert page.send(away, start="2027-09-05", end="2027-09-01").status == 422


VALUES = (
    "",
    " ",
    "0",
    "-1",
    "1e9",
    "999999999999",
    "NaN",
    "½",
    "1,5",
    "1.5.2",
    "12 oz",
    "twelve",
    "%s",
    "2027-02-30",
    "2027-07-14",
    "0000-00-00",
    "9999-12-31",
    "25:61",
    "18:00",
    "18:00+02:00",
    "\u202e",
    "a\nb",
    "a\x00b",
    '"',
    "'",
    "\\",
    "#",
    "]]",
    "<b>",
    "é" * 300,
    "x" * 5000,
    "🥕",
    "snap bean",
    "tomato, purée",
    "garlic in oil",
    "/etc/passwd",
    "../x",
    "{{7*7}}",
    "none",
    "true",
    "[]",
    "all",
)
FORMS_TRIED = (
    "/store", "/garden", "/season", "/files", "/begin/1", "/begin/2", "/begin/3", "/begin/4",
    "/begin/5", "/begin/6", "/begin/7", "/begin/8", "/diary", "/what-if", "/files/garden.toml/text",
    "/plan", "/phones", "/seasons",
)  # fmt: skip


@pytest.mark.parametrize("tries", [250, pytest.param(2000, marks=pytest.mark.slow)])
def test_whatever_is_typed_ends_in_a_sentence(tmp_path: Path, tries: int) -> None:
    folder = demo_season(tmp_path)
    page, chance = Page(folder, tmp_path / "keeps"), random.Random(2027)
    page.site.keep.write("begin", {"grown": [{"crop": "tomato", "size": "6 plants", "begun": ""}]})
    seen = {200: 0, 303: 0, 409: 0, 422: 0}
    uid = next(s.uid for s in page.site.read().plan.sessions if s.start.date() == SATURDAY)
    tried = (*FORMS_TRIED, f"/sheet/{uid}", f"/session/{uid}")
    pages = {path: page.get(path).forms() for path in tried}
    kept = {"token", "code", "seen", "group"}
    number = -1
    while sum(seen.values()) < tries:
        number += 1
        path = tried[number % len(tried)]
        if number % 97 == 0:
            pages[path] = page.get(path).forms()
        if not pages[path]:
            continue
        form = chance.choice(pages[path])
        if form.action in ("/phones/share", "/plan/begin"):
            continue
        typed = {
            name: chance.choice(VALUES)
            for name in form.fields
            if name not in kept and chance.random() < 0.6
        }
        if form.buttons:
            name, value = chance.choice(form.buttons)
            typed[name] = value if chance.random() < 0.8 else chance.choice(VALUES)
        told = page.send(form, follow=False, **typed)
        assert told.status in seen, (form.action, typed, told.status, told.words[:300])
        assert "our fault" not in told.words, (form.action, typed)
        if told.status == 422:
            assert "Nothing was written" in told.words or "Not done" in told.words
        seen[told.status] += 1
    assert seen[422] > tries // 5
    load_season(folder, load_library(folder))
    assert all(page.get(path).status == 200 for path in tried)
    print(f"{tries} forms: {seen}")


def test_a_table_is_told_as_people_say_it(page: Page) -> None:
    words = page.get("/files").words
    assert "Tue and Thu, 18:00 to 21:15" in words and "Sat, 08:00 to 12:30, 2 people" in words
    assert "Sat 24 July 2027 to Sat 31 July 2027" in words  # days away
    assert "snap bean, cut: 40 of 12 oz" in words


def test_every_form_asks_for_keys_that_the_season_knows() -> None:
    from harvestplan.inputs.explain import keys_of
    from harvestplan.inputs.merge import LISTS, MODELS

    for form in FORMS:
        assert {asked.key for asked in form.fields} <= set(keys_of(MODELS[form.table]))
        assert form.many == (form.table in LISTS)
        assert set(form.brief) <= {asked.key for asked in form.fields}
