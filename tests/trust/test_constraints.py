"""The exact versions that are tested: complete, within the project's ranges, from anywhere."""

from __future__ import annotations

import importlib.metadata
import tomllib

import pytest
from audit import read_answer
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from places import ROOT, TESTS

TEXT = (TESTS / "constraints.txt").read_text(encoding="utf-8")
LINES = [line for line in TEXT.splitlines() if line and not line.startswith("#")]
PINNED = {canonicalize_name(each.name): each for each in map(Requirement, LINES)}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
NEEDED = [Requirement(text) for text in PROJECT["dependencies"]]
DEV = [Requirement(text) for text in PROJECT["optional-dependencies"]["dev"]]
RUNNERS = {"pytest-xdist", "execnet"}
"""Pinned beside the run-time libraries."""


def version(name: str) -> str:
    (found,) = PINNED[canonicalize_name(name)].specifier
    assert found.operator == "=="
    return found.version


def test_every_line_is_one_exact_version() -> None:
    assert len(PINNED) == len(LINES) > 20
    for each in PINNED.values():
        assert version(each.name) and not each.extras and each.url is None and each.marker is None
    assert sorted(PINNED) == list(PINNED)


def test_no_line_names_a_place_to_fetch_from() -> None:
    assert not [word for word in ("://", "www.", " @ ", "--", "git+", "/") if word in TEXT]


@pytest.mark.parametrize("needed", NEEDED, ids=lambda each: each.name)
def test_what_the_project_needs_is_pinned_inside_its_range(needed: Requirement) -> None:
    assert needed.specifier.contains(version(needed.name))
    assert needed.specifier, "every library has a range"


def test_what_those_need_is_pinned_too() -> None:
    """The closure as the installed libraries tell it; a library is here as it was tested."""
    todo, seen = list(NEEDED), set()
    while todo:
        needed = todo.pop()
        name = canonicalize_name(needed.name)
        if name in seen:
            continue
        seen.add(name)
        assert needed.specifier.contains(version(name)), needed
        for text in importlib.metadata.requires(needed.name) or ():
            more = Requirement(text)
            extras = {"", *needed.extras}
            if more.marker is None or any(more.marker.evaluate({"extra": e}) for e in extras):
                todo.append(more)
    assert seen | RUNNERS == set(PINNED)


def test_what_divides_the_tests_is_pinned_inside_its_range() -> None:
    needs = map(Requirement, importlib.metadata.requires("pytest-xdist") or ())
    wanted = {each.name: each for each in (*DEV, *needs) if each.name in RUNNERS}
    assert wanted.keys() == RUNNERS
    for each in wanted.values():
        assert each.specifier.contains(version(each.name)), each


def test_the_audit_reads_what_its_tool_says() -> None:
    answer = {
        "dependencies": [
            {"name": "a", "version": "1", "vulns": []},
            {"name": "b", "version": "2", "skip_reason": "not found"},
            {
                "name": "c",
                "version": "3",
                "vulns": [
                    {"id": "X-1", "fix_versions": ["3.1"]},
                    {"id": "X-2", "fix_versions": []},
                ],
            },
        ]
    }
    found, unknown = read_answer(answer)
    assert found == ["c 3: X-1, mended in 3.1", "c 3: X-2, mended in nothing yet"]
    assert unknown == 1
