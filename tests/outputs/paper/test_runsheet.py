"""The run sheet: clock time first, machine settings, cautions where they matter."""

from __future__ import annotations

import datetime as dt
from typing import Any

from outputs.paper.pages_read import read_page
from outputs.written_plans import (
    AFTER,
    BEFORE,
    figure,
    make_crop,
    make_library,
    make_plan,
    make_product,
    make_run,
    make_season,
    make_session,
    make_task,
    plan_data,
)

from harvestplan.outputs.paper.runsheet import runsheet_text, safe_stops, step_lines
from harvestplan.outputs.paper.runsheet_html import runsheet_html
from harvestplan.outputs.paper.step_words import task_words
from harvestplan.outputs.session_names import sheet_names

ZONE = "America/Denver"


def sheet(number: int, data: dict[str, Any] | None = None, **season: Any) -> str:
    return runsheet_text(
        make_plan(data=data).sessions[number], make_season(**season), make_library()
    )


def flat(text: str) -> str:
    return " ".join(text.split())


def test_clock_time_comes_first_and_in_order() -> None:
    lines = [line for line in sheet(0).splitlines() if line.startswith("[ ]  ")]
    assert len(lines) == 10
    assert [line.split()[2] for line in lines] == [
        "6:00",
        "6:05",
        "6:10",
        "6:15",
        "6:35",
        "6:39",
        "6:50",
        "7:00",
        "7:04",
        "8:20",
    ]
    assert max(map(len, sheet(0).splitlines())) <= 78


def test_it_ends_with_what_to_write_down() -> None:
    text = sheet(0)
    written = [line for line in text.splitlines() if line.startswith("harvestplan froze")]
    assert written == ['harvestplan froze "snap bean, cut" 12 --on 2027-10-28']
    assert text.index("When all is done") < text.index(written[0])


def test_machine_settings_and_amounts() -> None:
    text = flat(sheet(0))
    for words in (
        "Blanch 8 3/4 lb snap beans in big pot, 8 qt of water: 3 min from "
        "when it boils again (that takes about 40 s); at most 1 3/4 lb in the pot.",
        "into 12 pouches 8x10, 12 oz each",
        "12 pouches in 4 cycles, 3 at a time, pump-down 25 s, seal 2.5 s, a cycle 50 s; dry rims.",
        "Lay 12 pouches of snap beans, cut (8 3/4 lb) flat in chest, one layer",
        "Bring big pot to the boil (8 qt of water), lid on, full heat",
        "snap beans, cut, 12 oz, 28 October 2027, best before August 2028 (12 pouches, the last",
    ):
        assert words in text


def test_cautions_stand_at_their_step() -> None:
    session = make_plan().sessions[0]
    cautions = {
        words.split()[0]: " ".join(found)
        for _, words, found in step_lines(session, make_season(), make_library())
    }
    assert "Steam and boiling water" in cautions["Bring"]
    assert "Steam" not in cautions["Blanch"], "told already"
    assert "Knives" in cautions["Trim"] and "2 hours in the room" in cautions["Trim"]
    assert "Snap off both ends." in cautions["Trim"]
    assert "41 °F or colder" in cautions["Seal"]
    assert "Sealed is not preserved" in cautions["Lay"]
    assert not cautions["Wash"]


def test_the_weight_of_the_water_is_told_before_it_is_in_the_pot() -> None:
    data = plan_data()
    tasks = data["sessions"][0]["tasks"]
    water = {"equipment": ["big pot"], "settings": {"water_ml": 7570}}
    tasks.insert(0, make_task(ZONE, BEFORE, "18:02", end="18:05", step="fill", **water))
    cautions = {
        words.split()[0]: " ".join(found)
        for _, words, found in step_lines(
            make_plan(data=data).sessions[0], make_season(), make_library()
        )
    }
    assert "the water alone weighs 16 3/4 lb" in cautions["Fill"]
    assert "Heavy" not in cautions["Bring"] and "Steam and boiling water" in cautions["Bring"]


def test_what_holds_for_all_is_told_once_and_what_a_food_wants_for_each_food() -> None:
    data = plan_data()
    session = data["sessions"][1]
    for number, name in enumerate(("snap bean, cut", "hot pepper, sliced")):
        session["runs"].append(make_run(f"x{number}", name, {}, pouches=1))
        for start in ("18:20", "18:40"):
            session["tasks"].append(
                make_task(ZONE, AFTER, start, end="18:50", step="trim", run=f"x{number}")
            )
    told = step_lines(make_plan(data=data).sessions[1], make_season(), make_library())
    cautions = [caution for _, _, found in told for caution in found]
    general = [c for c in cautions if c != "Snap off both ends."]
    assert len(general) == len(set(general)) > 4
    # Broccoli, squash, bean and pepper all say so in this made-up library.
    assert cautions.count("Snap off both ends.") == 4


def test_foaming_food_and_external_machines() -> None:
    assert "keep the pump-down short" in flat(sheet(1))
    external = {"kind": "external", "bar": "12 in"}
    assert "in the chamber" not in flat(sheet(1, sealer=external))


def test_hot_pepper_wants_gloves() -> None:
    data = plan_data()
    data["sessions"][0]["runs"][0] |= {"product": "hot pepper, sliced", "crop": "hot pepper"}
    assert "wear gloves" in flat(sheet(0, data))
    assert "wear gloves" not in flat(sheet(0))


def test_missing_settings_leave_their_words_out() -> None:
    data = plan_data()
    for task in data["sessions"][0]["tasks"]:
        task |= {"settings": {}, "equipment": [], "grams": 0, "batch": None}
    text = flat(sheet(0, data))
    assert "Blanch snap beans. " in text
    assert "Seal snap beans, cut. " in text
    assert "None" not in text and "()" not in text


def test_unknown_steps_and_settings_are_told_plainly() -> None:
    data = plan_data()
    task = make_task(
        ZONE, BEFORE, "19:10", end="19:20", step="store", run="r1", grams=500, settings={"x": 1}
    )
    data["sessions"][0]["tasks"].append(task)
    session = make_plan(data=data).sessions[0]
    assert task_words(session.tasks[-1], session, make_season(), library=make_library()) == (
        "Store snap beans, cut (18 oz)."
    )


def test_safe_stopping_places() -> None:
    """Two runs one after the other: safe between them; interleaved: never before the end."""
    runs = [
        make_run("a", "snap bean, cut", {"l": 1}, pouches=1),
        make_run("b", "broccoli, florets", {}, pouches=1),
    ]

    def session(second_start: str) -> Any:
        tasks = [
            make_task(ZONE, AFTER, "18:00", end="18:20", step="trim", run="a"),
            make_task(ZONE, AFTER, "18:20", end="19:00", step="freeze", run="a"),
            make_task(ZONE, AFTER, "18:05", end="18:10", step="wash", run="b"),
            make_task(ZONE, AFTER, second_start, end="19:30", step="trim", run="b"),
            make_task(ZONE, AFTER, "19:30", end="20:00", step="freeze", run="b"),
        ]
        return make_plan(
            data=plan_data() | {"sessions": [make_session(ZONE, AFTER, 9, runs=runs, tasks=tasks)]}
        )

    apart, mixed = session("19:00").sessions[0], session("18:30").sessions[0]
    assert safe_stops(apart) == [dt.datetime.fromisoformat("2027-11-09T19:00:00-07:00")]
    assert safe_stops(mixed) == []
    text = flat(runsheet_text(apart, make_season(), make_library()))
    pause = "Here you may stop: what is begun is put away, the rest is still whole."
    assert f"{pause} [ ] 7:00 pm" in text
    assert pause not in flat(runsheet_text(mixed, make_season(), make_library()))
    page = read_page(runsheet_html(apart, make_season(), make_library()))
    lines = [each.text for each in page.all("ol")[0].all("li")]
    assert lines[lines.index(pause) + 1].startswith("7:00 pm")
    assert "Safe stopping place at 7:00 pm" in text
    assert "within 2 hours" in flat(runsheet_text(mixed, make_season(), make_library()))


def test_second_sitting_takes_its_food_from_the_cold() -> None:
    data = plan_data()
    data["sessions"][1]["runs"][1] |= {"lots": [], "second_sitting_of": "r0", "grams_in": 3000}
    text = sheet(1, data)
    assert "From the cold: 6 1/2 lb for winter squash purée" in text
    assert "Raw food: 8 3/4 lb broccoli" in text and "winter squash\n[ ] Pouches" not in text


def test_a_dried_food_waits_in_jars() -> None:
    dry = {
        "step": "dry",
        "time": figure("12 h"),
        "tray_load": figure("3 kg per m2"),
        "leaves": figure(0.2),
        "pause_least": figure("13 h"),
        "pause_limit": figure("21 days"),
    }
    steps = [{"step": "wash"}, dry, {"step": "seal"}]
    pear = make_crop("pear", make_product("dried", storage="shelf", steps=steps))
    data = plan_data()
    data["sessions"][1]["runs"][1] |= {
        "product": "pear, dried",
        "crop": "pear",
        "lots": [],
        "second_sitting_of": "r0",
        "grams_in": 3000,
    }
    session = make_plan(data=data).sessions[1]
    text = runsheet_text(session, make_season(), make_library(pear))
    assert "From the jars: 6 1/2 lb for dried pears" in text


def test_file_names() -> None:
    data = plan_data()
    again = make_session(ZONE, BEFORE, 5, runs=[], tasks=[])
    gone = make_session(ZONE, AFTER, 6, runs=[], tasks=[]) | {"status": "cancelled"}
    data["sessions"] += [again, gone]
    names = sheet_names(make_plan(data=data))
    assert list(names) == ["2027-10-28.txt", "2027-10-28-2.txt", "2027-11-09.txt"]


def test_a_metric_household_reads_a_24_hour_clock() -> None:
    text = sheet(0, measures="metric")
    assert "[ ]    18:35  Blanch 4 kg snap beans" in text
    assert "5 °C or colder" in flat(text)


def test_what_soaks_from_the_evening_before_is_said_before_all_else() -> None:
    data = plan_data()
    soak = make_task(ZONE, BEFORE, "18:10", end="18:13", step="soak", run="r1", grams=1000)
    soak["settings"] = {"minutes": 480.0, "ahead": "ahead", "water_ml": 4000}
    data["sessions"][0]["tasks"].append(soak)
    told = flat(sheet(0, data, measures="metric"))
    before, _, steps = told.partition(" Steps ")
    assert (
        "The evening before: 1 kg snap beans put to soak in 4 L of cold water, in the "
        "refrigerator, 8 h or more"
    ) in before
    assert "Drain and rinse 1 kg snap beans, soaked since the evening before" in steps
    assert "The evening before" not in flat(sheet(0))


def test_allergens_are_named_before_the_start_and_on_the_pouches() -> None:
    """Food labels name what makes some people ill."""
    bean = make_crop("snap bean", make_product("cut")).model_copy(
        update={"allergens": ("shellfish",)}
    )
    session = make_plan().sessions[0]
    told = flat(runsheet_text(session, make_season(), make_library(bean)))
    assert "Allergen in the kitchen: shellfish (snap bean); wash all that it touches" in told
    assert "best before August 2028, contains shellfish (12 pouches" in told
    assert "llergen" not in flat(sheet(0))
