"""The command line as a person meets it: quick help, plain errors, right exit codes."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from places import ROOT

DEMO = ROOT / "demo" / "willow-bend"
HEAVY = ("pandas", "numpy", "ortools", "pydantic", "jinja2", "icalendar", "rich")


def run(*words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-m", "harvestplan", *words],
        capture_output=True,
        text=True,
        cwd=cwd or ROOT,
        env=env,
    )


def test_importing_the_command_line_loads_nothing_heavy() -> None:
    code = (
        "import sys, harvestplan.commands.cli; "
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env)
    assert done.stdout.strip() == "[]", done.stderr


def test_help_loads_little() -> None:
    """What help costs is what it loads. Counted: 13 modules of ours, 171 in all."""
    code = (
        "import sys; sys.argv[1:] = ['--help']\n"
        "from harvestplan.commands.cli import app\n"
        "app(standalone_mode=False)\n"
        f"heavy = [name for name in {HEAVY!r} if name in sys.modules]\n"
        "ours = [name for name in sys.modules if name.startswith('harvestplan')]\n"
        "import json; print(json.dumps([heavy, len(ours), len(sys.modules)]))"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env)
    assert "Usage:" in done.stdout, done.stderr
    heavy, ours, loaded = json.loads(done.stdout.splitlines()[-1])
    assert heavy == [] and ours < 30 and loaded < 400


def test_an_unknown_command_is_exit_2_and_a_wrong_date_too() -> None:
    assert run("plann").returncode == 2
    done = run("forecast", "--as-of", "14/17/2027", "--in", str(DEMO))
    assert done.returncode == 2
    assert "no such day" in done.stderr and "2027-05-15" in done.stderr


def test_a_new_folder_can_be_planned_as_it_stands(tmp_path: Path) -> None:
    assert run("new", "garden", cwd=tmp_path).returncode == 0
    folder = tmp_path / "garden"
    year = next(
        line.split("=")[1].strip()[:4]
        for line in (folder / "household.toml").read_text().splitlines()
        if line.startswith("start = 2")
    )
    as_of = f"{year}-04-01"
    shown = run("forecast", "--in", str(folder), "--as-of", as_of)
    assert shown.returncode == 0, shown.stderr
    assert "snap beans, 20 lb in all" in shown.stdout
    planned = run("plan", "--in", str(folder), "--as-of", as_of)
    assert planned.returncode == 0, planned.stderr
    assert "Traceback" not in planned.stderr
    assert run("check", "--in", str(folder)).returncode == 0
    following = run("--in", str(folder), "--as-of", f"{year}-07-15")
    assert following.returncode == 0
    again = run("new", "garden", cwd=tmp_path)
    assert again.returncode == 3
    assert "already there" in again.stderr


def test_the_same_input_gives_the_same_plan_whatever_the_hash_seed(tmp_path: Path) -> None:
    plans = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        run("new", str(folder))
        (folder / "out").mkdir()
        # What is drawn by lot once, the names of the season's entries, is the same in both.
        (folder / "out" / "season-id.json").write_text(json.dumps({"id": "1b" * 16}))
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": seed}
        words = ["plan", "--quiet", "--in", str(folder), "--as-of", "2027-04-01"]
        done = subprocess.run(
            [sys.executable, "-m", "harvestplan", *words], capture_output=True, text=True, env=env
        )
        assert done.returncode == 0, done.stderr
        plan = json.loads((folder / "out" / "plan.json").read_text())
        del plan["made_at"]
        del plan["proof"]["seconds"]
        plans.append(plan)
    assert plans[0] == plans[1]


def test_without_a_plan_the_way_to_make_one_is_said(tmp_path: Path) -> None:
    done = run("check", "--in", str(tmp_path))
    assert done.returncode == 3
    assert "harvestplan new" in done.stderr
    (tmp_path / "household.toml").touch()
    assert "harvestplan plan" in run("check", "--in", str(tmp_path)).stderr


def test_crops_lists_and_shows_with_sources() -> None:
    assert "sweet corn" in run("crops").stdout
    shown = run("crops", "sweet corn")
    assert shown.returncode == 0
    assert "blanch" in shown.stdout
    assert "from memory" in shown.stdout
    missed = run("crops", "sweet crn")
    assert missed.returncode == 3
    assert "sweet corn" in missed.stderr


def test_schema_is_json_schema() -> None:
    schema = json.loads(run("schema").stdout)
    assert {"lots", "sessions", "freezer", "balance", "proof"} <= set(schema["properties"])


# (what is wrong, file, text, replacement, exit code, words of the message)
SLIPS = [
    (
        "unknown crop",
        "garden.toml",
        'crop = "kale"',
        'crop = "kael"',
        3,
        ["garden.toml, line", "kale"],
    ),
    (
        "missing quote",
        "garden.toml",
        'crop = "kale"',
        'crop = "kale',
        3,
        ["garden.toml, line", "quote"],
    ),
    (
        "wrong unit",
        "kitchen.toml",
        'volume = "16 qt"',
        'volume = "16 lb"',
        3,
        ["kitchen.toml, line"],
    ),
    (
        "curly quotes",
        "garden.toml",
        'crop = "kale"',
        "crop = “kale”",
        3,
        ["garden.toml, line", "quote"],
    ),
    (
        "bag wider than the bar",
        "kitchen.toml",
        'bar = "12 in"',
        'bar = "9 in"',
        3,
        ["kitchen.toml, line", "too wide for the bar"],
    ),
    (
        "end before start",
        "household.toml",
        "end = 2027-11-15",
        "end = 2027-05-01",
        3,
        ["household.toml, line"],
    ),
    (
        "freezer smaller than its contents",
        "kitchen.toml",
        'used = "80 L"',
        'used = "800 L"',
        3,
        ["kitchen.toml, line"],
    ),
    (
        "busy file missing",
        "household.toml",
        '"family.ics"',
        '"famly.ics"',
        3,
        ["household.toml, line", "famly.ics"],
    ),
    (
        "duplicate ids",
        "garden.toml",
        'id = "beans-2"',
        'id = "beans-1"',
        3,
        ["garden.toml, line", "beans-1"],
    ),
    ("torn busy file", "family.ics", "END:VCALENDAR", "", 3, ["family.ics"]),
    ("weather with a gap", "weather.csv", "\n1990-07-1", "\n#1990-07-1", 3, ["weather.csv"]),
]


@pytest.mark.parametrize("slip", SLIPS, ids=[slip[0] for slip in SLIPS])
def test_a_slip_is_named_and_nothing_is_written_over(
    slip: tuple[str, str, str, str, int, list[str]], tmp_path: Path
) -> None:
    _, name, text, replacement, code, words = slip
    folder = _copy_of_demo(tmp_path)
    path = folder / name
    before = path.read_text(encoding="utf-8")
    assert text in before
    path.write_text(before.replace(text, replacement), encoding="utf-8", newline="")
    kept = folder / "out" / "plan.json"
    kept.parent.mkdir()
    kept.write_text('{"kept": "as it was"}')
    done = run("plan", "--in", str(folder), "--as-of", "2027-03-15")
    assert done.returncode == code, done.stderr
    assert "Traceback" not in done.stderr
    for word in words:
        assert word in done.stderr
    assert kept.read_text() == '{"kept": "as it was"}'


def test_no_window_at_all_means_no_valid_plan(tmp_path: Path) -> None:
    folder = _copy_of_demo(tmp_path)
    path = folder / "household.toml"
    path.write_text(path.read_text().split("# Two evenings")[0])
    done = run("plan", "--in", str(folder), "--as-of", "2027-03-15")
    assert done.returncode == 4, done.stderr
    assert "[[window]]" in done.stderr
    assert not (folder / "out").exists()


def test_stored_food_that_overfills_the_freezer_means_no_valid_plan(tmp_path: Path) -> None:
    folder = _copy_of_demo(tmp_path)
    path = folder / "garden.toml"
    path.write_text(path.read_text().replace("portions = 4\n", "portions = 900\n"))
    done = run("plan", "--in", str(folder), "--as-of", "2027-03-15")
    assert done.returncode == 4, done.stderr
    assert "[[stored]]" in done.stderr


def _copy_of_demo(tmp_path: Path) -> Path:
    folder = tmp_path / "season"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out"))
    return folder
