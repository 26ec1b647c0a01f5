"""The file for a double click, on each system."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from harvestplan.new_season.start_file import write_start_file

ODD = '/opt/the % best/py$thon "3" `x`'


def test_on_windows_it_goes_to_its_own_folder(tmp_path: Path) -> None:
    path = write_start_file(tmp_path, "win32", r"C:\Program Files\100% Python\python.exe")
    text = path.read_bytes().decode()
    assert path.name == "Open the season.cmd" and text.count("\r\n") == text.count("\n")
    assert r'"C:\Program Files\100%% Python\python.exe" -m harvestplan open .' in text


def test_on_a_mac_it_is_a_script_that_a_shell_reads(tmp_path: Path) -> None:
    fake = tmp_path / 'a "b" $c'
    fake.write_text('#!/bin/sh\nprintf "%s|" "$@"\n', encoding="utf-8")
    fake.chmod(0o755)
    path = write_start_file(tmp_path, "darwin", str(fake))
    assert path.stat().st_mode & 0o111
    said = subprocess.run([path], capture_output=True, check=True, text=True).stdout
    assert said == "-m|harvestplan|open|.|"


def test_on_linux_the_desktop_reads_it(tmp_path: Path) -> None:
    path = write_start_file(tmp_path, "linux", ODD)
    text = path.read_text(encoding="utf-8")
    wanted = r'Exec="/opt/the %% best/py\\$thon \\"3\\" \\`x\\`" -m harvestplan open %k'
    assert wanted in text
    checker = shutil.which("desktop-file-validate")
    if checker is None:
        pytest.skip("looked at with desktop-file-validate, which is not installed")
    subprocess.run([checker, path], check=True)
