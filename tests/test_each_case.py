"""Many cases in one test: every one is asked, and the one that fails is named."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest
from each_case import each, named


def test_every_case_is_asked_with_its_fixtures_and_a_folder_of_its_own(tmp_path: Path) -> None:
    asked: list[tuple[int, str, str]] = []

    @each("seed", range(2))
    @each(("word", "length"), [("a", 1), ("bc", 2)])
    def lengths(seed: int, tmp_path: Path, word: str, length: int, given: str) -> None:
        assert len(word) == length and not list(tmp_path.iterdir())
        (tmp_path / "file").touch()
        asked.append((seed, word, given))

    assert list(inspect.signature(lengths).parameters) == ["tmp_path", "given"]
    lengths(tmp_path=tmp_path, given="g")
    assert asked == [(seed, word, "g") for seed in range(2) for word in ("a", "bc")]


def test_the_case_that_fails_is_named() -> None:
    @each("seed", range(9))
    def small(seed: int) -> None:
        assert seed < 7

    @each("seed", [3], told=lambda seed: f"seed {seed} of many")
    def never(seed: int) -> None:
        raise ValueError(seed)

    with pytest.raises(AssertionError) as failed:
        small()
    assert failed.value.__notes__ == ["in the case of seed: 7"]
    with pytest.raises(ValueError, match="3") as raised:
        never()
    assert raised.value.__notes__ == ["in the case of seed: seed 3 of many"]
    with pytest.raises(KeyError) as missing, named("nought"):
        raise KeyError
    assert missing.value.__notes__ == ["in the case of nought"]


def test_of_no_case_there_is_no_test_and_of_marked_ones_another() -> None:
    with pytest.raises(AssertionError, match="no case"):
        each("seed", [])
    with pytest.raises(AssertionError, match="of their own"):
        each("seed", [1, pytest.param(2, marks=pytest.mark.slow)])
