"""plan.json: round trip, bytes, and files that are no plan."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from outputs.written_plans import make_plan, plan_data

from harvestplan.disk import write_atomic
from harvestplan.errors import FilesNeedMending
from harvestplan.plan.file import plan_bytes, plan_schema, read_plan


def test_round_trip(tmp_path: Path) -> None:
    plan = make_plan()
    (tmp_path / "plan.json").write_bytes(plan_bytes(plan))
    again = read_plan(tmp_path / "plan.json")
    assert again == plan
    assert plan_bytes(again) == plan_bytes(plan)
    assert [file.name for file in tmp_path.iterdir()] == ["plan.json"]


def test_times_carry_their_offset_and_dates_are_iso() -> None:
    data = json.loads(plan_bytes(make_plan()))
    assert data["sessions"][0]["start"] == "2027-10-28T18:00:00-06:00"
    assert data["sessions"][1]["start"] == "2027-11-09T18:00:00-07:00"
    assert data["as_of"] == "2027-10-25"
    assert list(data)[:4] == ["format", "made_at", "as_of", "season"]


OF_OLD = [
    {"level": "wants", "value": 25.0, "bound": 23.4, "gap": 0.064, "status": "feasible",
     "seconds": 5.0},
    {"level": "evenings", "value": 2.0, "bound": 2.0, "gap": 0.0, "status": "optimal",
     "seconds": 1.0},
]  # fmt: skip
"""The proof of plans made before there was one goal: a row for each level."""


@pytest.mark.parametrize("proof", [OF_OLD, []])
def test_a_plan_of_old_with_a_proof_by_levels_is_read_without_one(
    proof: list[dict[str, Any]], tmp_path: Path
) -> None:
    text = json.dumps(plan_data() | {"proof": proof})
    (tmp_path / "plan.json").write_text(text, encoding="utf-8")
    plan = read_plan(tmp_path / "plan.json")
    assert plan == make_plan(data=plan_data() | {"proof": None})
    (tmp_path / "again.json").write_bytes(plan_bytes(plan))
    assert read_plan(tmp_path / "again.json") == plan


def test_bytes_do_not_depend_on_the_order_of_settings() -> None:
    data = plan_data()
    for session in data["sessions"]:
        for task in session["tasks"]:
            task["settings"] = dict(reversed(task["settings"].items()))
    written = plan_bytes(make_plan(data=data))
    assert written == plan_bytes(make_plan())
    assert "purée".encode() in written


@pytest.mark.parametrize(
    "hidden", ["\x1b[2J", "\u202e", "\u2028", "\x85", "\n", "\ud800", "\u200b"]
)
def test_a_name_that_steers_a_terminal_is_no_name_of_ours(hidden: str, tmp_path: Path) -> None:
    """A lone surrogate has an escape in JSON, though none in UTF-8 (RFC 8259, 8.2)."""
    data = plan_data()
    data["season"]["name"] = f"lone{hidden}end"
    (tmp_path / "plan.json").write_bytes(plan_bytes(make_plan(data=data)))
    with pytest.raises(FilesNeedMending, match='"name" has a character in it that cannot be seen'):
        read_plan(tmp_path / "plan.json")


def test_the_schema_names_every_field_of_a_written_plan() -> None:
    schema = plan_schema()
    data = json.loads(plan_bytes(make_plan()))
    assert set(schema["properties"]) == set(data)
    assert set(schema["$defs"]["Session"]["properties"]) == set(data["sessions"][0])
    assert schema["$schema"].endswith("2020-12/schema")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (plan_bytes(make_plan())[:-500], "torn"),
        (b"\xff\xfe\x00", "torn"),
        (b"", "torn"),
        (b"[" * 100_000, "torn"),
        (b"[1, 2]", "not a plan"),
        (b'{"name": "other"}', "not a plan"),
        (b'{"format": 2}', "format is 2"),
        (b'{"format": 1}', "made_at"),
    ],
)
def test_what_is_no_plan(tmp_path: Path, content: bytes, words: str) -> None:
    file = tmp_path / "plan.json"
    file.write_bytes(content)
    with pytest.raises(FilesNeedMending, match=words) as caught:
        read_plan(file)
    assert "harvestplan plan" in str(caught.value)


def test_no_plan_yet(tmp_path: Path) -> None:
    with pytest.raises(FilesNeedMending, match="no plan yet"):
        read_plan(tmp_path / "plan.json")


def with_naive_time() -> dict[str, Any]:
    data = plan_data()
    data["sessions"][0]["tasks"][0]["start"] = "2027-10-28T18:00:00"
    return data


def test_a_time_without_offset_is_refused(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text(json.dumps(with_naive_time()))
    with pytest.raises(FilesNeedMending, match="no offset"):
        read_plan(tmp_path / "plan.json")


def test_a_failed_write_leaves_the_old_file(tmp_path: Path, monkeypatch: Any) -> None:
    file = tmp_path / "plan.json"
    file.write_bytes(b"old")

    def fail(self: Path, target: Path) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write_atomic(file, b"new")
    assert file.read_bytes() == b"old"
    assert [each.name for each in tmp_path.iterdir()] == ["plan.json"]
