"""Paragraphs and tables of plain text; lengths counted by hand."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from harvestplan.outputs.text_page import WIDTH, columns, wrapped

WORDS = st.lists(st.text("abc12-°", min_size=1, max_size=30), max_size=40).map(" ".join)


@given(WORDS, st.integers(0, 8), st.integers(0, 6))
def test_lines_fit_and_hold_every_word(text: str, deep: int, hang: int) -> None:
    lines = wrapped(" " * deep + text, hang)
    assert all(len(line) <= WIDTH for line in lines)
    assert "".join(" ".join(lines).split()) == "".join(text.split())
    assert all(line.startswith(" " * deep) for line in lines)
    assert all(line.startswith(" " * (deep + hang)) for line in lines[1:])


def test_a_number_keeps_its_unit() -> None:
    for before in range(60, WIDTH):
        lines = wrapped(f"{'x' * before} 12 lb of it, 3 °F")
        assert any("12 lb" in line for line in lines) and any("3 °F" in line for line in lines)
        lines = wrapped(f"{'x' * before} of 12 1/4 lb of it")
        assert any("12 1/4 lb" in line for line in lines)


def test_an_address_longer_than_a_line_stays_whole() -> None:
    address = f"https://example.org/{'a' * 90}"
    assert wrapped(f"See {address}") == ["See", f"  {address}"]


def test_columns_end_flush_but_those_named() -> None:
    rows = [("", "n", "what"), ("a", "10", "bean"), ("bb", "7", "corn")]
    assert columns(rows, left=(0, 2)) == ["     n  what", "a   10  bean", "bb   7  corn"]
    assert columns(rows) == ["     n  what", "a   10  bean", "bb   7  corn"]
