"""The tree holds to its own picture: data flows one way, heavy libraries stay in their rooms."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "harvestplan"
# Each package may import from those named; what is not named lies downstream of it.
MAY_IMPORT = {
    "inputs": {"inputs"},
    "records": {"inputs", "kitchen", "records"},
    "forecast": {"inputs", "records", "forecast"},
    "kitchen": {"inputs", "kitchen", "words"},
    "schedule": {"inputs", "records", "kitchen", "schedule"},
    "check": {"inputs", "kitchen", "check"},
    "foresight": {
        "inputs", "records", "forecast", "kitchen", "schedule", "check", "outputs", "planning",
        "foresight",
    },
}  # fmt: skip
BASE = {"errors", "memory", "plan", "outlook"}
ROOMS = {
    "ortools": {"schedule"},
    "pandas": {"inputs", "forecast", "outputs"},
    "typer": {
        "cli",
        "caution_commands",
        "cut_commands",
        "diary_commands",
        "foresight_commands",
        "help_sections",
        "options",
        "publish_command",
        "questions",
        "start_commands",
        "sturdy_command",
    },
    "recurring_ical_events": {"inputs"},
    "jinja2": {"outputs"},
}
LONGEST_MODULE, LONGEST_FUNCTION = 420, 60


def modules() -> Iterator[tuple[Path, ast.Module]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        yield path, ast.parse(path.read_text(encoding="utf-8"))


def room(path: Path) -> str:
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else path.stem


def imports(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def test_packages_import_only_upstream() -> None:
    wrong = []
    for path, tree in modules():
        allowed = MAY_IMPORT.get(room(path))
        for name in imports(tree):
            parts = name.split(".")
            if allowed is None or parts[0] != "harvestplan" or len(parts) < 2:
                continue
            if parts[1] not in allowed | BASE:
                wrong.append(f"{path.relative_to(PACKAGE)} imports {name}")
    assert not wrong


@pytest.mark.parametrize("library", sorted(ROOMS))
def test_heavy_libraries_stay_in_their_rooms(library: str) -> None:
    users = {
        room(path)
        for path, tree in modules()
        if any(name.split(".")[0] == library for name in imports(tree))
    }
    assert users <= ROOMS[library]
    assert users


def test_modules_and_functions_stay_short() -> None:
    long = []
    for path, tree in modules():
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if lines > LONGEST_MODULE:
            long.append(f"{path.relative_to(PACKAGE)}: {lines} lines")
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and node.end_lineno:
                length = node.end_lineno - node.lineno + 1
                if length > LONGEST_FUNCTION:
                    long.append(f"{path.relative_to(PACKAGE)}: {node.name} has {length} lines")
    assert not long


def test_public_functions_and_classes_say_what_they_do() -> None:
    silent = [
        f"{path.relative_to(PACKAGE)}: {node.name}"
        for path, tree in modules()
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert not silent
