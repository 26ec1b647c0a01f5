"""No test bounds seconds: it would fail where the machine is slow or busy, and tell nothing."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
CLOCKS = {
    "time": {"time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "perf_counter_ns",
             "process_time", "process_time_ns", "thread_time", "thread_time_ns"},
    "os": {"times"},
    "resource": {"getrusage"},
}  # fmt: skip
"""Functions, by module, that tell the time or how long something computed."""
COMPUTED = {"cpu_seconds"}
"""Attributes of our own results that say how long they computed."""


def seconds_bounded(module: ast.AST) -> set[int]:
    """Lines of asserts that ask whether what a clock told is more or less than something.

    A clock's word is followed into the names that are given it and the functions that return it.
    """
    told: set[str] = set()
    while more := set(_given(module, told)) - told:
        told |= more
    asserts = (each for each in ast.walk(module) if isinstance(each, ast.Assert))
    return {
        each.lineno
        for each in asserts
        for part in ast.walk(each.test)
        if isinstance(part, ast.Compare)
        and any(isinstance(how, ast.Lt | ast.LtE | ast.Gt | ast.GtE) for how in part.ops)
        and _tells(part, told)
    }


def _given(module: ast.AST, told: set[str]) -> Iterator[str]:
    """Names of what holds a clock's word or hands it back."""
    for node in ast.walk(module):
        if isinstance(node, ast.Assign) and _tells(node.value, told):
            yield from (part.id for part in _names(node.targets))
        elif isinstance(node, ast.FunctionDef):
            returns = [part for part in ast.walk(node) if isinstance(part, ast.Return)]
            if any(part.value and _tells(part.value, told) for part in returns):
                yield node.name
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            filled = node.func.attr == "append" and _names([node.func.value])
            if filled and any(_tells(word, told) for word in node.args):
                yield filled[0].id


def _names(nodes: list[ast.expr]) -> list[ast.Name]:
    return [part for node in nodes for part in ast.walk(node) if isinstance(part, ast.Name)]


def _tells(node: ast.AST, told: set[str]) -> bool:
    return any(
        (isinstance(part, ast.Name) and part.id in told)
        or (
            isinstance(part, ast.Attribute)
            and isinstance(part.value, ast.Name)
            and part.attr in CLOCKS.get(part.value.id, ())
        )
        or (isinstance(part, ast.Attribute) and part.attr in COMPUTED)
        for part in ast.walk(node)
    )


def test_no_assert_bounds_seconds() -> None:
    found = {
        path.relative_to(TESTS).as_posix(): lines
        for path in TESTS.rglob("*.py")
        if (lines := seconds_bounded(ast.parse(path.read_text("utf-8"))))
    }
    assert found == {}


@pytest.mark.parametrize(
    "text",
    [
        "assert time.monotonic() - began < 5",
        "took = time.perf_counter() - began\nassert 0 < took < 3",
        "def once():\n    return time.process_time()\nassert min(once() for _ in range(3)) < 0.2",
        "spent = []\nspent.append(time.time())\nassert max(spent) <= LIMIT",
        "after = os.times()\nused = after.children_user\nassert not used > 2",
        "used = resource.getrusage(resource.RUSAGE_SELF)\nassert used.ru_utime < 9, 'slow'",
        "assert found.cpu_seconds < 1200",
    ],
)
def test_each_way_to_bound_seconds_is_seen(text: str) -> None:
    assert seconds_bounded(ast.parse(text)) == {text.count("\n") + 1}


@pytest.mark.parametrize(
    "text",
    [
        "hour = time.time() - 3600\nos.utime(path, (hour, hour))\nassert path.exists()",
        "assert session.times[0].start < 5",
        "while time.monotonic() < until:\n    pass\nassert done",
    ],
)
def test_a_clock_may_be_read(text: str) -> None:
    assert seconds_bounded(ast.parse(text)) == set()
