"""Own crop files with figures that nobody means: each is refused with its line and key."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from each_case import each, named
from places import CROPS

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.crop_ranges import out_of_range
from harvestplan.kitchen.crop_library import load_library
from harvestplan.records.names import names_in

FILES = ("snap-bean", "tomato", "apple", "chicken-piece", "basil")
TINY, HUGE = "0.000000000000000000001", "999999999999"


def figures(table: Any, place: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place of a crop's tables where a figure's value stands."""
    if isinstance(table, dict):
        for key, inner in table.items():
            if key == "value" and isinstance(inner, (str, float, int)):
                yield (*place, key)
            else:
                yield from figures(inner, (*place, key))
    elif isinstance(table, list):
        for number, inner in enumerate(table):
            yield from figures(inner, (*place, number))


def absurd(value: Any) -> list[Any]:
    """What to write in place of a value: out of all range, or no value of the kind at all."""
    if isinstance(value, str) and value[:1].isdigit():
        unit = value.lstrip("0123456789./ -")
        return [f"{number} {unit}" for number in (TINY, HUGE, "1e9", "nan")] + ["", [], True, 7]
    if isinstance(value, str):
        return [7, [], True]
    return [1e-300, 1e300, -1, float("nan"), float("inf"), "7 lb", []]


def written(value: Any) -> str:
    """A value as TOML; tables inline."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {written(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ",\n".join(map(written, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return '"' + value.replace('"', '\\"') + '"' if isinstance(value, str) else repr(value)


def with_value(table: dict[str, Any], place: tuple[Any, ...], value: Any) -> str:
    """The crop file with one value changed."""
    inner: Any = table
    for key in place[:-1]:
        inner = inner[key]
    before, inner[place[-1]] = inner[place[-1]], value
    text = "".join(f"{key} = {written(each)}\n" for key, each in table.items())
    inner[place[-1]] = before
    return text


@each("name", FILES)
def test_a_figure_that_nobody_means(tmp_path: Path, name: str) -> None:
    """Some three hundred figures and eight ways to spoil each."""
    table = tomllib.loads((CROPS / f"{name}.toml").read_text(encoding="utf-8"))
    (tmp_path / "crops").mkdir()
    own = tmp_path / "crops" / "own.toml"
    own.write_text(with_value(table, ("name",), table["name"]), encoding="utf-8")
    assert load_library(tmp_path).crops[table["name"]]
    places = list(figures(table))
    assert len(places) > 5
    for place in places:
        inner: Any = table
        for key in place:
            inner = inner[key]
        for value in absurd(inner):
            text = with_value(table, place, value)
            own.write_text(text, encoding="utf-8")
            with named(f"{place} = {value!r}"):
                _refused(tmp_path, place, value)


def _refused(folder: Path, place: tuple[Any, ...], value: Any) -> None:
    may_be_zero = {"per_kg", "fixed", "base", "freshness", "fails"} & set(place)
    may_be_zero = may_be_zero if str(value).startswith((TINY, "1e-")) else set()
    try:
        load_library(folder)
    except FilesNeedMending as error:
        assert error.flaws[0].file == "crops/own.toml"
        assert error.flaws[0].line
    else:
        assert may_be_zero, "taken"


@each("path", sorted(CROPS.glob("*.toml")))
def test_our_own_files_keep_to_the_ranges(path: Path) -> None:
    library = load_library()
    tables = [*library.crops.values(), *library.staples.values(), *library.sources.values()]
    assert not [found for table in tables for found in out_of_range(table)]


TEXTS = {
    "a note of a thousand letters": 'note = "{}"'.format("x" * 1000),
    "a key of many dots": "a" + ".a" * 20_000 + " = 1",
    "lines of many dots": ("a" + ".a" * 300 + " = 1\n") * 50,
    "deep brackets": "x = " + "[" * 3000 + "]" * 3000,
    "deep tables": "x = " + "{a = " * 2000 + "1" + "}" * 2000,
    "a long number": "x = " + "9" * 5000,
    "half a table": "[[products",
    "a name that is a list": 'name = ["a", "b"]',
    "a name that is a number": "name = 7",
    "no name": "",
    "a name of blanks": 'name = "  "',
    "a name with a comma": 'name = "bean, green"',
    "a name of sixty-one letters": 'name = "{}"'.format("x" * 61),
    "many names": "also = [" + ", ".join(f'"n{n}"' for n in range(500)) + "]",
    "NUL": "name = \"a\0b\"",
}  # fmt: skip


@each("text", TEXTS.values(), told=lambda text: text[:60])
def test_a_crop_file_that_is_none(tmp_path: Path, text: str) -> None:
    (tmp_path / "crops").mkdir()
    (tmp_path / "crops" / "own.toml").write_text(text, encoding="utf-8")
    (tmp_path / "season.toml").write_text("", encoding="utf-8")
    try:
        load_library(tmp_path)
        raise AssertionError("taken")
    except FilesNeedMending as error:
        assert error.flaws
    try:
        assert names_in(tmp_path).crops
    except FilesNeedMending as error:
        assert error.flaws


def test_a_crop_with_capitals_is_found(tmp_path: Path) -> None:
    (tmp_path / "crops").mkdir()
    text = (CROPS / "snap-bean.toml").read_text(encoding="utf-8")
    text = text.replace('name = "snap bean"', 'name = "Kitchen Garden BEAN"', 1)
    (tmp_path / "crops" / "own.toml").write_text(
        "\n".join(line for line in text.split("\n") if not line.startswith("also")), "utf-8"
    )
    library = load_library(tmp_path)
    for name in ("Kitchen Garden BEAN", "kitchen garden bean", "KITCHEN GARDEN bean, CUT"):
        assert library.find_product(name) is not None
