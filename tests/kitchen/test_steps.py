"""Every kind of step in the register, as crop files and plans use it.

A new kind is tested by standing in the register. Names are held to stand in its class alone: what
asks for a kind elsewhere asks the class or the register.
"""

from __future__ import annotations

import ast
import datetime as dt
import json
from collections.abc import Iterator
from dataclasses import fields, replace
from pathlib import Path

import pytest
from kitchen.foods import kitchen

import harvestplan
from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Step
from harvestplan.inputs.season_kitchen import Dryer, Pot, Pouch
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.all_steps import (
    CHAIN_STEPS,
    KINDS,
    KNOWN_STEPS,
    find_kind,
    kind_of,
    settings_of,
)
from harvestplan.kitchen.steps.heat_pot import HeatSettings
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, PlainStep, StepTime, work_seconds
from harvestplan.plan.models import Task

LIBRARY = load_library()
ZIPS = Pouch(name="quart bag", kind="zip bag", width="7 in", length="8 in")
JARS = Pouch(name="pint jar", kind="box", volume="1 US pint", mouth="narrow")
FULL = replace(
    kitchen(pots=(Pot(name="pot", volume="16 L", power="3.5 kW", basket="600 cm2"),)),
    dryers=(Dryer(name="dryer", trays=5, tray_area="0.1 m2"),),
)
BY_HAND = (
    replace(FULL, sealer=None, pouches=(ZIPS,)),
    replace(FULL, sealer=None, pouches=(JARS,)),
)
EACH = pytest.mark.parametrize("kind", CHAIN_STEPS, ids=lambda kind: kind.name)


def uses(kind: ChainStep) -> Iterator[tuple[Process, Step]]:
    """Every step of the kind in the crop files, in water and over steam, with a sealing machine and
    by hand."""
    for crop in LIBRARY.crops.values():
        for product in crop.products:
            for at_home, steam in ((FULL, False), (FULL, True), *((h, False) for h in BY_HAND)):
                try:
                    process = make_process(at_home, crop, product, portion_grams=113, steam=steam)
                except CannotBeMade:
                    continue  # no steaming time is known, or no bag or box is large enough
                yield from ((process, s) for s in process.product.steps if s.step == kind.name)


def times(kind: ChainStep) -> list[tuple[float, StepTime]]:
    """Of every use the crop file's own minutes for a kilogram in 9 pouches, and the kind's time."""
    rounds = 2 if kind.scope == "table" else 1
    amount = Amount(1000, pouches=9, rounds=rounds, freezer="freezer")
    return [
        (work_seconds(step, amount.grams, amount.rounds), kind.time(process, step, amount))
        for process, step in uses(kind)
    ]


def task(step: str, settings: dict[str, object]) -> Task:
    noon = dt.datetime(2027, 7, 1, 12, tzinfo=dt.UTC)
    return Task(
        id="t",
        run="r",
        step=step,
        batch=1,
        equipment=("a unit",),
        hands=1,
        start=noon,
        end=noon,
        grams=1000,
        settings=settings,
    )


@EACH
def test_a_step_takes_its_time(kind: ChainStep) -> None:
    """Every kind is in some crop file; time beyond the crop file's is taken where it is said."""
    found = times(kind)
    assert found
    assert any(time.seconds > 0 for _, time in found)
    assert any(time.seconds != work for work, time in found) == kind.own_time


@EACH
def test_what_the_cook_must_know_survives_the_plan_s_file(kind: ChainStep) -> None:
    for _, time in times(kind):
        assert type(time.settings) is kind.settings
        told = task(kind.name, json.loads(json.dumps(time.settings.as_json())))
        assert settings_of(told) == time.settings


@EACH
def test_the_sheet_says_a_step_and_all_that_it_knows(kind: ChainStep) -> None:
    """No words are left over from what is unknown, and what is known adds to them."""
    bare = kind.words(task(kind.name, {}), "beans", "metric")
    assert "beans" in bare and bare[0].isupper()
    assert "None" not in bare and not bare.endswith((".", " "))
    for _, time in times(kind):
        whole = kind.words(task(kind.name, time.settings.as_json()), "beans", "metric")
        assert "None" not in whole
        if type(kind).words is PlainStep.words:
            assert whole == bare
        else:
            # A crop file's own verb may be shorter than the usual one.
            assert whole != bare or not time.settings.as_json()


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_settings_changed_by_hand_read_as_unknown(kind: ChainStep) -> None:
    names = [field.name for field in fields(kind.settings)]
    for wrong in ([], {}, True, None, float("nan"), float("inf"), 1e300):
        said = settings_of(task(kind.name, dict.fromkeys(names, wrong)))
        assert all(getattr(said, name) is None for name in names), wrong
        assert said.timer() == 0 and said.ice() == 0
        assert kind.words(task(kind.name, dict.fromkeys(names, wrong)), "beans", "metric")


def test_names_are_known_once_and_only_a_chain_s_are_a_chain_s() -> None:
    assert len({kind.name for kind in KINDS}) == len(KINDS)
    assert KNOWN_STEPS.names == tuple(kind.name for kind in CHAIN_STEPS)
    with pytest.raises(KeyError):
        kind_of("set up")
    with pytest.raises(KeyError):
        kind_of("fold")
    assert find_kind("fold") is None
    assert settings_of(task("fold", {"minutes": 5})) == Settings()


def test_a_setting_that_may_be_left_out_is_left_out() -> None:
    assert HeatSettings(water_ml=None).as_json() == {"water_ml": None}
    blanched = kind_of("blanch").settings.of(task("blanch", {"clock": "lid on"}))
    assert "over" not in blanched.as_json() and "return_s" not in blanched.as_json()


def test_a_kind_without_words_or_time_cannot_be_made() -> None:
    class Forgotten(ChainStep):
        name = "forgotten"

    with pytest.raises(TypeError, match=r"time.*words"):
        Forgotten()  # type: ignore[abstract]


# Names stand in their classes alone.

PACKAGE = Path(harvestplan.__file__).parent
COUNTED = ("plural", "_counted", "_at_most")
"""These take the noun that is counted: portions, failed seals."""
ELSEWHERE = {
    ("outputs/paper/charts.py", "empty"): "a bar with nothing in it",
    ("inputs/explain.py", "portion"): "a want's key",
    ("page/begin.py", "portion"): "a want's key",
    ("page/begin_lists.py", "portion"): "a want's key",
    ("page/session_page.py", "portion"): "a counted noun",
    ("page/what_if.py", "portion"): "a word for the answer",
    ("page/table_fields.py", "portion"): "a want's key",
    ("page/table_forms.py", "portion"): "a want's key",
    ("page/files_page.py", "empty"): "a form without answers",
    ("page/plan_page.py", "empty"): "a plan of nothing",
    ("inputs/ranges.py", "portion"): "a want's key",
    ("records/phrases.py", "portion"): "a group of the pattern for what is written",
}


def said_in(path: Path) -> Iterator[tuple[str, int]]:
    """Strings of a module with their lines, but for counted nouns and for textures."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    spared: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            spared |= set(node.args) if node.func.id in COUNTED else set()
        if isinstance(node, ast.Compare | ast.AnnAssign) and "texture" in ast.unparse(node):
            spared |= set(ast.walk(node))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in spared:
            yield node.value, node.lineno


def test_no_step_is_named_outside_its_class() -> None:
    names = {kind.name for kind in KINDS}
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        where = path.relative_to(PACKAGE).as_posix()
        if not where.startswith("kitchen/steps/"):
            found += [
                f"{where}:{line} says {word!r}"
                for word, line in said_in(path)
                if word in names and (where, word) not in ELSEWHERE
            ]
    assert not found
