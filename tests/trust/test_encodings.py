"""Every command on outputs that cannot show every letter: it ends as it does in UTF-8."""

from __future__ import annotations

import datetime as dt
import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import typer
from places import CROPS
from trust.small_folder import write_small

from harvestplan.commands.cli import app, main

DAY = "2027-06-06"
HOUSE = "Zoë’s “Küche” ½ → 野菜 👩‍👩‍👧‍👦"
BEAN, POUCH = "grüne böhnchen ½ 豆", "Größe → ½ 袋"
PLANTED = f"""
[[planting]]
crop = "{BEAN}"
id = "Beet № 1 – Süd"
row = "10 ft"
sown = 2027-05-10

[[want]]
product = "{BEAN}, cut"
portions = 2
portion = "12 oz"
"""
WEATHER = """
[weather]
daily = "weather.csv"
"""
ENCODINGS = ("ascii", "cp1252", "cp437", "latin-1")
NEEDED = {
    "picked": [[BEAN, "5 lb"]], "flowering": [[BEAN]], "emerged": [[BEAN]],
    "none": [["yet", BEAN]], "failed": [[BEAN]],
    "bought": [["dry bean", "5 lb"]], "froze": [[f"{BEAN}, cut", "2"]],
    "timed": [[f"{BEAN}, cut", "trim", "25 minutes for 6 lb"]],
    "ate": [["dry bean, sealed", "1"]], "gave": [["dry bean, sealed", "1"]],
    "lost": [["dry bean, sealed", "1"], ["all"]],
    "count": [["dry bean, sealed", "3", f"{BEAN}, cut", "2"]], "power-cut": [["30 h"]],
    "moved": [["session", "2027-06-05", "09:00", "to", "2027-06-12", "10:00"]],
    "keep": [["free", "2027-06-12"]], "serviced": [["sealer"]],
    "printed": [["labels", "2027-06-12"]],
    "setting": [["dry bean, sealed", "pump-down", "22 s", "foamed"]],
    "crops": [[], [BEAN], ["tomato"], ["no such · crop"]], "card": [[], ["--all"]],
    "cautions": [[], ["--all"]], "new": [["{}/new"], ["{}/next", "--from", "{}"]],
    "forecast": [[], ["--for-wants"], ["--as-of", "½ → 豆"]],
    "compare": [["want.dry bean, sealed.portions=+1"], ["--without", "2027-07-10"], ["--worth"]],
    "publish": [["--folder", "{}/shared – ½ 豆"]], "sowing": [["--tries", "1"]],
    "book": [[], ["--labels", "a4-3x7"]], "open": [["{}/no season ½"]],
    "plan": [[], ["--explain", "2027-07-10"], ["--now", "09:30"]],
}  # fmt: skip
"""What a command is told; one that is not named here is run as it is."""
LONG = (["risk"], ["sowing"])
"""They take seconds each: once is enough."""
USUAL = {"--in": "{}", "--as-of": DAY, "--quiet": None}


@dataclass(frozen=True)
class Ended:
    """Exit code and what was said on both outputs, in an encoding."""

    code: int
    said: str
    told: str


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small season with names that fit in no encoding but Unicode's, planned."""
    folder = write_small(tmp_path_factory.mktemp("planned") / "season ½ 豆")
    (folder / "crops").mkdir()
    bean = (CROPS / "snap-bean.toml").read_text(encoding="utf-8").replace("snap bean", BEAN)
    bean = re.sub(r"(?m)^(also|aliases|names) = .*$", "", bean)
    (folder / "crops" / "bean.toml").write_text(bean, encoding="utf-8")
    for path in folder.glob("*.toml"):
        text = path.read_text(encoding="utf-8").replace('"The Lane"', f'"{HOUSE}"')
        path.write_text(text.replace('"quart"', f'"{POUCH}"'), encoding="utf-8")
    (folder / "more.toml").write_text(PLANTED + WEATHER, encoding="utf-8")
    days = (dt.date(2022, 1, 1) + dt.timedelta(days=n) for n in range(1095))
    weather = "".join(f"{day},10,24\n" for day in days)
    (folder / "weather.csv").write_text(f"date,tmin_c,tmax_c\n{weather}", encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        ended = run(patch, "utf-8", ["plan", "--as-of", "2027-05-20", "--in", str(folder)])
    assert ended.code == 0, ended.told
    return folder


def run(patch: pytest.MonkeyPatch, encoding: str, words: list[str]) -> Ended:
    """The command line run in this process, its outputs as strict as a pipe's."""
    outputs = [io.TextIOWrapper(io.BytesIO(), encoding, "strict") for _ in range(2)]
    patch.setattr(sys, "argv", ["harvestplan", *words])
    patch.setattr(sys, "stdout", outputs[0])
    patch.setattr(sys, "stderr", outputs[1])
    with pytest.raises(SystemExit) as left:
        main()
    patch.undo()
    said, told = (each.detach().getvalue().decode(encoding) for each in outputs)
    return Ended(int(left.value.code or 0), said, told)


def command_lines() -> Iterator[tuple[list[str], bool]]:
    """Every command of the program with what it needs, and whether it is asked for JSON."""
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    assert not NEEDED.keys() - commands.keys()
    yield [], False
    for name, command in commands.items():
        options = {option for each in command.params for option in each.opts}
        usual = [w for o in USUAL if o in options for w in (o, USUAL[o]) if w is not None]
        for words in NEEDED.get(name, [[]]):
            yield [name, *usual, *words], False
            if "--json" in options and [name] not in LONG:
                yield [name, *usual, *words, "--json"], True


def given(words: list[str], folder: Path) -> list[str]:
    """The command line in `folder`; without a command it is told the folder all the same."""
    return [word.replace("{}", str(folder)) for word in words or ["--in", "{}", "--as-of", DAY]]


def encodings(words: list[str], as_json: bool) -> tuple[str, ...]:
    """UTF-8, whose end is the right one, first; in JSON, ASCII has the fewest letters of all."""
    if words[:1] in LONG:
        return ("ascii",)
    return ("utf-8", "ascii") if as_json else ("utf-8", *ENCODINGS)


def is_json(text: str) -> bool:
    """Whether it is JSON, one value or several."""
    rest = text.strip()
    while rest:
        try:
            _, end = json.JSONDecoder().raw_decode(rest)
        except ValueError:
            return False
        rest = rest[end:].strip()
    return text != ""


def test_no_encoding_changes_how_a_command_ends(
    planned: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Same exit code, no fault of ours, and JSON where it is JSON in UTF-8 and was asked for."""
    wrong, number, parsed = [], 0, 0
    for words, as_json in command_lines():
        right = Ended(0, "{}", "")
        for encoding in encodings(words, as_json):
            number += 1
            folder = tmp_path / str(number) / planned.name
            shutil.copytree(planned, folder)
            ended = run(monkeypatch, encoding, given(words, folder))
            right = ended if encoding == "utf-8" else right
            ours = "our fault" in ended.told or "Traceback" in ended.told
            torn = as_json and is_json(right.said) and not is_json(ended.said)
            parsed += as_json and is_json(ended.said)
            if ended.code != right.code or ours or torn:
                wrong.append(f"{' '.join(words)} in {encoding}: {ended.code}, {ended.told[-300:]}")
    assert not wrong, "\n".join(wrong)
    assert parsed > 60


def test_what_other_programs_read_is_the_same_in_every_encoding(
    planned: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No letter is lost: what the encoding lacks stands as JSON's own escapes."""
    words = ["crops", BEAN, "--in", str(planned), "--json"]
    right = json.loads(run(monkeypatch, "utf-8", words).said)
    assert BEAN in json.dumps(right, ensure_ascii=False)
    for encoding in ENCODINGS:
        assert json.loads(run(monkeypatch, encoding, words).said) == right, encoding


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
@pytest.mark.parametrize("words", [["--help"], ["settings"], ["plan"], ["picked", BEAN, "5 lb"]])
def test_a_pipe_of_a_few_letters(
    planned: Path, tmp_path: Path, encoding: str, words: list[str]
) -> None:
    """In processes of their own, as another program or another system starts them."""
    shutil.copytree(planned, tmp_path / "season")
    place = [] if words == ["--help"] else ["--in", str(tmp_path / "season")]
    ended = subprocess.run(
        [sys.executable, "-m", "harvestplan", *words, *place],
        env=os.environ | {"PYTHONIOENCODING": encoding},
        capture_output=True,
        timeout=60,
    )
    assert ended.returncode == 0, ended.stderr
    assert (ended.stdout + ended.stderr).decode(encoding)
