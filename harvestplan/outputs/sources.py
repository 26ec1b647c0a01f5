"""The library's sources as people read them: a number where one is cited, the list at the end."""

from __future__ import annotations

import re
from collections.abc import Mapping

from harvestplan.inputs.crops import Source

UNCITED = {
    "memory": "from memory, not checked",
    "common-practice": "common practice, no source",
    "SYNTH": "a planning default",
}
"""Ids that stand for no source, in words."""


class Numbered:
    """Numbers sources in the order in which a page cites them."""

    def __init__(self, sources: Mapping[str, Source]) -> None:
        self._sources = sources
        self._cited: dict[str, int] = {}

    def mark(self, key: str) -> str:
        """Like "[3]"; what is said of a figure without a source stands in words."""
        if key in UNCITED:
            return UNCITED[key]
        return f"[{self._cited.setdefault(key, len(self._cited) + 1)}]"

    def marked(self, text: str) -> str:
        """The text with a number for each id that it names."""

        def number(found: re.Match[str]) -> str:
            key = found[0]
            return self.mark(key) if key in self._sources and key not in UNCITED else key

        text = re.sub(r"\b[A-Za-z][\w-]*\w\b", number, text)
        return re.sub(r"\((\[\d+\](?:, \[\d+\])*)\)", r"\1", text)

    def lines(self) -> list[str]:
        """All that were cited, one a line: "[3] publisher, title, year, where"."""
        return [f"[{n}] {source_words(self._sources[key])}" for key, n in self._cited.items()]


def source_words(source: Source) -> str:
    """Who published what, when and where, as far as it is known."""
    parts = (source.publisher, source.title, source.year, source.where)
    return ", ".join(part for part in parts if part)


def cited(text: str, sources: Mapping[str, Source]) -> tuple[str, ...]:
    """The ids of sources that the text names in brackets."""
    words = re.findall(r"[\w-]+", " ".join(re.findall(r"\(([^)]*)\)", text)))
    return tuple(word for word in words if word in sources)


def uncited(text: str, sources: Mapping[str, Source]) -> str:
    """The text without the ids that it names in brackets, for where no list of them follows."""

    def rest(found: re.Match[str]) -> str:
        parts = re.split(r"[,;] ", found[1])
        kept = [part for part in parts if part not in sources]
        return found[0] if kept == parts else f" ({', '.join(kept)})" if kept else ""

    return re.sub(r" \(([^)]*)\)", rest, text)
