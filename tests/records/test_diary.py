"""The diary on disk: lines, codes, undo, copies, crashes."""

import datetime as dt
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from counted import counted
from places import ROOT
from records.diary_folder import make_folder

from harvestplan import disk
from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.records.diary import append_event, read_diary, undo
from harvestplan.records.events import Picked
from harvestplan.records.names import names_in

DAY = dt.date(2027, 7, 14)


def texts(folder: Path) -> list[str]:
    return [event.text for event in read_diary(folder).events]


def test_no_diary_is_an_empty_one(tmp_path: Path) -> None:
    assert read_diary(make_folder(tmp_path / "s")).events == ()


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    done = append_event(folder, "picked", "green beans 5 lb", on=DAY, planting="beans-1")
    assert done.line == f"2027-07-14 picked snap bean 5 lb planting beans-1 #{done.event.code}"
    assert (folder / "diary.txt").read_text() == done.line + "\n"
    (event,) = read_diary(folder).events
    assert event == done.event
    assert isinstance(event, Picked) and event.planting == "beans-1"


def test_the_published_example_lines(tmp_path: Path) -> None:
    folder = make_folder(
        tmp_path / "s",
        """\
; Our year in the garden
2027-07-14 picked snap bean 2.3 kg #a1f3

2027-07-14 flowering "winter squash" #a1f4   ; only the two by the wall
2027-07-15 froze "snap bean, cut" 6 pouches of 12 oz, 1 failed seal #a1f5
2027-11-02 ate "snap bean, cut" 1 #b001
2027-09-03 setting "apple butter" pump-down 22 s foamed #b002
""",
    )
    diary = read_diary(folder)
    assert [event.code for event in diary.events] == ["a1f3", "a1f4", "a1f5", "b001", "b002"]
    assert [event.line for event in diary.events] == [2, 4, 5, 6, 7]
    assert diary.warnings == ()


def test_every_slip_is_named_with_its_line(tmp_path: Path) -> None:
    folder = make_folder(
        tmp_path / "s",
        "2027-07-14 piked snap bean 2.3 kg #a1f3\n2027-07-14 picked snap bean 1 kg #a1f4\n"
        "14/7 picked snap bean 1 kg\n2027-07-15 picked snap baen 1 kg\n2027-07-16\n",
    )
    with pytest.raises(FilesNeedMending) as refused:
        read_diary(folder)
    assert [flaw.line for flaw in refused.value.flaws] == [1, 3, 4, 5]
    told = str(refused.value)
    assert 'diary.txt, line 1: I do not know "piked"' in told and 'Did you mean "picked"?' in told
    assert "no date" in told and '"snap bean"' in told


def test_an_event_is_kept_though_another_line_needs_mending(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s", "2027-07-14 piked snap bean 2.3 kg #a1f3\n")
    done = append_event(folder, "picked", "tomato 2 lb", on=DAY)
    assert "line 1" in done.warnings[0]
    assert (folder / "diary.txt").read_text().splitlines()[1] == done.line


def test_lines_typed_by_hand_get_a_code_and_keep_the_rest(tmp_path: Path) -> None:
    written = (
        "; by hand\r\n2027-07-14 picked  beans-1 2 lb ; hot day\r\n2027-07-15 picked tomato 1 lb"
    )
    folder = make_folder(tmp_path / "s", written)
    assert texts(folder) == ["picked snap bean 2 lb planting beans-1", "picked tomato 1 lb"]
    append_event(folder, "picked", "tomato 2 lb", on=DAY)
    lines = (folder / "diary.txt").read_bytes().decode().splitlines()
    assert lines[0] == "; by hand"
    codes = [event.code for event in read_diary(folder).events]
    assert len({*codes}) == 3 and all(len(code) == 4 for code in codes)
    assert lines[1] == f"2027-07-14 picked  beans-1 2 lb #{codes[0]} ; hot day"
    assert lines[2] == f"2027-07-15 picked tomato 1 lb #{codes[1]}"


def test_bytes_of_another_encoding_are_left_as_they_are(tmp_path: Path) -> None:
    remark = "; le potager d'été\n".encode("latin-1")
    folder = make_folder(tmp_path / "s", remark + b"2027-07-14 picked tomato 1 lb\n")
    append_event(folder, "picked", "tomato 2 lb", on=DAY)
    assert (folder / "diary.txt").read_bytes().startswith(remark)
    assert len(read_diary(folder).events) == 2


@pytest.mark.parametrize(
    "torn", ["2027-07-15 picked sna", "2027-0", '2027-07-15 froze "snap bean, cut']
)
def test_a_last_line_cut_off_is_told_and_does_not_count(torn: str, tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s", "2027-07-14 picked tomato 1 lb #a1f3\n" + torn)
    diary = read_diary(folder)
    assert [event.code for event in diary.events] == ["a1f3"]
    assert "line 2" in diary.warnings[0] and "cut off" in diary.warnings[0]
    append_event(folder, "picked", "tomato 2 lb", on=DAY)
    after = read_diary(folder)
    assert len(after.events) == 2 and after.warnings == ()
    assert torn in (folder / "diary.txt").read_text()


def test_a_last_line_that_may_be_half_is_read_with_a_warning(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s", "2027-07-14 picked tomato 1 l")
    diary = read_diary(folder)
    assert len(diary.events) == 1
    assert "has no end" in diary.warnings[0] and "1 l" in diary.warnings[0]


def test_a_line_cut_inside_a_letter(tmp_path: Path) -> None:
    whole = "2027-07-14 picked tomato 1 lb #a1f3\n2027-07-15 picked tomato ½ lb".encode()
    folder = make_folder(tmp_path / "s", whole[: whole.index("½".encode()) + 1])
    diary = read_diary(folder)
    assert len(diary.events) == 1 and len(diary.warnings) == 1


def test_undo_takes_back_the_last_and_deletes_nothing(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    first = append_event(folder, "picked", "tomato 2 lb", on=DAY)
    second = append_event(folder, "picked", "tomato 20 lb", on=DAY)
    done, taken = undo(folder, None, DAY)
    assert taken == second.event
    assert texts(folder) == ["picked tomato 2 lb"]
    lines = (folder / "diary.txt").read_text().splitlines()
    assert lines == [first.line, second.line, done.line]
    undo(folder, f"#{first.event.code.upper()}", DAY)
    assert texts(folder) == []
    for code in (None, first.event.code, "zzzz"):
        with pytest.raises(Unclear):
            undo(folder, code, DAY)


def test_an_undo_can_be_undone_by_hand(tmp_path: Path) -> None:
    lines = ["2027-07-14 picked tomato 1 lb #a1f3", "2027-07-14 undo #a1f3 #b2c4"]
    folder = make_folder(tmp_path / "s", "\n".join(lines) + "\n")
    assert texts(folder) == []
    (folder / "diary.txt").write_text("\n".join([*lines, "2027-07-15 undo #b2c4"]) + "\n")
    assert texts(folder) == ["picked tomato 1 lb"]
    (folder / "diary.txt").write_text("2027-07-15 undo #b2c4\n")
    assert "names no line" in read_diary(folder).warnings[0]


@pytest.mark.parametrize(
    "name",
    [
        "diary (1).txt",
        "diary (Anna's conflicted copy 2027-07-14).txt",
        "diary.sync-conflict-20270714-101500-ABCDEFG.txt",
        "diary.txt.sync-conflict-1",
    ],
)
def test_conflict_copies_are_joined_by_their_codes(name: str, tmp_path: Path) -> None:
    common = "2027-07-13 picked tomato 1 lb #aaaa\n"
    own, other = "2027-07-14 picked tomato 2 lb #bbbb", "2027-07-14 picked tomato 3 lb #cccc\n"
    folder = make_folder(tmp_path / "s", common + own)
    (folder / name).write_text(common + other + "2027-07-15 undo #bbbb #dddd\n")
    diary = read_diary(folder)
    assert [event.code for event in diary.events] == ["aaaa", "cccc"]
    assert name in diary.warnings[-1] and "2 events" in diary.warnings[-1]
    assert (folder / "diary.txt").read_text() == common + own
    append_event(folder, "picked", "tomato 4 lb", on=DAY)
    after = read_diary(folder)
    assert [event.code for event in after.events][:2] == ["aaaa", "cccc"]
    assert len(after.events) == 3 and after.warnings == ()
    assert (folder / name).exists()


def test_a_copy_that_disagrees_is_told_and_the_diary_counts(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s", "2027-07-13 picked tomato 1 lb #aaaa\n")
    (folder / "diary (1).txt").write_text("2027-07-13 picked tomato 9 lb #aaaa\n")
    diary = read_diary(folder)
    assert [event.text for event in diary.events] == ["picked tomato 1 lb"]
    assert "9 lb" in diary.warnings[0] and "the first counts" in diary.warnings[0]


def test_lines_without_code_in_a_copy_are_not_counted_twice(tmp_path: Path) -> None:
    line = "2027-07-13 picked tomato 1 lb"
    folder = make_folder(tmp_path / "s", f"{line}\n")
    (folder / "diary (1).txt").write_text(f"{line}\n{line}\n")
    assert len(read_diary(folder).events) == 2
    append_event(folder, "picked", "tomato 4 lb", on=DAY)
    assert len(read_diary(folder).events) == 3


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "harvestplan", *words, "--in", str(folder)]
    return subprocess.run(command, capture_output=True, text=True, env=env)


def test_the_commands_say_what_they_understood(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    done = run(folder, "picked", "snap bean", "5 lb", "--on", "2027-07-14")
    assert done.returncode == 0, done.stderr
    code = read_diary(folder).events[0].code
    assert done.stdout == f"picked snap bean 5 lb on Wed 14 July 2027 #{code}\n"
    assert run(folder, "flowering", "snap bean", "--json").stdout.startswith('{"format": 1')
    assert f"#{code}" in run(folder, "undo", code).stdout
    assert run(folder, "picked", "snap baen", "5 lb").returncode == 2
    assert run(folder, "picked", "snap bean", "5 lb", "--on", "5/6").returncode == 2
    assert texts(folder) == ["flowering snap bean"]


def test_a_recorded_pick_is_in_the_forecast(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    run(folder, "picked", "beans-1", "5 lb", "--on", "2027-07-01")
    shown = run(folder, "forecast", "--all", "--as-of", "2027-07-02")
    assert shown.returncode == 0, shown.stderr
    assert "beans-1: 1 July;" in shown.stdout and "5 lb picked so far" in shown.stdout
    (folder / "diary.txt").write_text("2027-07-01 piked tomato 1 lb\n")
    refused = run(folder, "forecast", "--all", "--as-of", "2027-07-02")
    assert refused.returncode == 3
    assert 'diary.txt, line 1: I do not know "piked"' in refused.stderr


def test_a_crop_that_is_not_planted_is_kept_with_a_word(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    done = run(folder, "picked", "raspberry", "1 qt")
    assert done.returncode == 0 and "no [[planting]] of raspberry" in done.stderr
    assert texts(folder) == ["picked raspberry 1 qt"]


def test_commands_load_nothing_heavy(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    code = (
        "import sys; sys.argv = ['x', 'picked', 'tomato', '1 lb', '--in', sys.argv[1]]\n"
        "from harvestplan.commands.cli import app\n"
        "app(standalone_mode=False)\n"
        "heavy = {'pandas', 'numpy', 'ortools', 'icalendar', 'harvestplan.inputs.season'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder)], capture_output=True, text=True, env=env
    )
    assert done.stdout.endswith("[]\n"), done.stderr


def test_a_long_diary_is_read_and_written_quickly(tmp_path: Path) -> None:
    """Some 170 calls a line are counted, whether the diary is read or a line is written in it."""
    words = (
        "picked snap bean 2 1/2 lb",
        "picked tomato 3 lb 4 oz",
        'ate "snap bean, cut" 1',
        'froze "sweet corn, kernel" 6 pouches of 12 oz, 1 failed seal, 95 minutes',
        'count "tomato, purée" 9',
        "gave snap bean 500 g",
    )
    lines = (f"2027-07-14 {words[n % len(words)]} #{n:04d}\n" for n in range(3000))
    folder = make_folder(tmp_path / "s", "".join(lines))
    names = names_in(folder)
    diary, calls = counted(lambda: read_diary(folder, names))
    assert len(diary.events) == 3000
    assert calls < 3000 * 500
    _, calls = counted(lambda: append_event(folder, "ate", '"snap bean, cut" 1', on=DAY))
    print("CALLS append", calls)
    assert calls < 100_000 + 3000 * 500


WRITER = """
import datetime as dt, sys
from pathlib import Path
from harvestplan import disk
from harvestplan.records.diary import append_event
disk.PATIENCE = 600  # however slow the computer: nobody gives up
print("ready", flush=True)
while True:
    done = append_event(Path(sys.argv[1]), "picked", "tomato 2 lb", on=dt.date(2027, 7, 14))
    print(done.event.code, flush=True)
"""


def test_killed_25_times_no_acknowledged_line_is_lost(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    acknowledged: list[str] = []
    for n in range(25):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(folder)], env=env, stdout=subprocess.PIPE, text=True
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        acknowledged.append(writer.stdout.readline().strip())
        time.sleep(0.003 * n)
        writer.kill()
        acknowledged += [line.strip() for line in writer.stdout if line.endswith("\n")]
        writer.stdout.close()
        writer.wait()
    codes = {event.code for event in read_diary(folder).events}
    assert len(acknowledged) >= 25
    assert set(acknowledged) <= codes


def test_commands_at_once_do_not_mix_their_lines(tmp_path: Path) -> None:
    # A line without a code makes the first of them write the whole file again.
    folder = make_folder(tmp_path / "s", "2027-07-13 picked tomato 1 lb\n")
    script = WRITER.replace("while True", "for _ in range(15)")
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", script, str(folder)], env=env, stdout=subprocess.DEVNULL
        )
        for _ in range(3)
    ]
    assert [writer.wait() for writer in writers] == [0, 0, 0]
    events = read_diary(folder).events
    assert len({event.code for event in events}) == 46


def test_a_held_lock_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = make_folder(tmp_path / "s")
    monkeypatch.setattr(disk, "PATIENCE", 0.05)
    with disk.locked(folder / ".diary.lock"), pytest.raises(disk.BusyError, match="moment"):
        append_event(folder, "picked", "tomato 2 lb", on=DAY)
    assert not (folder / "diary.txt").exists()


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    (folder / ".diary.lock").mkdir()
    with pytest.raises(FilesNeedMending, match="cannot be written"):
        append_event(folder, "picked", "tomato 2 lb", on=DAY)


def test_nothing_is_written_into_a_folder_that_is_no_season(tmp_path: Path) -> None:
    (tmp_path / "pyproject.toml").write_text('[project]\nname = "z"\n')
    done = run(tmp_path, "picked", "tomato", "5 lb")
    assert done.returncode == 3 and "no season folder" in done.stderr
    assert not (tmp_path / "diary.txt").exists()
