"""The line index: every key of a parsed file stands on the line the index names."""

from __future__ import annotations

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from harvestplan.inputs.line_numbers import index_lines

TEXT = '''\
# a note with [[brackets]] = "and more"
a = 1
[household] # c
name = "x # y"
"od d".b = 'q'
list = [ 1,
  2, # c ]
  { c = "]", d = [ [3] ] } ]
[[pot]]
name = """a
b"""
v = 2
[[pot]]
name = "b"
[pot.sub]
k = 2027-05-01
'''


def test_places() -> None:
    places = index_lines(TEXT).places
    assert places[("a",)] == 2
    assert places[("household",)] == 3
    assert places[("household", "name")] == 4
    assert places[("household", "od d", "b")] == 5
    assert places[("household", "list", 1)] == 7
    assert places[("household", "list", 2, "d", 0, 0)] == 8
    assert places[("pot", 0)] == 9
    assert places[("pot", 0, "v")] == 12
    assert places[("pot", 1, "name")] == 14
    assert places[("pot", 1, "sub", "k")] == 16


def test_an_unknown_place_falls_back_to_the_table_around_it() -> None:
    index = index_lines(TEXT)
    assert index.find(("pot", 1, "volume")) == 13
    assert index.text(13) == "[[pot]]"
    assert index.find(("nothing",)) is None
    assert index.text(None) == ""


KEYS = st.from_regex(r"\A[a-z][a-z0-9_-]{0,6}\Z")
VALUES = st.one_of(
    st.integers(-99, 99).map(str),
    st.sampled_from(['"a # b"', "'[x]'", '"q\\"]"', "2027-05-01", "true", '["m",\n "t"]', "[]",
                     '{ a = 1, b = "}" }', '"""x\n[y]\n"""']),
)  # fmt: skip


@given(st.dictionaries(KEYS, st.dictionaries(KEYS, VALUES, max_size=5), max_size=5))
def test_every_key_stands_on_its_line(tables: dict[str, dict[str, str]]) -> None:
    lines: list[str] = []
    expected: dict[tuple[str, ...], int] = {}
    for table, pairs in tables.items():
        expected[(table,)] = len(lines) + 1
        lines.append(f"[{table}]")
        for key, value in pairs.items():
            expected[(table, key)] = len(lines) + 1
            lines += f"{key} = {value}".split("\n")
    text = "\n".join(lines)
    tomllib.loads(text)
    places = index_lines(text).places
    assert {place: places[place] for place in expected} == expected
