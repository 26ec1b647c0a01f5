"""What a plan is worth, in plain words: every sentence, from plans written by hand."""

from __future__ import annotations

from typing import Any

import pytest
from outputs.written_plans import make_plan, plan_data

from harvestplan.outputs.worth_words import UNSURE, part_rows, worth_lines
from harvestplan.plan.models import COUNTED, Plan


def plan(**proof: Any) -> Plan:
    """The plan written by hand, its proof changed."""
    data = plan_data()
    data["proof"] |= proof
    return make_plan(data=data)


def parts(**portions: float) -> list[dict[str, Any]]:
    return [{"part": part, "portions": each} for part, each in portions.items()]


def test_what_is_put_by_what_it_is_worth_and_what_no_plan_can_be_worth() -> None:
    """Thirty portions in two evenings; 0.6 of 30 lost by waiting; 1.5 of 23.3 open, rounded up."""
    assert worth_lines(plan()) == [
        "This plan puts by 30 portions in 2 evenings",
        "By your priorities it is worth 23 portions, with the toil taken off; waiting takes 2% of "
        "what is put by",
        "At best another plan could bring 6.5% more: about 1.5 portions",
    ]


def test_visits_are_told_beside_evenings_and_cancelled_sessions_are_not() -> None:
    data = plan_data()
    data["sessions"][1]["kind"] = "visit"
    assert worth_lines(make_plan(data=data))[0].endswith("in 1 evening and 1 visit")
    data["sessions"][1]["status"] = "cancelled"
    assert worth_lines(make_plan(data=data))[0].endswith("in 1 evening")


def test_where_hardly_anything_waits() -> None:
    said = worth_lines(plan(parts=parts(portions=30, freshness=-0.14, evenings=-4)))[1]
    assert said.endswith("with the toil taken off; hardly anything waits")
    assert "waiting takes" not in said


def test_a_plan_that_puts_nothing_more_by_is_not_said_to_be_worth_anything() -> None:
    nothing = plan(worth=0, bound=0, gap=0, status="optimal", parts=parts(portions=0))
    assert worth_lines(nothing)[1:] == ["No other plan could bring more"]
    nothing = plan(worth=0, bound=2.34, gap=2.34, parts=[])
    assert worth_lines(nothing)[1:] == ["At best another plan could bring 2.3 portions"]


def test_few_portions_are_told_to_the_tenth() -> None:
    said = worth_lines(plan(worth=4.26, bound=4.26, status="optimal"))
    assert "worth 4.3 portions," in said[1] and said[2] == "No other plan could bring more"


@pytest.mark.parametrize(
    ("gap", "told"),
    [(0.0001, "0.1%"), (0.001, "0.1%"), (0.0101, "1.1%"), (0.05, "5%"), (1, "100%")],
)
def test_the_gap_is_never_told_less_than_it_is(gap: float, told: str) -> None:
    said = worth_lines(plan(gap=gap))[2]
    assert said.startswith(f"At best another plan could bring {told} more: about ")


def test_what_rests_on_evenings_judged_too_full_is_said_to() -> None:
    data = plan_data()
    data["warnings"] = [{"code": "unproven-cut", "message": "Some evenings were judged."}]
    assert worth_lines(make_plan(data=data))[-1] == UNSURE


def test_of_a_plan_without_proof_nothing_is_said() -> None:
    assert worth_lines(make_plan(data=plan_data() | {"proof": None})) == []


def test_parts_that_count_for_nothing_are_left_out_of_the_table() -> None:
    proof = plan().proof
    assert proof is not None
    rows = [(part.part, words) for part, words in part_rows(proof)]
    assert rows == [
        ("portions", "+30.0"),
        ("freshness", "-0.6"),
        ("evenings", "-4.0"),
        ("foods started", "-2.1"),
    ]
    assert all(part in COUNTED for part, _ in rows)
