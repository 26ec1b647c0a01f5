"""Many cases in one test, and the one that fails named.

    @each("seed", range(200))
    def test_it(seed: int, tmp_path: Path) -> None: ...

Cases that a person tells apart by their words (a slip and what is said of it) are better a test
each, by pytest.mark.parametrize.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

ParameterSet = type(pytest.param())
Test = Callable[..., None]


@contextmanager
def named(case: object) -> Iterator[None]:
    """Tells the case beside whatever goes wrong in it."""
    try:
        yield
    except Exception as failed:
        failed.add_note(f"in the case of {case}")
        raise


def each(
    names: str | tuple[str, ...],
    cases: Iterable[Any],
    told: Callable[..., object] | None = None,
) -> Callable[[Test], Test]:
    """The test asked once for every case, which gives it the arguments of these names.

    Fixtures are shared by all cases, but that each has a folder of its own in `tmp_path`. `told`
    gives the words for a case where its arguments as they are would be long.
    """
    arguments = (names,) if isinstance(names, str) else names
    rows = [(case,) if isinstance(names, str) else tuple(case) for case in cases]
    assert rows, "a test of no case"
    marked = [case for row in rows for case in row if isinstance(case, ParameterSet)]
    assert not marked, "cases that are marked are a test of their own"

    def of(test: Test) -> Test:
        @functools.wraps(test)
        def asked(**fixtures: Any) -> None:
            for number, row in enumerate(rows):
                given = dict(zip(arguments, row, strict=True))
                folder = fixtures.get("tmp_path")
                if folder is not None:
                    given["tmp_path"] = folder / str(number)
                    given["tmp_path"].mkdir()
                words = told(*row) if told else ", ".join(map(repr, row))
                with named(f"{', '.join(arguments)}: {words}"):
                    test(**{**fixtures, **given})

        signature = inspect.signature(test)
        left = [p for name, p in signature.parameters.items() if name not in arguments]
        asked.__signature__ = signature.replace(parameters=left)  # type: ignore[attr-defined]
        return asked

    return of
