"""Tests stand in the folders of what they test, and know nothing of one another."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from places import ROOT, TESTS

PACKAGE = ROOT / "harvestplan"
BESIDE = {"benchmarks", "browser", "crops", "seasons", "trust"}
"""Folders of tests of the whole program, by what they look at."""
FILES = sorted(TESTS.rglob("*.py"))


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def test_every_folder_is_one_of_the_package() -> None:
    folders = {p.parent.relative_to(TESTS) for p in FILES if p.name.startswith("test_")}
    ours = {folder for folder in folders if folder.parts and folder.parts[0] not in BESIDE}
    assert len(ours) > 10
    assert not [str(folder) for folder in ours if not (PACKAGE / folder).is_dir()]


def test_no_test_is_imported_and_helpers_are_named_by_their_folders() -> None:
    """So that it does not matter which folders stand in sys.path."""
    helpers = [p for p in FILES if not p.name.startswith(("test_", "conftest"))]
    deep = {p.stem for p in helpers if p.parent != TESTS}
    bare = deep - {p.stem for p in helpers if p.parent == TESTS}
    wrong = []
    for path in FILES:
        for name in imported(path):
            if name in bare or name.split(".")[-1].startswith("test_"):
                wrong.append(f"{path.relative_to(TESTS)} imports {name}")
    assert not wrong
