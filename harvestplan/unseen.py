"""Characters that cannot be seen, wherever text of a household's files is read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from harvestplan.errors import has_steering

Place = tuple[str | int, ...]
"""Keys and positions that lead to a text."""
HINT = "Type it anew, in one line."


def unseen(value: Any, place: Place = ()) -> Iterator[tuple[Place, str]]:
    """Every text in tables, lists and keys that holds a character which cannot be seen.

    Each with its place, for the file's index of lines, and a sentence.
    """
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from unseen(str(key), (*place, key))
            yield from unseen(inner, (*place, key))
    elif isinstance(value, (list, tuple)):
        for position, inner in enumerate(value):
            yield from unseen(inner, (*place, position))
    elif isinstance(value, str) and has_steering(value):
        key = next((part for part in reversed(place) if isinstance(part, str)), "")
        yield place, f'"{key}" has a character in it that cannot be seen.'
