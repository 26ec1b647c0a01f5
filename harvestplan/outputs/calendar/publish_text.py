"""What people are told about bringing the calendar to their devices."""

from __future__ import annotations

import json
from pathlib import Path

from harvestplan.outputs.calendar.publish import EntryMoved, Published
from harvestplan.outputs.calendar.pulled import Taken

# How often subscriptions are asked for comes from users and authors of calendar files, in public
# threads and read-me files (8 to 24 hours: moadim-io/daemon 362 and PixelsCamp docs 4; 3 hours:
# SuiteCRM 8943), not from the makers, who promise nothing. What imports do was read in the
# programs' own code where it is open, else in such reports; nothing was tried on a device.
FOLDER_ADVICE = """
How to keep calendars up to date, the surest way first:

1. A calendar server (CalDAV): harvestplan publish https://your.server/you/preserving/
   New, moved and cancelled sessions reach every device by themselves. Phones with Android need
   a sync program for CalDAV; desktop Outlook reads no CalDAV.
2. A subscription: let any web host or synced folder with a web address serve sessions.ics (as
   text/calendar; charset=utf-8), and subscribe to that address. Changes come when the reader next
   asks: Google every 8 to 24 hours, Outlook about every 3 hours, others by their own setting.
   Sessions that are gone vanish. Reminders: Google and Outlook ignore them in subscriptions; Apple
   removes them unless you untick "Remove Alerts".
3. An import is a copy of today and seldom more. Make a calendar for it alone, and empty that
   before you import again. What a second import does without that:
   - Google, on the web: replaces what it knows, cancelled ones go (not in the primary calendar).
   - Thunderbird: skips what it knows, so nothing moves.
   - GNOME Calendar: one known entry, and it refuses the whole file. Evolution replaces.
   - Outlook: everything twice.
   - Nextcloud, on the web: refuses what it knows, so nothing moves.
   - Android: some programs replace what is newer, some take only the first entry of the file,
     some add everything again.
   - Apple: not known for certain; use 1 or 2.

tasks.ics is the shopping list as tasks. Google and Outlook do not take tasks from files; for them
there is shopping.csv."""

TAKEN_ADVICE = """The next plan will heed this: run harvestplan plan, then publish. harvestplan undo
takes the last line back."""
LOST = """If they
are this season's, of before its folder out was lost, delete them in your calendar program."""
LEFT_ADVICE = """What has no line here is in the diary already, or is no session: picks and orders
follow the plan, and publishing puts them back."""


def published_text(done: Published, url: str, dry_run: bool) -> str:
    """What was put on the server, or would be."""
    lines = [f"Would be: {done.counts()}." if dry_run else f"{url}: {done.counts()}."]
    if done.moves:
        verb = "would be put" if dry_run else "were put"
        lines += [f"These {verb} back to where the plan has them:", *map(str, done.moves)]
    if done.deleted:
        verb = "Would be deleted" if dry_run else "Deleted"
        lines += [f"{verb} there:", *(f"  {done.titles[uid]}" for uid in done.deleted)]
    if done.others:
        lines.append(f"{len(done.others)} of another season stand there too and are left. {LOST}")
    if done.waiting:
        lines.append(f"{len(done.waiting)} moved or deleted there are left so; now plan again.")
    if done.clashes:
        lines.append(f"{len(done.clashes)} changed there in this moment; publish once more.")
    return "\n".join(lines)


def published_json(done: Published) -> str:
    """UIDs by what was done, for other programs."""
    moves = [_move_data(move) for move in done.moves]
    told = {name: value for name, value in vars(done).items() if name != "titles"}
    return json.dumps(told | {"moves": moves}, indent=1)


def taken_json(taken: list[Taken]) -> str:
    """What the household changed on the server and the diary's lines, for other programs."""
    return json.dumps([_move_data(each.move) | {"line": each.line} for each in taken], indent=1)


def _move_data(move: EntryMoved) -> dict[str, str | bool | None]:
    start = None if move.start is None else move.start.isoformat()
    return {"uid": move.uid, "start": start, "deleted": move.deleted}


def taken_text(taken: list[Taken], dry_run: bool) -> str:
    """What the household changed on the server, and what was written in the diary of it."""
    if not taken:
        return "Everything stands there as it was put."
    lines = []
    for each in taken:
        back = each.line is not None and " undo " in f" {each.line}"
        lines.append(
            f"{each.move.summary} is back where the plan has it." if back else str(each.move)
        )
        if each.line is not None:
            lines.append(f"  {'would write' if dry_run else 'wrote'}: {each.line}")
    written = any(each.line is not None for each in taken)
    left = any(each.line is None for each in taken)
    lines += [TAKEN_ADVICE] if written else []
    lines += [LEFT_ADVICE] if left else []
    return "\n".join(lines)


def folder_text(written: list[Path]) -> str:
    """What was written, and how calendars take it."""
    return "\n".join([*(f"wrote {path}" for path in written), FOLDER_ADVICE])
