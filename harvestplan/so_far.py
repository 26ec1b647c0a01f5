"""What a command has written so far, so that whatever ends it can say truly how things stand.

Whoever writes what stays notes it here, once it is there: the disk's writers, and publishing.
"""

from __future__ import annotations

from pathlib import Path

_lines: list[str] = []
_files: list[Path] = []
_folders: list[Path] = []
_sent: list[str] = []


def begin() -> None:
    """Nothing is written yet."""
    for kept in (_lines, _files, _folders, _sent):
        kept.clear()


def note_lines(text: str) -> None:
    """Lines stand in the diary."""
    _lines.extend(line for line in text.split("\n") if line)


def note_file(path: Path) -> None:
    """A file is new, or new in place of an old one."""
    if path not in _files:
        _files.append(path)


def note_folder(folder: Path) -> None:
    """All that belongs in a folder is new; its files need not be named one by one."""
    _files[:] = [path for path in _files if not path.is_relative_to(folder)]
    if folder not in _folders:
        _folders.append(folder)


def note_sent() -> None:
    """The calendar on a server has changed."""
    _sent[:] = ["What the server took of the calendar stands there; publish again for the rest."]


def told() -> str:
    """How things stand, a sentence a line; "" where nothing was written."""
    said = [f"It is written in the diary: {line}" for line in _lines]
    said += [f"The new plan with all its files is in {folder}." for folder in _folders]
    for folder in dict.fromkeys(path.parent for path in _files):
        names = [path.name for path in _files if path.parent == folder]
        said.append(f"New in {folder}: {', '.join(names)}; all else there is as it was.")
    return "\n".join([*said, *_sent])
