"""Every caution stands where its hazard is, and nowhere else; what is unsafe is refused aloud.

One season with all kinds of work is planned as a person would plan it, and its files are read.
"""

from __future__ import annotations

import html
import json
import re
import sys
from pathlib import Path

import pytest
from each_case import each
from season_tables import LITTLE_TOIL
from trust.small_folder import HOUSEHOLD, KITCHEN, command

from harvestplan.commands.cli import main
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs import cautions as all_cautions
from harvestplan.outputs.cautions import CAUTIONS, NEVER, Caution
from harvestplan.outputs.paper.runsheet_html import sheet_lines
from harvestplan.outputs.session_names import sheet_names
from harvestplan.plan.file import read_plan
from harvestplan.plan.models import Plan, Session, Task

LIBRARY = load_library()
MORE = (
    KITCHEN.replace('kind = "external"', 'kind = "chamber"')
    + '[[oven]]\nname = "oven"\ntrays = 2\ntray_load = "4 lb"\n'
    + '[[pouch]]\nname = "quart box"\nkind = "box"\nvolume = "1 US qt"\nmouth = "wide"\n'
    + '[[dryer]]\nname = "dryer"\ntrays = 8\ntray_area = "12x12 in"\n[cold]\nfridge = "60 L"\n'
)
EVENINGS = "".join(
    f"[[extra_window]]\ndate = 2027-0{month}-{day:02d}\n"
    "start = 09:00:00\nend = 20:00:00\nhands = 2\n"
    for month, day in ((8, 3), (8, 10), (8, 17), (8, 18), (8, 24), (8, 31))
)
GARDEN = """
[[planting]]
crop = "snap bean"
row = "20 ft"
sown = 2027-06-01
days_to_maturity = 55
[[planting]]
crop = "hot pepper"
plants = 6
set_out = 2027-05-20
days_to_maturity = 70
[[planting]]
crop = "winter squash"
plants = 4
set_out = 2027-05-10
days_to_maturity = 80
[[planting]]
crop = "apple"
plants = 1
set_out = 2017-04-10
[[bought]]
item = "fish fillet"
amount = "6 lb"
on = 2027-08-10
[[stored]]
product = "fish fillet, portioned"
portions = 2
portion = "1 lb"
frozen_on = 2027-02-01
[[want]]
product = "snap bean, cut"
portions = 8
portion = "12 oz"
[[want]]
product = "hot pepper, whole"
portions = 4
portion = "4 oz"
[[want]]
product = "winter squash, purée"
portions = 6
portion = "1 lb"
[[want]]
product = "apple, sauce"
portions = 3
portion = "1 lb"
pouch = "quart box"
[[want]]
product = "apple, dried"
portions = 3
portion = "4 oz"
[[want]]
product = "fish fillet, portioned"
portions = 4
portion = "1 lb"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season with blanching, roasting, purée, drying, hot pepper and fish, planned."""
    folder = tmp_path_factory.mktemp("cautions")
    house = HOUSEHOLD.replace("2027-08-31", "2027-11-15") + EVENINGS
    house = house.replace("[season]\n", f"[season]\n{LITTLE_TOIL}")  # of some food two portions
    texts = {"household.toml": house, "kitchen.toml": MORE, "garden.toml": GARDEN}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        words = ["plan", "--quiet", "--in", str(folder), "--as-of", "2027-05-01"]
        patch.setattr(sys, "argv", ["harvestplan", *words])
        with pytest.raises(SystemExit) as left:
            main()
    assert not left.value.code
    return folder


def flat(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def without_ids(text: str) -> str:
    """A crop file's caution as a reader wants it: none of what stands in brackets is a source."""

    def rest(found: re.Match[str]) -> str:
        kept = [part for part in re.split("[,;] ", found[1]) if part not in LIBRARY.sources]
        return f" ({', '.join(kept)})" if kept else ""

    return " ".join(re.sub(r" \(([^)]*)\)", rest, text).split())


def pattern(caution: Caution) -> re.Pattern[str]:
    """The text with any amount in it."""
    before, _, after = caution.text.partition("{}")
    amount = r"[\d., /]+ (°F|lb|oz)" if "{}" in caution.text else ""
    return re.compile(re.escape(before) + amount + re.escape(after))


def is_there(caution: Caution, task: Task, session: Session) -> bool:
    """Whether the hazard is, said once more and apart from the program."""
    crops = {run.id: run.crop for run in session.runs}
    crop = crops.get(str(task.run), "")
    made = {run.id: run.product for run in session.runs}.get(str(task.run), "")
    special = {
        "lifting hot and heavy pots": (task.settings.get("water_ml") or 0) >= 5000,
        "hot pepper on skin and eyes": crop == "hot pepper",
        "purée that foams over": crop == "winter squash",
        "warm food in the vacuum chamber": made.partition(", ")[2] not in ("dried", "sealed"),
        "food that swells as it freezes": task.settings.get("kind") == "box",
        "glass in the freezer": task.settings.get("kind") == "box",
    }
    return task.step in caution.steps and special.get(caution.hazard, True)


AT_STEPS = [caution for caution in CAUTIONS if caution.steps]
ON_PAGES = [(page, caution) for caution in CAUTIONS for page in caution.pages]


def plan_of(folder: Path) -> Plan:
    return read_plan(folder / "out" / "plan.json")


def test_the_season_has_every_hazard_of_a_session(folder: Path) -> None:
    tasks = [(task, session) for session in plan_of(folder).sessions for task in session.tasks]
    lacking = [c.hazard for c in AT_STEPS if not any(is_there(c, *each) for each in tasks)]
    assert lacking == []


@pytest.mark.parametrize("caution", AT_STEPS, ids=lambda caution: caution.hazard)
def test_run_sheets_and_calendar_show_it_where_its_hazard_is(
    folder: Path, caution: Caution
) -> None:
    out = folder / "out"
    entries = re.split(
        "BEGIN:VEVENT", re.sub(r"\r\n[ \t]", "", (out / "sessions.ics").read_bytes().decode())
    )
    for name, session in sheet_names(plan_of(folder)).items():
        hazard = any(is_there(caution, task, session) for task in session.tasks)
        sheet = flat((out / "runsheets" / name).read_text(encoding="utf-8"))
        page = (out / "runsheets" / name).with_suffix(".html").read_text(encoding="utf-8")
        (entry,) = (each for each in entries if f"UID:{session.uid}" in each)
        entry = flat(re.sub(r"\\([,;])", r"\1", entry).replace("\\n", " "))
        for text in (sheet, flat(page)):
            assert bool(pattern(caution).search(text)) == hazard, (name, caution.hazard)
        # The calendar names the hazards, and says where to read what to do.
        told = entry.partition("Take care (the sheet says how): ")[2].partition(". Every step")[0]
        assert (caution.hazard in told.split("; ")) == hazard, (name, caution.hazard)


def test_each_stands_at_its_step_before_it_is_needed(folder: Path) -> None:
    """The first of a session's steps with a hazard shows its caution."""
    from harvestplan.inputs.load import load_season

    season = load_season(folder, LIBRARY).season
    for session in plan_of(folder).sessions:
        tasks = sorted(session.tasks, key=lambda task: (task.start, task.end, task.id))
        lines = sheet_lines(session, season, LIBRARY)
        assert len(lines) == len(tasks)
        for caution in AT_STEPS:
            first = next((n for n, t in enumerate(tasks) if is_there(caution, t, session)), None)
            told = [
                n
                for n, line in enumerate(lines)
                if any(pattern(caution).search(text) for text in line.cautions)
            ]
            assert (min(told) if told else None) == first, (session.start, caution.hazard)


@pytest.mark.parametrize(
    ("page", "caution"), ON_PAGES, ids=lambda each: getattr(each, "hazard", each)
)
def test_pages_show_it(
    folder: Path,
    page: str,
    caution: Caution,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    if page == "book":
        text = (folder / "out" / "book.html").read_text(encoding="utf-8")
    else:
        every = ["--all"] if page == "card" else []
        code, text, told = command(capsys, monkeypatch, page, *every, "--in", str(folder))
        assert code == 0, told
    assert caution.text in flat(text)


def test_the_page_of_cautions_names_them_all_with_source_and_place(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, said, told = command(capsys, monkeypatch, "cautions", "--all", "--in", str(folder))
    assert code == 0, told
    text = flat(said)
    for caution in CAUTIONS:
        told = caution.text.format("…")
        if caution.by_hand:
            told += f" Where packs are closed by hand: {caution.by_hand}"
        named = told if told.lower().startswith(caution.hazard) else f"{caution.hazard}: {told}"
        assert f"{named[0].upper()}{named[1:]} Shown " in text
    for refusal in NEVER:
        assert f"{refusal.what[0].upper()}{refusal.what[1:]}: {refusal.why}" in text
    assert all(len(line) <= 78 for line in said.splitlines() if "http" not in line)
    assert "Open or pierce the pack before it thaws in the refrigerator" in text


def test_the_page_holds_every_caution_of_every_crop_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, said, _ = command(capsys, monkeypatch, "cautions", "--json", "--in", str(tmp_path))
    page = json.loads(said)
    assert page["format"] == 1
    rows = page["cautions"]
    told = {(name, row["text"]) for row in rows for name in row["hazard"].split("; ")}
    count = 0
    for crop in LIBRARY.crops.values():
        for product in crop.products:
            own = [*product.cautions, *(step.caution for step in product.steps if step.caution)]
            for text in own:
                count += 1
                assert (f"{crop.name}, {product.form}", without_ids(text)) in told
        for refusal in crop.refused:
            assert (f"{crop.name}, {refusal.form}", refusal.why) in told
    assert count > 100
    assert all(row["shown"] and row["sources"] for row in rows)
    assert {source for row in rows for source in row["sources"]} <= set(LIBRARY.sources)


def test_none_is_made_and_left_out_of_the_list() -> None:
    made = [each for each in vars(all_cautions).values() if isinstance(each, Caution)]
    assert sorted(made, key=id) == sorted(CAUTIONS, key=id)
    for caution in CAUTIONS:
        assert caution.steps or caution.pages
        assert caution.sources and set(caution.sources) <= set(LIBRARY.sources)
    for refusal in NEVER:
        assert set(refusal.sources) <= set(LIBRARY.sources)


def test_each_food_s_own_cautions_stand_on_its_sheets_and_in_the_book(folder: Path) -> None:
    out = folder / "out"
    book = flat((out / "book.html").read_text(encoding="utf-8"))
    told = 0
    for name, session in sheet_names(plan_of(folder)).items():
        sheet = flat((out / "runsheets" / name).read_text(encoding="utf-8"))
        for run in session.runs:
            found = LIBRARY.find_product(run.product)
            assert found is not None
            done = {task.step for task in session.tasks if task.run == run.id}
            for text in found[1].cautions:
                assert without_ids(text) in sheet and without_ids(text) in book
            for step in found[1].steps:
                if step.caution and step.step in done:
                    told += 1
                    assert without_ids(step.caution) in sheet, (name, step.step)
    assert told > 5


def test_no_page_shows_the_id_of_a_source(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ids with a digit or a hyphen in them; the others are words as well."""
    ids = {each for each in LIBRARY.sources if re.search(r"[a-z].*[\d-]", each)}
    assert len(ids) > 50
    out = folder / "out"
    texts = [
        flat(path.read_text(encoding="utf-8"))
        for path in (out / "book.html", out / "sessions.ics", *(out / "runsheets").iterdir())
    ]
    for words in (("cautions", "--all"), ("crops", "tomato"), ("crops", "winter squash")):
        texts.append(command(capsys, monkeypatch, *words, "--in", str(folder))[1])
    for text in texts:
        text = re.sub(r"https?://\S+", "", text)
        assert not ids & set(re.findall(r"[\w-]+", text)) - {"common-practice"}


REFUSED_FORMS = [(c.name, r) for c in LIBRARY.crops.values() for r in c.refused]


@each(("crop", "refusal"), REFUSED_FORMS)
def test_a_refused_form_is_told_with_its_reason_and_cannot_be_wanted(
    tmp_path: Path,
    crop: str,
    refusal: object,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    form, why = vars(refusal)["form"], vars(refusal)["why"]
    code, said, _ = command(capsys, monkeypatch, "crops", crop, "--in", str(tmp_path))
    assert code == 0
    assert f"Refused: {form}. {' '.join(why.split())}" in flat(said)
    texts = {"household.toml": HOUSEHOLD, "kitchen.toml": KITCHEN}
    texts["garden.toml"] = f'[[want]]\nproduct = "{crop}, {form}"\nportions = 2\nportion = "1 lb"\n'
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    code, _, told = command(
        capsys, monkeypatch, "plan", "--in", str(tmp_path), "--as-of", "2027-05-01"
    )
    assert code == 3
    assert "garden.toml, line 2" in told and " ".join(why.split()) in flat(told)
    assert not (tmp_path / "out").exists()
