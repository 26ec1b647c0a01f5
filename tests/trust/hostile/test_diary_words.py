"""Names and notes of every kind of letter: what the diary acknowledges reads back the same."""

from __future__ import annotations

import datetime as dt
import random
import unicodedata
from pathlib import Path

from each_case import each
from trust.small_folder import write_small

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.records.diary import append_event, read_diary

ON = dt.date(2027, 6, 1)
VERBS = ("picked", "ate", "gave", "lost", "froze", "setting", "flowering", "count", "bought",
         "none", "failed")  # fmt: skip
TRICKS = (";", "#", '"', "'", " #abcd", "\\", "planting", " 2 lb", "undo", "; x", '"" ', "  ", "½",
          "\t", "\n", "\u2028", "\x85", "\u202e", "\u200b", "é", "e\u0301", "豆", "🫘", "#z9z9 ",
          "2027-06-02 lost all", "of 2 lb", ",", " and ", "%s", "{0}", "\ufeff",
          "\x1b[2J")  # fmt: skip
LETTERS = [chr(n) for n in range(32, 0x3000) if unicodedata.category(chr(n)) not in ("Cn", "Cs")]


def words_of(draw: random.Random) -> tuple[str, str]:
    """A verb and words for it, sound ones with something odd put in somewhere."""
    verb = draw.choice(VERBS)
    sound = {
        "picked": "snap bean 2 lb", "bought": "dry bean 3 lb", "flowering": "snap bean",
        "none": "yet snap bean", "failed": "snap bean",
        "setting": '"dry bean, sealed" pump-down 22 s', "froze": '"dry bean, sealed" 2 of 1 lb',
    }.get(verb, '"dry bean, sealed" 2')  # fmt: skip
    for _ in range(draw.randint(0, 2)):
        at = draw.choice((0, len(sound), draw.randint(0, len(sound))))
        odd = draw.choice(TRICKS) if draw.random() < 0.6 else "".join(draw.sample(LETTERS, 3))
        sound = sound[:at] + odd + sound[at:]
    return verb, sound


@each("block", range(4))
def test_what_is_written_reads_back(tmp_path: Path, block: int) -> None:
    """A hundred and fifty draws in each diary; a line that is refused leaves nothing."""
    folder, draw = write_small(tmp_path / "season"), random.Random(block)
    kept: list[str] = []
    for _ in range(150):
        verb, words = words_of(draw)
        before = (folder / "diary.txt").read_bytes() if kept else b""
        try:
            done = append_event(folder, verb, words, on=ON)
        except (Unclear, FilesNeedMending):
            now = (folder / "diary.txt").read_bytes() if kept else b""
            assert now == before, (verb, words)
            continue
        kept.append(done.event.code)
        back = read_diary(folder).events
        assert [event.code for event in back] == kept, (verb, words)
        told = back[-1]
        assert (told.date, told.text) == (ON, done.event.text), (verb, words)
        assert type(told) is type(done.event), (verb, words)
    assert len(kept) > 5
