"""The house of the code in figures: how large its rooms are, and which doors lead back.

    python3 tests/house.py [CHECKOUT]

Reads the checkout's files and imports nothing of them.
"""

from __future__ import annotations

import ast
import statistics
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

MANY_ARGUMENTS = 6
"""A call with so many by their place is hard to read."""
Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Module:
    """One file: its name below the checkout, and what is in it."""

    name: str
    text: str

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.text)

    @property
    def lines(self) -> int:
        return len(self.text.splitlines())

    @property
    def functions(self) -> list[Function]:
        return [node for node in ast.walk(self.tree) if isinstance(node, Function)]

    def imported(self, modules: set[str]) -> set[str]:
        """Those of the modules that it imports, within functions too."""
        found: set[str] = set()
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Import):
                found |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                below = {f"{node.module}.{alias.name}" for alias in node.names}
                found |= below & modules or {node.module}
        return (found & modules) - {self.name}


def read(checkout: Path, folder: str) -> list[Module]:
    """The modules of a folder of the checkout."""
    found = []
    for path in sorted((checkout / folder).rglob("*.py")):
        parts = path.relative_to(checkout).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found.append(Module(name, path.read_text(encoding="utf-8")))
    return found


def circles(arrows: dict[str, set[str]]) -> list[list[str]]:
    """Groups of names each of which leads to every other (Tarjan 1972, SIAM Journal on Computing
    1:146; strongly connected components)."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[list[str]] = []

    def visit(name: str) -> None:
        order[name] = low[name] = len(order)
        stack.append(name)
        for other in sorted(arrows[name]):
            if other not in order:
                visit(other)
            if other in stack:
                low[name] = min(low[name], low[other])
        if low[name] == order[name]:
            at = stack.index(name)
            if len(stack) - at > 1:
                found.append(sorted(stack[at:]))
            del stack[at:]

    for name in sorted(arrows):
        if name not in order:
            visit(name)
    return found


def rooms_of(modules: Sequence[Module]) -> dict[str, str]:
    """The room of each module: its folder, or itself where it lies beside the packages."""
    folders = {module.name: module.name.rpartition(".")[0] for module in modules}
    packages = set(folders.values())
    rooms = {}
    for name, folder in folders.items():
        rooms[name] = folder if "." in folder and name not in packages else name
    return rooms


def under_one_roof(one: str, other: str) -> bool:
    """Whether it is the same room, or one is a folder within the other."""
    return f"{one}.".startswith(f"{other}.") or f"{other}.".startswith(f"{one}.")


def imports_back(rooms: dict[str, str], arrows: dict[str, set[str]]) -> list[str]:
    """Imports between two rooms that import each other, from the one that does so less often:
    whatever the order of the rooms is, so many must lead back."""
    between: dict[tuple[str, str], list[str]] = {}
    for name, others in arrows.items():
        for other in others:
            pair = rooms[name], rooms[other]
            between.setdefault(pair, []).append(f"{name} imports {other}")
    back = []
    for (one, other), there in sorted(between.items()):
        again = between.get((other, one), [])
        if not under_one_roof(one, other) and again and (len(there), one) < (len(again), other):
            back += there
    return back


def calls_with_many_arguments(modules: Sequence[Module]) -> int:
    """Calls that pass many arguments by their place."""
    calls = (n for m in modules for n in ast.walk(m.tree) if isinstance(n, ast.Call))
    return sum(len(call.args) >= MANY_ARGUMENTS for call in calls)


def fully_typed(function: Function) -> bool:
    """Whether every argument but `self` and what is given back have their types."""
    asked = function.args
    named = [*asked.posonlyargs, *asked.args, *asked.kwonlyargs, asked.vararg, asked.kwarg]
    untyped = [a for a in named if a and a.annotation is None and a.arg not in ("self", "cls")]
    return not untyped and function.returns is not None


def public(modules: Sequence[Module]) -> list[ast.AST]:
    """Functions and classes in the open, those within classes too."""
    found: list[ast.AST] = []
    for module in modules:
        todo: list[ast.AST] = list(module.tree.body)
        for node in todo:
            if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_"):
                found.append(node)
                if isinstance(node, ast.ClassDef):
                    todo += node.body
    return found


def figures(checkout: Path) -> Iterator[tuple[str, str]]:
    """What is measured, and what it comes to."""
    for folder in ("harvestplan", "tests"):
        modules = read(checkout, folder)
        lines = sorted(module.lines for module in modules)
        longest = max(modules, key=lambda module: module.lines)
        sizes = [(n.end_lineno or 0) - n.lineno + 1 for m in modules for n in m.functions]
        function, length, where = max(
            (
                (n.name, (n.end_lineno or 0) - n.lineno + 1, m.name)
                for m in modules
                for n in m.functions
            ),
            key=lambda each: each[1],
        )
        tenth = statistics.quantiles(lines, n=10)
        yield f"{folder}: files, lines", f"{len(modules)}, {sum(lines)}"
        yield "  lines of a file: median, p90", f"{statistics.median(lines):.0f}, {tenth[-1]:.0f}"
        yield "  longest file", f"{longest.name}, {longest.lines} lines"
        yield "  lines of a function: median", f"{statistics.median(sizes):.0f}"
        yield "  longest function", f"{where}.{function}, {length} lines"
        skipped = sum(module.text.count("# fmt:" + " skip") for module in modules)
        yield "  fmt: skip", str(skipped)
        yield "  calls with six or more by place", str(calls_with_many_arguments(modules))
        if folder == "harvestplan":
            yield from of_the_package(modules)


def of_the_package(modules: Sequence[Module]) -> Iterator[tuple[str, str]]:
    """What is asked of the package alone."""
    functions = [function for module in modules for function in module.functions]
    typed = sum(map(fully_typed, functions)) / len(functions)
    yield "  functions fully typed", f"{typed:.1%}"
    open_ones = public(modules)
    told = sum(ast.get_docstring(node) is not None for node in open_ones)  # type: ignore[arg-type]
    yield "  public docstrings", f"{told / len(open_ones):.1%}"
    names = {module.name for module in modules}
    arrows = {module.name: module.imported(names) for module in modules}
    rooms = rooms_of(modules)
    doors: dict[str, set[str]] = {room: set() for room in rooms.values()}
    for name, others in arrows.items():
        here = rooms[name]
        doors[here] |= {rooms[o] for o in others if not under_one_roof(here, rooms[o])}
    yield "  rooms, arrows between them", f"{len(doors)}, {sum(map(len, doors.values()))}"
    yield "  circles of modules", _listed([" ".join(each) for each in circles(arrows)])
    yield "  circles of rooms", _listed([" ".join(each) for each in circles(doors)])
    yield "  imports back", _listed(imports_back(rooms, arrows))


def _listed(found: Sequence[str]) -> str:
    return "\n      ".join([str(len(found)), *(each.replace("harvestplan.", "") for each in found)])


def main() -> None:
    """Prints every figure of the checkout, this one where none is named."""
    here = Path(__file__).resolve().parent.parent
    checkout = Path(sys.argv[1]) if len(sys.argv) > 1 else here
    for name, figure in figures(checkout):
        print(f"{name}: {figure}")


if __name__ == "__main__":
    main()
