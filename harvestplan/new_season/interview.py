"""Asks one question after another at a terminal, keeps each answer, and goes back where asked.

What is asked next follows from the answers alone: an interview goes on by giving the kept answers
again, without asking, and goes back by forgetting the last one.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import typer

from harvestplan.disk import write_atomic
from harvestplan.errors import printable
from harvestplan.inputs.spoken.unclear import Unclear

T = TypeVar("T")

KEPT = ".answers.json"
"""The answers so far, in the season folder, until its files are written."""
_LARGEST, _MOST = 200_000, 2000
BACK = ("back", "<")
HELP = ("?", "help", "list")


class Back(Exception):
    """The last question shall be asked again."""


class Interview:
    """Questions to a person, with the answers kept in `folder`."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / KEPT
        self._kept = _read(self._path)
        self._given = 0
        self.resumed = len(self._kept)

    def run(self, ask_all: Callable[[Interview], T]) -> T:
        """All the answers; after a "back" from the first again, those kept given silently."""
        while True:
            self._given = 0
            try:
                return ask_all(self)
            except Back:
                self._kept = self._kept[:-1]
                self._keep()

    @property
    def asking(self) -> bool:
        """Whether the next answer is a new one, to be said something of."""
        return self._given >= len(self._kept)

    def ask(
        self, question: str, default: str, reader: Callable[[str], tuple[T, str]], more: str = ""
    ) -> T:
        """Asks until the answer can be read, and says what was understood; "?" tells `more`."""
        if (kept := self._again(question)) is not None:
            try:
                value, _ = reader(kept)
            except Unclear:  # another day, or another version: it is asked anew
                self._kept = self._kept[: self._given]
            else:
                self._given += 1
                return value
        while True:
            said = self._prompt(question, default, more)
            try:
                value, understood = reader(said)
            except Unclear as error:
                print(f"  {error}")
                continue
            self._note(question, said)
            if understood:
                print(f"  {understood}")
            return value

    def lines(
        self, question: str, reader: Callable[[str], T], more: str, *, empty: str = ""
    ) -> list[T]:
        """Asks for one thing after another until the answer is empty; `empty` is said once where
        it is empty at first."""
        found: list[T] = []
        if self.asking:
            print(question)
        warned = False
        while True:
            label = f"  {len(found) + 1}"
            key = f"{question.partition('?')[0]} {label.strip()}"
            said = self._again(key)
            given = said is not None
            if said is None:
                said = self._prompt(label, "", more)
            if not said and not found and empty and not warned and not given:
                print(f"  {empty}")
                warned = True
                continue
            place = self._given
            if given:
                self._given += 1
            else:
                self._note(key, said)
            if not said:
                return found
            try:
                found.append(reader(said))
            except Unclear as error:
                print(f"     {error}")
                self._kept, self._given = self._kept[:place], place
                self._keep()

    def say(self, text: str) -> None:
        """Says something beside a question that is asked now; nothing where answers are given
        again."""
        if self.asking:
            print(text)

    def done(self) -> None:
        """Forget the answers: the files are written."""
        self._path.unlink(missing_ok=True)

    def _prompt(self, question: str, default: str, more: str) -> str:
        while True:
            said = typer.prompt(question, default=default, show_default=bool(default))
            said = printable(str(said)).strip()
            if said.lower() in BACK:
                if self._kept:
                    raise Back
                print("  This is the first question.")
            elif said.lower() in HELP:
                print(more or "  Press Enter for what stands in brackets, or write your own.")
                print('  "back" goes to the question before.')
            else:
                return said

    def _again(self, question: str) -> str | None:
        """The kept answer to this question, where it comes next."""
        if self._given >= len(self._kept):
            return None
        asked, said = self._kept[self._given]
        if asked != question:
            self._kept = self._kept[: self._given]
            return None
        return said

    def _note(self, question: str, said: str) -> None:
        self._kept = [*self._kept[: self._given], (question, said)]
        self._given += 1
        self._keep()

    def _keep(self) -> None:
        self._path.parent.mkdir(parents=True, exist_ok=True)
        text = json.dumps(self._kept, ensure_ascii=False, indent=1)
        write_atomic(self._path, text.encode("utf-8", "replace"))


def _read(path: Path) -> list[tuple[str, str]]:
    """The answers kept; none where there is no such file, or it is spoilt."""
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST:
            return []
        found = json.loads(path.read_text(encoding="utf-8"))
        return [(str(question), str(said)) for question, said in found][:_MOST]
    except (OSError, ValueError, TypeError, RecursionError):
        return []
