"""Do the tests notice when the code is wrong? Changes the code in one place at a time and looks.

.venv/bin/python tests/mutation.py                      60 changes, drawn by chance
.venv/bin/python tests/mutation.py --count 9 kitchen    fewer, in one package
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import importlib.abc
import importlib.util
import io
import multiprocessing
import os
import random
import resource
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

from lengths import HEAVY, turn

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = {
    "kitchen": (
        "not slow and not heavy",
        ["tests/kitchen", "tests/outputs/terminal/test_capacity.py"],
    ),
    "forecast": ("not slow and not heavy", ["tests/forecast"]),
    "schedule": (
        "not slow",
        [
            "tests/schedule",
            "tests/planning",
            "tests/outputs/calendar/test_pulled.py",
            "tests/foresight/test_risk.py",
        ],
    ),
}
"""The core, and which tests are asked about each of its packages: their marks, their places."""
SECONDS = 300
"""Of computing for one change; a test that never ends has noticed it."""
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or,
    ast.Or: ast.And, ast.FloorDiv: ast.Mult,
}  # fmt: skip
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "ceil": "floor", "floor": "ceil"}


@dataclass(frozen=True)
class Change:
    """One place made wrong: the module, its line, before and after, and the whole new source."""

    module: str
    line: int
    before: str
    after: str
    source: str


def change(path: Path, number: int) -> Change:
    """The module with its place `number` made wrong."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    (statement, node), kind = list(_places(tree))[number]
    before = ast.unparse(statement)
    _break(node, kind)
    first = _first_difference(before, ast.unparse(statement))
    module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    return Change(module, statement.lineno, *first, ast.unparse(tree))


def _first_difference(before: str, after: str) -> tuple[str, str]:
    pairs = zip(before.splitlines(), after.splitlines(), strict=False)
    return next((pair for pair in pairs if pair[0] != pair[1]), (before, after))


def _places(tree: ast.Module) -> Iterator[tuple[tuple[ast.stmt, ast.AST], str]]:
    """(statement, node) with the kind of change, for every node that can be made wrong."""
    for statement in ast.walk(tree):
        if not isinstance(statement, ast.stmt):
            continue
        for node in _own_nodes(statement):
            kind = _kind(node)
            if kind:
                yield (statement, node), kind


def _own_nodes(statement: ast.stmt) -> Iterator[ast.AST]:
    """The expressions of a statement itself, without docstrings, annotations and messages."""
    skipped: list[ast.AST | None] = [getattr(statement, "annotation", None)]
    if isinstance(statement, (ast.FunctionDef, ast.ClassDef, ast.Raise, ast.Assert, ast.Import)):
        return
    if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
        return
    todo = [each for each in ast.iter_child_nodes(statement) if each not in skipped]
    while todo:
        node = todo.pop(0)
        if isinstance(node, (ast.stmt, ast.JoinedStr)):
            continue
        yield node
        todo += list(ast.iter_child_nodes(node))


def _kind(node: ast.AST) -> str:
    if isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPS:
        return "compare"
    if isinstance(node, ast.BinOp) and type(node.op) in SWAPS:
        text = (ast.Constant, ast.JoinedStr)
        strings = isinstance(node.left, text) and isinstance(getattr(node.left, "value", ""), str)
        return "" if strings else "operator"
    if isinstance(node, ast.BoolOp):
        return "both"
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.USub)):
        return "sign"
    if isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
        return "number"
    if isinstance(node, ast.Call) and _name(node.func) in NAMES:
        return "name"
    return ""


def _name(function: ast.AST) -> str:
    return str(getattr(function, "id", getattr(function, "attr", "")))


def _break(node: ast.AST, kind: str) -> None:
    """Make the node wrong in place."""
    if isinstance(node, ast.Compare):
        node.ops[0] = SWAPS[type(node.ops[0])]()  # type: ignore[assignment]
    elif isinstance(node, (ast.BinOp, ast.BoolOp)):
        node.op = SWAPS[type(node.op)]()  # type: ignore[assignment]
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd() if isinstance(node.op, ast.USub) else ast.Invert()
        if isinstance(node.op, ast.Invert):  # not x → bool(x), written as a double negation
            node.op, node.operand = ast.Not(), ast.UnaryOp(ast.Not(), node.operand)
    elif isinstance(node, ast.Constant):
        value = node.value
        node.value = (not value) if isinstance(value, bool) else value * 2 + 1  # type: ignore[operator]
    elif isinstance(node, ast.Call):
        function = node.func
        setattr(
            function, "id" if isinstance(function, ast.Name) else "attr", NAMES[_name(function)]
        )


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the changed source in place of the module's own."""

    def __init__(self, change: Change) -> None:
        self.change = change

    def find_spec(
        self, name: str, path: object = None, target: object = None
    ) -> importlib.machinery.ModuleSpec | None:
        if name != self.change.module:
            return None
        origin = str(ROOT / (name.replace(".", "/") + ".py"))
        return importlib.util.spec_from_file_location(name, origin, loader=self)

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.change.source, str(module.__file__), "exec"), vars(module))


def is_noticed(change: Change) -> bool:
    """Runs the tests of the change's package in a process of its own."""
    child = os.fork()
    if not child:
        code = 1
        try:
            code = _tests_fail(change)
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status) != 0


def _tests_fail(change: Change) -> int:
    import pytest

    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    sys.meta_path.insert(0, _Changed(change))
    marks, _ = PACKAGES[change.module.split(".")[1]]
    words = ["-x", "-q", "-m", marks, "-p", "no:cacheprovider", *_quickest_first(change)]
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return int(pytest.main(words) != 0)


def _quickest_first(change: Change) -> list[str]:
    """The package's test files: the heavy ones last, and of the others those named like the module
    first, then those that import it."""
    _, package, *_, module = change.module.split(".")
    files: list[Path] = []
    for place in PACKAGES[package][1]:
        files += sorted((ROOT / place).rglob("test_*.py")) or [ROOT / place]

    def far(file: Path) -> tuple[bool, bool, bool, int]:
        place = file.relative_to(ROOT / "tests").as_posix()
        named = module.split("_")[0] in file.stem
        imported = f"{change.module} import" in file.read_text(encoding="utf-8")
        return place.startswith(HEAVY), not named, not imported, -turn(place)

    return [str(file) for file in sorted(files, key=far)]


def main() -> int:
    """Says how many of the changes the tests noticed, and shows those they did not."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("packages", nargs="*", metavar="PACKAGE", help=", ".join(PACKAGES))
    reader.add_argument("--count", type=int, default=60)
    reader.add_argument("--seed", type=int, default=1)
    asked = reader.parse_args()
    packages = asked.packages or list(PACKAGES)
    chosen = draw(packages, asked.count, asked.seed)
    began = time.monotonic()
    for package in packages:
        if is_noticed(_nothing(package)):
            sys.exit(f"The tests of {package} fail on the code as it is; mend that first.")
    with multiprocessing.get_context("fork").Pool(os.cpu_count()) as pool:
        noticed = []
        for change, seen in zip(chosen, pool.imap(is_noticed, chosen), strict=True):
            noticed.append(seen)
            if not seen:
                print(
                    f"not noticed: {change.module}, line {change.line}:\n"
                    f"    {change.before.strip()}\n    {change.after.strip()}",
                    flush=True,
                )
    for package in packages:
        here = [
            seen
            for change, seen in zip(chosen, noticed, strict=True)
            if change.module.split(".")[1] == package
        ]
        print(f"{package}: {sum(here)} of {len(here)} noticed")
    share = sum(noticed) / len(noticed)
    print(
        f"In all {sum(noticed)} of {len(noticed)}, {share:.0%}, in {time.monotonic() - began:.0f} s"
    )
    return 0 if share >= 0.75 else 1


def _nothing(package: str) -> Change:
    """A change that changes nothing."""
    path = ROOT / "harvestplan" / package / "__init__.py"
    return Change(
        f"harvestplan.{package}.__init__", 1, "", after="", source=path.read_text(encoding="utf-8")
    )


def draw(packages: Sequence[str], count: int, seed: int) -> list[Change]:
    """`count` changes, as many from each package, each module by its number of places."""
    lottery = random.Random(seed)
    found: list[Change] = []
    for number, package in enumerate(packages):
        places = [
            (path, place)
            for path in sorted((ROOT / "harvestplan" / package).rglob("*.py"))
            for place in range(len(list(_places(ast.parse(path.read_text(encoding="utf-8"))))))
        ]
        share = count // len(packages) + (number < count % len(packages))
        found += [change(*each) for each in lottery.sample(places, min(share, len(places)))]
    return found


if __name__ == "__main__":
    import numpy  # noqa: F401  (loaded once here, not in every process)
    import ortools.sat.python.cp_model  # noqa: F401
    import pandas  # noqa: F401
    import pytest  # noqa: F401

    sys.exit(main())
