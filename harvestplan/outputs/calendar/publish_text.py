"""What people are told about bringing the calendar to their devices."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from harvestplan.errors import printable
from harvestplan.outputs.calendar.edits import Altered
from harvestplan.outputs.calendar.publish import Done
from harvestplan.outputs.calendar.pulled import Taken
from harvestplan.outputs.calendar.todos import TodosDone
from harvestplan.plan.models import Plan

# How often subscriptions are asked for comes from users and authors of calendar files, in public
# threads and read-me files (8 to 24 hours: moadim-io/daemon 362 and PixelsCamp docs 4; 3 hours:
# SuiteCRM 8943), not from the makers, who promise nothing. What imports do was read in the
# programs' own code where it is open, else in such reports; nothing was tried on a device.
FOLDER_ADVICE = """
How to keep calendars up to date, the surest way first:

1. A calendar server (CalDAV): harvestplan publish https://your.server/
   New, moved and dropped sessions reach every device by themselves, and what you change on one
   comes back with --pull. Phones with Android need a sync program for CalDAV; desktop Outlook
   reads no CalDAV.
2. A subscription: let any web host or synced folder with a web address serve the files (as
   text/calendar; charset=utf-8), and subscribe to the address of each that you want to see; with
   webcal:// instead of https:// most phones offer to subscribe by themselves. A service that
   fetches for you from outside never reaches an address inside your home. Changes come when the
   reader next asks: Google every 8 to 24 hours, Outlook about every 3 hours, others by their own
   setting. Sessions that are gone vanish. Reminders: Google and Outlook ignore them in
   subscriptions; Apple removes them unless you untick "Remove Alerts".
3. An import is a copy of today and seldom more. Make a calendar for it alone, not one that you
   publish to, and empty that before you import again. What a second import does without that:
   - Google, on the web: replaces what it knows, cancelled ones go (not in the primary calendar).
   - Thunderbird: skips what it knows, so nothing moves.
   - GNOME Calendar: one known entry, and it refuses the whole file. Evolution replaces.
   - Outlook: everything twice.
   - Nextcloud, on the web: refuses what it knows, so nothing moves.
   - Android: some programs replace what is newer, some take only the first entry of the file,
     some add everything again.
   - Apple: not known for certain; use 1 or 2.

sessions.ics is when to be in the kitchen, shopping.ics what to have bought by when, garden.ics
what to pick and to give away (with --only garden). tasks.ics is the shopping list as tasks. Google
and Outlook do not take tasks from files; for them there is shopping.csv."""

TAKEN_ADVICE = """The next plan will heed this: run harvestplan plan, then publish. harvestplan undo
takes the last line back."""
LOST = """If they
are this season's, of before its folder out was lost, delete them in your calendar program."""
LEFT_ADVICE = """What has no line here is in the diary already, is no session, or is nothing that
the diary has a word for: a session begins at a time and lasts as long as its work."""
UNREAD_ADVICE = """  Take them into the diary with --pull, or put all back with --put-back."""
LIKELY = "The diary does not ask for it, or not any more."


def published_text(done: Done, url: str, dry_run: bool, plan: Plan | None = None) -> str:
    """What was put on the server, or would be; `plan` tells why something was put back."""
    lines = [f"Would be: {done.counts()}." if dry_run else f"{url}: {done.counts()}."]
    if done.rebuilt:
        lines.append(
            "The record of what was put there was lost, and is made anew from what stands there: "
            "moves that entries do not tell themselves cannot be seen."
        )
    if done.in_doubt:
        lines.append("These stand elsewhere than the plan has them, and nobody can tell who moved "
                     "them. They are left; move them back, or say --put-back:")  # fmt: skip
        lines += [f"  {each}" for each in done.in_doubt]
    if done.unread:
        lines.append("You changed these there, and the plan does not know it yet. They are left:")
        lines += [*(f"  {change}" for change in done.unread), UNREAD_ADVICE]
    if done.put_back:
        verb = "would be put" if dry_run else "were put"
        lines.append(f"These {verb} back to where the plan has them:")
        lines += [f"  {change}. {_why(change, plan)}" for change in done.put_back]
    if done.overwritten:
        verb = "Would give way" if dry_run else "Gave way"
        lines.append(f"{verb} to what the plan has new:")
        lines += [f"  {each}" for each in done.overwritten.values()]
    if done.deleted:
        verb = "Would be deleted" if dry_run else "Deleted"
        lines += [f"{verb} there:", *(f"  {done.titles[uid]}" for uid in done.deleted)]
    if done.others:
        lines.append(f"{len(done.others)} of another season stand there too and are left. {LOST}")
    if done.strays:
        lines.append("These bear this season's mark, but are not in its record, and are left:")
        lines += [f"  {title}" for title in done.strays[:10]]
    if done.waiting:
        lines.append(f"{len(done.waiting)} moved or deleted there are left so; now plan again.")
    if done.clashes:
        lines.append(f"{len(done.clashes)} changed there in this moment; publish once more.")
    return "\n".join(lines)


def _why(change: Altered, plan: Plan | None) -> str:
    """Why a session is not where the household put it, as the plan says."""
    if change.what == "all day":
        return "A session begins at a time of day."
    wishes = [w for w in plan.wishes if w.session == change.uid] if plan else []
    if wishes and wishes[-1].why and not wishes[-1].given_up:
        return wishes[-1].why
    return LIKELY


def todos_text(done: TodosDone, dry_run: bool) -> str:
    """What became of the shopping list as to-dos."""
    counts = f"{len(done.created)} new, {len(done.updated)} changed, {len(done.deleted)} deleted"
    would = "would be " if dry_run else ""
    lines = [f"To-dos: {would}{counts}, {len(done.unchanged)} as they were."]
    if done.ticked:
        lines.append(f"Ticked off there, and not asked for again: {'; '.join(done.ticked)}.")
        lines.append("  Take it into the diary with --pull.")
    lines += [f"Deleted there: {title}" for title in done.deleted]
    if done.clashes:
        lines.append(f"{len(done.clashes)} changed there in this moment; publish once more.")
    return "\n".join(lines)


def ticked_text(ticked: Mapping[str, str], dry_run: bool) -> str:
    """What was ticked off, and what was written in the diary of it."""
    lines = []
    for title, line in ticked.items():
        verb = "would write" if dry_run else "wrote"
        lines += [f"Ticked off: {title}", *([f"  {verb}: {line}"] if line else [])]
    return "\n".join(lines)


def published_json(done: Sequence[Done], todos: Sequence[TodosDone] = ()) -> str:
    """UIDs by what was done, and to-dos by title, for other programs; of several calendars
    together."""
    told: dict[str, object] = {}
    for name in ("created", "updated", "deleted", "unchanged", "clashes", "waiting", "others"):
        told[name] = [uid for each in done for uid in getattr(each, name)]
    for name in ("unread", "put_back"):
        changes = [change for each in done for change in getattr(each, name)]
        told[name] = [_change_data(change) for change in changes]
    told["overwritten"] = [uid for each in done for uid in each.overwritten]
    names = ("created", "updated", "deleted", "unchanged", "ticked", "clashes")
    told["todos"] = {name: [t for each in todos for t in getattr(each, name)] for name in names}
    return json.dumps(told, indent=1)


def taken_json(taken: Sequence[Taken], ticked: Mapping[str, str] = MappingProxyType({})) -> str:
    """What the household changed and ticked on the server and the diary's lines, for other
    programs."""
    changes = [_change_data(each.move) | {"line": each.line} for each in taken]
    ticks = [
        {"what": "ticked", "title": title, "line": line or None} for title, line in ticked.items()
    ]
    return json.dumps([*changes, *ticks], indent=1)


def _change_data(change: Altered) -> dict[str, str | bool | None]:
    start = None if change.start is None else change.start.isoformat()
    return {"uid": change.uid, "what": change.what, "start": start, "deleted": change.gone}


def taken_text(taken: Sequence[Taken], dry_run: bool) -> str:
    """What the household changed on the server, and what was written in the diary of it."""
    if not taken:
        return "Everything stands there as it was put."
    lines = []
    for each in taken:
        moved = printable(each.move.summary)
        lines.append(f"{moved} is back where the plan has it." if each.back else str(each.move))
        lines += [f"  {each.note}"] if each.note else []
        if each.line is not None:
            lines.append(f"  {'would write' if dry_run else 'wrote'}: {each.line}")
    written = any(each.line is not None for each in taken)
    left = any(each.line is None for each in taken)
    lines += [TAKEN_ADVICE] if written else []
    lines += [LEFT_ADVICE] if left else []
    return "\n".join(lines)


def folder_text(written: Sequence[Path]) -> str:
    """What was written, and how calendars take it."""
    return "\n".join([*(f"wrote {path}" for path in written), FOLDER_ADVICE])
