"""How two plans differ, in portions and evenings, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from harvestplan.words import plural


def difference(one: str, was: int, now: int) -> str:
    """Like "3 fewer portions: 190 instead of 193."; `one` is what is counted."""
    if was == now:
        return f"As many {one}s as now: {now}."
    word = "more" if now > was else "fewer"
    counted = plural(abs(now - was), one).replace(" ", f" {word} ", 1)
    return f"{counted}: {now} instead of {was}."


def foods_differ(foods: Mapping[str, Sequence[int]]) -> Iterator[str]:
    """A sentence on the foods of which there are more or fewer portions (was, now), if any."""
    moved = {name: now - was for name, (was, now) in foods.items()}
    parts = [f"{count:+d} {name}" for name, count in sorted(moved.items()) if count]
    if parts:
        yield "; ".join(parts) + "."
