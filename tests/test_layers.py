"""The tree holds to its own picture: data flows one way, heavy libraries stay in their rooms, and
nothing is called as another thing is."""

from __future__ import annotations

import ast
from collections import Counter, defaultdict
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import harvestplan

PACKAGE = Path(harvestplan.__file__).parent
STRETCHES = (
    "errors",
    "free_memory",
    "unseen",
    "bounded",
    "so_far",
    "disk",
    "plan",
    "inputs",
    "words",
    "kitchen",
    "records",
    "forecast",
    "household",
    "schedule.statement",
    "schedule.solver_call",
    "schedule.rules",
    "schedule.goals",
    "schedule.session",
    "schedule.search",
    "schedule.written",
    "check",
    "planning",
    "foresight",
    "outputs",
    "new_season",
    "page",
    "commands",
)
"""From where data comes to where it goes: a module imports from its own stretch and from those to
its left."""
ROOMS = {
    "ortools": {"schedule"},
    "pandas": {"inputs", "forecast", "outputs"},
    "icalendar": {"inputs", "outputs"},
    "recurring_ical_events": {"inputs", "outputs"},
    "jinja2": {"outputs", "page"},
    "starlette": {"page"},
    "uvicorn": {"page"},
    "segno": {"page"},
    "defusedxml": {"outputs"},
    "distributed": {"foresight"},
    "typer": {"commands", "new_season"},
}
"""Where each heavy library may be used."""
MODULES_BESIDE_PACKAGES = 8
LONGEST_MODULE, LONGEST_FUNCTION = 420, 60


def _name(path: Path) -> str:
    """The module's name below the package: `schedule.search.scip`; that of a package is its own."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


PATHS = {_name(path): path for path in sorted(PACKAGE.rglob("*.py"))}
TREES = {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in PATHS.items()}


def imported(name: str) -> set[str]:
    """All that a module imports, within functions too, by full names; what is taken from a module
    is told as the module, or as the module of that name in a package."""
    found: set[str] = set()
    for node in ast.walk(TREES[name]):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module, f"{name}: an import by dots"
            inside = node.module.removeprefix("harvestplan").lstrip(".")
            for alias in node.names:
                below = f"{inside}.{alias.name}".lstrip(".")
                ours = node.module.split(".")[0] == "harvestplan"
                found.add(f"harvestplan.{below}" if ours and below in TREES else node.module)
    return found


def ours(name: str) -> set[str]:
    """The modules of the package that a module imports, by their names below the package."""
    names = {each for each in imported(name) if each.split(".")[0] == "harvestplan"}
    return {each.removeprefix("harvestplan").lstrip(".") for each in names} - {""}


def stretch(name: str) -> int | None:
    """The place of a module's stretch in the order, None for the package's own few lines."""
    found = [
        place for place, each in enumerate(STRETCHES) if name == each or name.startswith(f"{each}.")
    ]
    return found[0] if found else None


def test_every_module_lies_in_a_stretch_and_imports_from_the_left_only() -> None:
    # A package that only holds stretches, and what starts the program, lie in none.
    outside = {each.rpartition(".")[0] for each in STRETCHES} | {"__main__"}
    lost = [name for name in TREES if stretch(name) is None and name not in outside]
    assert not lost
    back = []
    for name in TREES:
        here = stretch(name)
        for other in ours(name) if here is not None else ():
            there = stretch(other)
            if there is None or there > here:
                back.append(f"{name} imports {other}")
    assert not back
    assert not [name for name in outside - {"__main__"} if ours(name)]


def test_no_module_imports_itself_by_way_of_others() -> None:
    graph = {name: ours(name) for name in TREES}
    assert sum(map(len, graph.values())) > len(graph)
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as circle:
        raise AssertionError(" imports ".join(reversed(circle.args[1]))) from None


def test_the_judge_knows_nothing_of_how_plans_are_made() -> None:
    judges = [name for name in TREES if name.split(".")[0] == "check"]
    assert judges
    assert not [
        f"{name} imports {other}"
        for name in judges
        for other in ours(name)
        if other.split(".")[0] == "schedule"
    ]


def test_heavy_libraries_stay_in_their_rooms() -> None:
    users: dict[str, set[str]] = defaultdict(set)
    for name in TREES:
        for other in imported(name):
            users[other.split(".")[0]].add(name.split(".")[0])
    for library, rooms in ROOMS.items():
        assert users[library], f"{library} is used nowhere"
        assert users[library] <= rooms, f"{library} is used in {users[library] - rooms}"


def test_nothing_is_called_as_another_thing_is() -> None:
    """No module, and no class in the open, has the name of another."""
    modules = Counter(name.rpartition(".")[2] for name in TREES)
    classes = Counter(
        node.name
        for tree in TREES.values()
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    )
    assert not [name for name, times in modules.items() if times > 1]
    assert not [name for name, times in classes.items() if times > 1]


def test_few_modules_lie_beside_the_packages() -> None:
    beside = [path.name for path in PACKAGE.glob("*.py") if not path.name.startswith("__")]
    assert len(beside) <= MODULES_BESIDE_PACKAGES, beside


def test_modules_and_functions_stay_short() -> None:
    long = []
    for name, tree in TREES.items():
        lines = len(PATHS[name].read_text(encoding="utf-8").splitlines())
        if lines > LONGEST_MODULE:
            long.append(f"{name}: {lines} lines")
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.end_lineno:
                length = node.end_lineno - node.lineno + 1
                if length > LONGEST_FUNCTION:
                    long.append(f"{name}: {node.name} has {length} lines")
    assert not long


def test_public_functions_and_classes_say_what_they_do() -> None:
    silent = [
        f"{name}: {node.name}"
        for name, tree in TREES.items()
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert not silent
    assert not [name for name, tree in TREES.items() if tree.body and not ast.get_docstring(tree)]
