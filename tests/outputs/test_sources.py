"""How sources are cited on pages; checked by hand."""

from __future__ import annotations

import pytest

from harvestplan.inputs.crops import Source
from harvestplan.outputs.sources import Numbered, cited, uncited

SOURCES = {
    "cold-2019": Source(title="Cold", publisher="A college", year="2019", where="page 3"),
    "ICE": Source(title="Ice"),
    "common-practice": Source(title="what cooks do"),
}


@pytest.mark.parametrize(
    ("text", "shown", "ids"),
    [
        ("Keep it cold (cold-2019).", "Keep it cold.", ("cold-2019",)),
        ("Cold (cold-2019, ICE); then pack.", "Cold; then pack.", ("cold-2019", "ICE")),
        ("Soak it (ICE; an older sheet says less).", "Soak it (an older sheet says less).",
         ("ICE",)),
        ("140 °F (60 °C), dry (not wet).", "140 °F (60 °C), dry (not wet).", ()),
    ],
)  # fmt: skip
def test_ids_in_brackets_are_known_and_can_be_left_out(
    text: str, shown: str, ids: tuple[str, ...]
) -> None:
    assert uncited(text, SOURCES) == shown
    assert cited(text, SOURCES) == ids


def test_sources_are_numbered_as_they_are_cited_and_listed_once() -> None:
    numbered = Numbered(SOURCES)
    assert numbered.lines() == []
    assert numbered.mark("ICE") == "[1]"
    assert numbered.mark("common-practice") == "common practice, no source"
    assert numbered.marked("as in (cold-2019, ICE)") == "as in [2], [1]"
    assert numbered.lines() == ["[1] Ice", "[2] A college, Cold, 2019, page 3"]
