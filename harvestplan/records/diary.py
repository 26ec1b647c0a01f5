"""The diary of a season: `diary.txt` in the season folder, one event a line.

Lines are only ever added, synced to disk before they are acknowledged; `undo` adds a line that
takes one back. People may edit the file in any editor.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import re
import secrets
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from harvestplan import disk
from harvestplan.bounded import TooLarge, read_bounded
from harvestplan.errors import FilesNeedMending, Flaw, printable
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.records.diary_lines import Page, read_page, with_code
from harvestplan.records.events import Event, InGarden
from harvestplan.records.names import Names, names_in
from harvestplan.records.phrases import read_event
from harvestplan.records.taken_back import aimless, live_events

DIARY, LOCK = "diary.txt", ".diary.lock"
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""What codes are made of: letters and figures that are not mistaken for each other."""

LARGEST = 4_000_000
"""Bytes of a diary: a hundred lines a day, all year."""
_COPY = re.compile(
    r"diary(?![a-z]).*conflict.*|diary(?: copy| - copy)(?: ?\(?\d+\)?)?\.txt"
    r"|diary ?\(\d+\)\.txt|diary \d{1,2}\.txt",
    re.IGNORECASE,
)
"""What sync programs and people call a copy: "diary (1).txt", "diary 2.txt", "diary - Copy.txt",
"diary.sync-conflict-….txt", "diary_conflict-….txt", "diary (conflicted copy ….).txt"."""
_MAYBE = re.compile(r"diary[^a-z].*\.txt", re.IGNORECASE)
"""What may be a copy, named after another device ("diary-LAPTOP.txt"), or last year's diary."""


@dataclass(frozen=True)
class Diary:
    """What happened: `events` in the order of the lines, without what was taken back and without
    the undo lines; `warnings` in plain sentences."""

    events: tuple[Event, ...] = ()
    warnings: tuple[str, ...] = ()


NOTHING_WRITTEN = Diary()


@dataclass(frozen=True)
class Recorded:
    """An event that is on disk, its line as written, and what to tell beside it."""

    event: Event
    line: str
    warnings: tuple[str, ...]


def read_diary(folder: Path, names: Names | None = None) -> Diary:
    """The diary in `folder`, together with what only its conflict copies have.

    A file-sync program leaves a copy (``diary (1).txt``, ``diary.sync-conflict-….txt``) where two
    devices wrote at once; events are told apart by their codes. `names` are the folder's own
    unless given. Raises FilesNeedMending with every line that cannot be read, and where the diary
    or a copy is a link.
    """
    return read_whole(folder, names)[0]


def read_whole(folder: Path, names: Names | None = None) -> tuple[Diary, tuple[Event, ...]]:
    """The diary, and every event of its lines: undo lines and what they take back too, without what
    only conflict copies have. Raises like `read_diary`."""
    _ask_after_it(folder, begun=os.path.lexists(folder / LOCK))
    if not _files(folder):
        return Diary(), ()
    pages = _pages(folder, names or names_in(folder))
    flaws = [flaw for page in pages for flaw in page.flaws]
    if flaws:
        raise FilesNeedMending(flaws)
    extra, warnings = _only_in_copies(pages)
    events = [*pages[0].events, *(event for event, _ in extra)]
    lost = [f"{DIARY}: undo #{u.target} names no line." for u in aimless(events)]
    notes = [*_unread(folder), *(note for page in pages for note in page.warnings)]
    diary = Diary(tuple(live_events(events)), (*notes, *warnings, *lost))
    return diary, tuple(pages[0].events)


def append_event(
    folder: Path, verb: str, words: str, *, on: dt.date, planting: str | None = None
) -> Recorded:
    """Add an event to the diary; see `append_events`."""
    if planting is not None:
        words += f' planting "{planting}"'
    return append_events(folder, verb, [words], on=on)[0]


def append_events(
    folder: Path,
    verb: str,
    words: Sequence[str],
    *,
    on: dt.date,
    codes: Sequence[str] = (),
    look: Callable[[Sequence[Event]], None] = lambda events: None,
) -> tuple[Recorded, ...]:
    """Add events of one kind to the diary, all or none; they are synced to disk when this returns.

    `verb` and each of `words` are those of a diary line: ("picked", "snap bean 5 lb"). Lines typed
    by hand get their codes, and what only conflict copies have is added, in passing. A flaw
    elsewhere in the diary is no reason to refuse an event; it becomes a warning. Raises
    Unclear for the words, FilesNeedMending where the folder cannot be read or written.

    `codes`, one for each of `words`, are drawn beforehand by who may have to ask twice: what stands
    in the diary under its code already is not written again. `look` is shown all events, undo
    lines too, while nobody else can write, and may raise; then nothing is written.
    """
    names = names_in(folder)
    if not names.at_home:
        raise FilesNeedMending([_no_household(folder)])
    told = [read_event(verb, each, names, head=(on, LETTERS[:4], 1), strict=True) for each in words]
    for event in told:
        _line(event, names)
    begun = os.path.lexists(folder / LOCK)
    with _writing(folder):
        _refuse_without(folder, begun)
        pages = _pages(folder, names)
        if not set(codes) & {event.code for event in pages[0].events}:
            look(pages[0].events)
        done = _append(folder, pages, names, verb=verb, words=words, on=on, codes=codes)
    return tuple(
        replace(each, warnings=(*each.warnings, *_unplanted(event, names)))
        for each, event in zip(done, told, strict=True)
    )


def _no_household(folder: Path) -> Flaw:
    message = "This is no season folder, for it has no [household]: nothing was written."
    hint = "Go to your season's folder, or name it with --in."
    return Flaw(str(folder.resolve()), None, "", message=message, hint=hint)


def _unplanted(event: Event, names: Names) -> Iterator[str]:
    if isinstance(event, InGarden) and event.crop not in names.plantings.values():
        yield f"There is no [[planting]] of {event.crop}, so the forecast does not use this."


def undo(folder: Path, code: str | None, on: dt.date) -> tuple[Recorded, Event]:
    """Take back the event with `code`, or the last one; what was written and the event it takes
    back.

    Raises Unclear where there is no such event, or it is taken back already.
    """
    names = names_in(folder)
    if not _files(folder) and not os.path.lexists(folder / LOCK):
        raise _nothing_to_undo(code, ())
    with _writing(folder):
        _refuse_without(folder, begun=True)
        pages = _mended(folder, _pages(folder, names), names)
        live = live_events(pages[0].events)
        if code is None:
            found = live[-1] if live else None
        else:
            found = next((e for e in live if e.code == code.strip().lstrip("#").lower()), None)
        if found is None:
            raise _nothing_to_undo(code, pages[0].events)
        done = _append(folder, pages, names, verb="undo", words=[f"#{found.code}"], on=on)[0]
    return done, found


def _nothing_to_undo(code: str | None, events: Iterable[Event]) -> Unclear:
    if code is None:
        return Unclear("There is nothing in the diary to take back.")
    if any(event.code == code.strip().lstrip("#").lower() for event in events):
        return Unclear(f"{code} is taken back already, or is an undo itself.")
    return Unclear(
        f'No line of the diary has the code "{code}".',
        f"The codes stand at the line ends of {DIARY}.",
    )


def _ask_after_it(folder: Path, begun: bool) -> None:
    """As `_refuse_without`, for who reads and has no lock: who writes the very first line has its
    lock before the file, and is waited for."""
    if begun and not _files(folder):
        with contextlib.suppress(OSError, disk.BusyError), disk.locked(folder / LOCK):
            pass
    _refuse_without(folder, begun)


def _refuse_without(folder: Path, begun: bool) -> None:
    """Raises FilesNeedMending where a diary was `begun`, as its lock tells, and is not there any
    more: without it all that was put by is unknown."""
    if begun and not _files(folder):
        message = (
            "There was a diary here, and it is not here any more; nothing was done without it."
        )
        hint = f"Bring it back, or if there is to be none put an empty file {DIARY} here."
        raise FilesNeedMending([Flaw(DIARY, None, "", message=message, hint=hint)])


def _unread(folder: Path) -> list[str]:
    """A warning for each file that is called nearly like the diary and was not read."""
    files = _files(folder)
    alike = (p for p in sorted(folder.iterdir()) if _MAYBE.fullmatch(p.name) and p.name != DIARY)
    return [
        f"{printable(path.name)} was not read: it has no line of {DIARY} in it. If it is a copy of "
        "this diary, call it diary (1).txt."
        for path in alike
        if path not in files
    ]


def _files(folder: Path) -> list[Path]:
    """The diary where there is one, then its conflict copies; no links, wherever they lead."""
    # Not looked for among the names: systems without regard to capitals may call it Diary.txt.
    own = [folder / DIARY] if os.path.lexists(folder / DIARY) else []
    there = sorted(folder.iterdir()) if folder.is_dir() else []
    copies = [
        path
        for path in there
        if path.name != DIARY
        and (path.is_file() or path.is_symlink())
        and (_COPY.fullmatch(path.name) or _shares_a_line(path, own))
    ]
    for path in (*own, *copies):
        disk.refuse_link(path)
    return [*own, *copies]


def _shares_a_line(path: Path, own: Sequence[Path]) -> bool:
    """Whether a file that may be a copy by its name has a line of the diary in it."""
    if not own or not _MAYBE.fullmatch(path.name):
        return False
    try:
        theirs, ours = (set(read_bounded(each, LARGEST).split(b"\n")) for each in (path, own[0]))
    except OSError:
        return False
    return any(line.strip() for line in theirs & ours)


def _pages(folder: Path, names: Names) -> list[Page]:
    """The diary's page, empty if there is none, then one for each conflict copy."""
    pages = [Page(DIARY, [])]
    try:
        for path in _files(folder):
            page = read_page(read_bounded(path, LARGEST), printable(path.name), names)
            pages = [page, *pages[1:]] if path.name == DIARY else [*pages, page]
    except TooLarge:
        message = f"The diary, or a copy of it, is over {LARGEST // 1_000_000} MB."
        hint = "Take out what is no line of a diary."
        raise FilesNeedMending([Flaw(DIARY, None, "", message=message, hint=hint)]) from None
    except OSError:
        flaw = Flaw(DIARY, None, "", message="The diary, or a copy of it, cannot be opened.")
        raise FilesNeedMending([flaw]) from None
    return pages


def _only_in_copies(pages: list[Page]) -> tuple[list[tuple[Event, str]], list[str]]:
    """Events that only conflict copies have, each with its line, and what to say of it.

    Lines without a code are told apart by what they say, as often as they say it.
    """
    known = {event.code: event for event in pages[0].events if event.code}
    spoken = Counter((event.date, event.text) for event in pages[0].events)
    extra: list[tuple[Event, str]] = []
    warnings: list[str] = []
    for page in pages[1:]:
        unspoken = spoken.copy()
        before = len(extra)
        for event in page.events:
            key = (event.date, event.text)
            if event.code in known:
                unspoken[key] -= 1
                warnings += _disagreement(known[event.code], event, page.name)
            elif not event.code and unspoken[key] > 0:
                unspoken[key] -= 1
            else:
                extra.append((event, page.lines[event.line - 1]))
                known |= {event.code: event} if event.code else {}
        if len(extra) > before:
            warnings.append(
                f"{page.name} is a copy with {len(extra) - before} events that {DIARY} does not "
                "have; they count, and the next command that writes adds them."
            )
    return extra, warnings


def _disagreement(own: Event, other: Event, name: str) -> Iterator[str]:
    if (own.date, own.text) != (other.date, other.text):
        yield (
            f'#{own.code} is "{own.text}" on {own.date} in {DIARY} and "{other.text}" on '
            f"{other.date} in {name}; the first counts."
        )


def _mended(folder: Path, pages: list[Page], names: Names) -> list[Page]:
    """The pages after every event has its code and stands in the diary.

    A last line that was cut off becomes a remark, and the conflict copies' own events are added.
    """
    own = pages[0]
    extra, _ = _only_in_copies(pages)
    bare = {event.line for event in own.events if not event.code}
    taken = {event.code for page in pages for event in page.events if event.code}
    lines = [
        with_code(line, _new_code(taken)) if number in bare else line
        for number, line in enumerate(own.lines, start=1)
    ]
    if own.torn:
        lines[-1] = f"; cut off: {lines[-1]}\n"
    if extra and lines:
        lines[-1] = lines[-1].rstrip("\r\n") + "\n"
    for event, line in extra:
        line = line.rstrip("\r\n") + "\n"
        lines.append(line if event.code else with_code(line, _new_code(taken)))
    if lines == own.lines:
        return pages
    if (folder / DIARY).exists():
        text = "".join(lines).encode("utf-8", "surrogateescape")
        disk.write_atomic(folder / DIARY, text, was=own.raw)
    else:
        disk.append(folder / DIARY, "".join(lines))
    return _pages(folder, names)


def _append(
    folder: Path,
    pages: list[Page],
    names: Names,
    *,
    verb: str,
    words: Sequence[str],
    on: dt.date,
    codes: Sequence[str] = (),
) -> tuple[Recorded, ...]:
    """Adds a line for each of `words`, in one write; what there is to tell goes with the first.

    What stands there already under its code of `codes` is given as it stands.
    """
    warnings = [str(flaw) for page in pages for flaw in page.flaws]
    warnings += [note for page in pages for note in page.warnings]
    pages = _mended(folder, pages, names)
    own = pages[0]
    taken = {event.code for page in pages for event in page.events}
    known = {event.code: event for event in own.events}
    done: list[Recorded] = []
    fresh: list[str] = []
    for number, each in enumerate(words):
        code = codes[number] if codes else _new_code(taken)
        event = known.get(code)
        if event is None:
            place = len(own.lines) + 1 + number
            event = read_event(verb, each, names, head=(on, code, place), strict=True)
            fresh.append(_line(event, names))
        line = _line(event, names)
        done.append(Recorded(event, line, tuple(warnings) if not done else ()))
    if fresh:
        ended = not own.lines or own.lines[-1].endswith(("\n", "\r"))
        text = "".join(f"{line}\n" for line in fresh)
        disk.append(folder / DIARY, text if ended else f"\n{text}")
    return tuple(done)


def _line(event: Event, names: Names) -> str:
    """The event's line; raises Unclear where it would not read back the same."""
    line = f"{event.date.isoformat()} {event.text} #{event.code}"
    page = read_page(line.encode("utf-8"), DIARY, names)
    if [replace(each, line=event.line) for each in page.events] == [event]:
        return line
    told = f'"{event.text}" would not read back the same from {DIARY}; nothing was written.'
    raise Unclear(told, "Leave out quotes, semicolons and # in it.")


def _new_code(taken: set[str]) -> str:
    """A code nobody has; chance keeps two devices that write at once from choosing the same."""
    while (code := "".join(secrets.choice(LETTERS) for _ in range(4))) in taken:
        pass
    taken.add(code)
    return code


@contextlib.contextmanager
def _writing(folder: Path) -> Iterator[None]:
    """Alone with the diary; a folder that cannot be written is told of in plain words."""
    try:
        if not os.path.lexists(folder / LOCK):
            # Before its lock: a lock alone, where one is killed between the two, would tell that
            # there was a diary and is none any more.
            disk.make_empty(folder / DIARY)
        with disk.locked(folder / LOCK):
            yield
    except disk.Torn as error:
        message = f"The diary cannot be written ({error.strerror}), nor what was begun taken out."
        hint = "Where this stands at its end, take it out in an editor."
        raise FilesNeedMending([Flaw(DIARY, None, error.left, message, hint)]) from None
    except OSError as error:
        message = f"The diary cannot be written ({error.strerror}); nothing of this was written."
        hint = "See whether the disk is full and the folder may be written."
        raise FilesNeedMending([Flaw(DIARY, None, "", message=message, hint=hint)]) from None
