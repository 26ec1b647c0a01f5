"""No network, no foreign code, and hostile names stay text in every file that is written."""

from __future__ import annotations

import ast
import csv
import io
import re
import socket
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
import vobject
from each_case import each, named
from trust.small_folder import FILES, command, write_small

import harvestplan
from harvestplan.commands.cli import main

PACKAGE = Path(harvestplan.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
CALENDAR = PACKAGE / "outputs" / "calendar"
CLIENT = CALENDAR / "server.py"
"""The one module that opens connections, for those that publish."""
NAMING = {CALENDAR / f"{name}.py" for name in ("caldav", "discovery")} | {
    PACKAGE / "page" / "shortfall.py"
}
"""These put addresses together, which opens nothing."""
PAGE = {PACKAGE / "page" / f"{name}.py" for name in (
    "devices", "files_page", "guard", "phones", "plan_page", "serve", "sheet", "site",
)} | {PACKAGE / "commands" / "open_command.py"}  # fmt: skip
"""The page in the browser: it listens where it was asked to, and opens no connection of its own."""
SERVES = {"socket", "asyncio", "http", "urllib", "webbrowser"}
COMMAND = PACKAGE / "commands" / "publish_command.py"
NETWORK = {"socket", "ssl", "http", "urllib", "ftplib", "smtplib", "poplib", "imaplib", "telnetlib",
           "xmlrpc", "socketserver", "asyncio", "requests", "httpx", "aiohttp",
           "urllib3", "webbrowser"}  # fmt: skip
FOREIGN_CODE = {"pickle", "marshal", "shelve", "ctypes", "code", "runpy", "pty"}
CALLS = {"eval", "exec", "compile", "__import__"}
OS_CALLS = {"system", "popen", "execv", "execvp", "spawnv", "startfile"}
PANDAS_CALLS = {"read_pickle", "to_pickle"}


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.split(".")[0]


def called(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name) and node.func.id in CALLS:
                yield node.func.id
            elif isinstance(node.func, ast.Attribute) and node.func.attr in PANDAS_CALLS | OS_CALLS:
                yield node.func.attr
            yield from ("shell" for keyword in node.keywords if keyword.arg == "shell")


@each("path", MODULES)
def test_no_network_and_no_foreign_code(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = set(imported(tree))
    assert not found & FOREIGN_CODE
    allowed = NETWORK if path == CLIENT else SERVES if path in PAGE else set()
    assert not found & NETWORK - (allowed | ({"urllib"} if path in NAMING else set()))
    if path in NAMING | PAGE:
        assert "urllib.request" not in path.read_text(encoding="utf-8")
    assert not list(called(tree))


def test_only_publishing_reaches_the_network() -> None:
    """The client is imported by what stands beside it, and by the command `publish`, there in its
    functions alone."""
    own = re.compile(r"outputs\.calendar\.(server|caldav|discovery)\b")
    users = [path for path in MODULES if own.search(path.read_text("utf-8"))]
    assert {path for path in users if path.parent != CALENDAR} == {COMMAND}
    top = [
        node
        for node in ast.parse(COMMAND.read_text("utf-8")).body
        if isinstance(node, (ast.Import, ast.ImportFrom))
    ]
    assert not any(own.search(ast.unparse(node)) for node in top)


def test_the_ast_tests_see_what_they_are_for() -> None:
    tree = ast.parse(
        "import http.client\nfrom pickle import loads\neval('1')\nos.system('x')\nrun(shell=1)"
    )
    assert set(imported(tree)) == {"http", "pickle"}
    assert set(called(tree)) == {"eval", "system", "shell"}


HOSTILE = [
    "</script><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "\"' onmouseover=alert(1) x='",
    "</title></style><svg/onload=alert(1)>",
    "=HYPERLINK(1)",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    " =1+1",
    "a\\nATTENDEE:mailto:x@example.org",
    "a;b,c\\n:d",
    "{{ 7*7 }}{% raw %}",
    "javascript:alert(1)",
    "../../../etc/passwd",
    "a\u200db",
    "x" * 78,
    "&lt;b&gt;&amp;",
    "]]>-->",
    "%s%n${x}",
]


def toml_text(text: str) -> str:
    return '"' + "".join(f"\\U{ord(letter):08x}" for letter in text) + '"'


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Out folders of the small season, planned with one hostile name everywhere, by their names."""
    found = {}
    for name in HOSTILE:
        folder = tmp_path_factory.mktemp("hostile") / "season"
        with named(ascii(name)):
            found[name] = planned_with(name, folder)
    return found


def planned_with(name: str, folder: Path) -> Path:
    """The out folder of the small season in which everything has this name."""
    write_small(folder)
    shown = ("The Lane", "kettle", "sink", "quart", "chest")
    for file in FILES:
        path = folder / file
        text = path.read_text(encoding="utf-8")
        for number, plain in enumerate(shown):
            unlike = f"{name} {number}" if number else name
            text = text.replace(f'name = "{plain}"', f"name = {toml_text(unlike)}")
        text = text.replace("[sealer]", f"[sealer]\nname = {toml_text(name + ' 9')}")
        path.write_text(text, encoding="utf-8")
    single = name.replace('"', "'")  # an id with double quotes is refused
    planting = (
        '[[planting]]\ncrop = "snap bean"\nrow = "5 ft"\nsown = 2027-06-01\n'
        f'id = {toml_text(single)}\n[[want]]\nproduct = "snap bean, cut"\n'
        'portions = 2\nportion = "12 oz"\n'
    )
    (folder / "more.toml").write_text(planting, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        code = plan(folder, patch)
    assert code == 0
    return folder / "out"


def plan(folder: Path, patch: pytest.MonkeyPatch) -> int:

    words = ["plan", "--quiet", "--in", str(folder), "--as-of", "2027-05-01"]
    patch.setattr(sys, "argv", ["harvestplan", *words])
    with pytest.raises(SystemExit) as left:
        main()
    return int(left.value.code or 0)


class Tags(HTMLParser):
    """Every tag with its attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.scripts = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        if self.cdata_elem == "script":
            self.scripts += data


@each("name", HOSTILE, ascii)
def test_pages_hold_hostile_names_as_text(name: str, written: dict[str, Path]) -> None:
    out = written[name]
    pages = sorted(out.rglob("*.html"))
    assert len(pages) > 3
    for page in pages:
        tags = Tags(page.read_text(encoding="utf-8"))
        assert "alert(1)" not in tags.scripts
        assert not [tag for tag, _ in tags.found if tag in ("img", "iframe", "object", "embed")]
        for tag, attributes in tags.found:
            assert not [key for key in attributes if key.startswith("on")], (page, tag)
            for key in ("href", "src", "action", "xlink:href"):
                target = (attributes.get(key) or "").strip().lower()
                assert not re.match(r"(javascript|vbscript|https?|//)", target), (page, target)


@each("name", HOSTILE, ascii)
def test_calendars_hold_hostile_names_as_text(name: str, written: dict[str, Path]) -> None:
    out = written[name]
    for path in (out / "sessions.ics", out / "tasks.ics"):
        text = path.read_bytes().decode("utf-8")
        unfolded = re.sub(r"\r\n[ \t]", "", text)
        assert "\0" not in text and "\n" not in unfolded.replace("\r\n", "")
        lines = unfolded.split("\r\n")
        assert not [line for line in lines if line.startswith("ATTENDEE")]
        assert lines.count("END:VCALENDAR") == 1 and lines[-2:] == ["END:VCALENDAR", ""]
        vobject.readOne(text)


@each("name", HOSTILE, ascii)
def test_tables_hold_no_formula(name: str, written: dict[str, Path]) -> None:
    out = written[name]
    text = (out / "shopping.csv").read_bytes().decode("utf-8-sig")
    for row in csv.reader(io.StringIO(text)):
        for cell in row:
            assert re.fullmatch(r"-?[\d.]+", cell) or not re.match(r"[=+\-@\t\r\n]", cell), cell


@each("name", HOSTILE, ascii)
def test_names_lead_to_no_file_elsewhere(name: str, written: dict[str, Path]) -> None:
    out = written[name]
    for path in out.parent.rglob("*"):
        assert re.fullmatch(r"[\w.-]+", path.name), path
    assert {path.name for path in out.parent.parent.iterdir()} == {"season"}


@each("name", HOSTILE, ascii)
@pytest.mark.parametrize("words", [[], ["check"], ["forecast"], ["card"], ["plan"]], ids=str)
def test_the_terminal_is_not_steered(
    name: str,
    written: dict[str, Path],
    words: list[str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out = written[name]
    day = [] if words and words[0] in ("check", "card") else ["--as-of", "2027-05-01"]
    code, said, told = command(capsys, monkeypatch, *words, "--in", str(out.parent), *day)
    assert code == 0, told
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f\u202e]", said + told)


class NetworkReachedError(Exception):
    """Something tried to reach the network."""


SEASON_COMMANDS = [
    ["plan", "--quiet", "--as-of", "2027-05-01"], ["plan", "--as-of", "2027-06-01"], ["check"],
    ["forecast"], ["forecast", "--for-wants"], ["card", "--all"], ["crops"],
    ["crops", "sweet corn"], ["cautions"], ["settings"], ["stock"], ["book"],
    ["book", "--labels", "a4-3x7"], ["schema"], ["picked", "snap bean", "1 lb"],
    ["froze", "dry bean, sealed", "2"], ["undo"], ["publish", "--folder", "shared"], [],
]  # fmt: skip


def test_no_command_but_publish_reaches_the_network(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def reached(*arguments: object, **more: object) -> None:
        raise NetworkReachedError(arguments)

    class Closed(socket.socket):
        def __init__(self, *arguments: object, **more: object) -> None:
            reached(arguments)

    monkeypatch.setattr(socket, "socket", Closed)
    for name in ("create_connection", "getaddrinfo", "gethostbyname", "create_server"):
        monkeypatch.setattr(socket, name, reached)
    folder = write_small(tmp_path / "season")
    monkeypatch.chdir(tmp_path)
    for words in SEASON_COMMANDS:
        where = [] if words in (["schema"],) else ["--in", str(folder)]
        code, _, told = command(capsys, monkeypatch, *words, *where)
        assert code == 0, (words, told)
    monkeypatch.setenv("HARVESTPLAN_CALDAV_USER", "anna")
    monkeypatch.setenv("HARVESTPLAN_CALDAV_PASSWORD", "kept-to-myself")
    words = ["publish", "https://example.invalid/cal/", "--in", str(folder)]
    code, _, told = command(capsys, monkeypatch, *words)
    assert code == 1, told  # the test sees what it is for


def test_a_password_stands_in_no_file_and_no_message(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HARVESTPLAN_CALDAV_USER", "anna")
    monkeypatch.setenv("HARVESTPLAN_CALDAV_PASSWORD", "kept-to-myself")
    monkeypatch.setenv("HARVESTPLAN_DEBUG", "1")
    folder = write_small(tmp_path / "season")
    spoken = ""
    closed = "http://127.0.0.1:9/cal/"
    for words in (
        ["plan", "--as-of", "2027-05-01"],
        ["publish", closed],
        ["publish", closed, "--pull"],
        ["publish", closed, "--dry-run"],
        ["publish", "--folder", str(tmp_path / "shared")],
        ["check"],
        ["book"],
    ):
        _, said, told = command(capsys, monkeypatch, *words, "--in", str(folder))
        spoken += said + told
    assert "127.0.0.1" in spoken  # it was tried
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert len(files) > 15
    for text in (spoken, *(path.read_bytes().decode("utf-8", "replace") for path in files)):
        assert "kept-to-myself" not in text
        assert "a2VwdC10by1teXNlbGY" not in text  # nor in base64
