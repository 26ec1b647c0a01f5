"""Kitchen, garden, wants: forms over the season files, and each file as text."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.bounded import UndecodableError
from harvestplan.errors import Flaw
from harvestplan.inputs.spoken.said_foods import meant_crop, meant_product
from harvestplan.page import file_edit
from harvestplan.page.answering import shows, takes
from harvestplan.page.reading import SeasonReading
from harvestplan.page.site import Site, Wrong, back_to, sent, shown_flaw, without_places
from harvestplan.page.table_fields import FORMS, FormField, TableForm
from harvestplan.page.table_forms import BY_TABLE, WEEK, shown, told, written

ROOMS = (
    ("garden", "Wants and garden"),
    ("kitchen", "Kitchen"),
    ("household", "Household and time"),
)


def routes(site: Site) -> list[Route]:
    """The files and their forms."""
    return [
        shows(site, "/files", show_files),
        shows(site, "/files/{name}/text", show_text),
        takes(site, "/files/{name}/text", _save_text, show_text),
        takes(site, "/files/{table}/add", _add, show_files),
        takes(site, "/files/{name}/{table}/{place:int}", _change, show_files),
        takes(site, "/files/{name}/{table}/{place:int}/out", _take_out, show_files),
    ]


def show_files(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """All tables, room by room, each with its form."""
    reading = site.read()
    assert site.folder is not None
    texts, trouble = _texts(site)
    tables = list(_tables(texts))
    rooms = [
        {
            "title": title,
            "id": room,
            "forms": [_form(form, tables) for form in FORMS if form.room == room],
        }
        for room, title in ROOMS
    ]
    return site.page(
        request,
        "files.html.j2",
        reading=reading,
        wrong=wrong,
        title="Wants, garden, kitchen",
        rooms=rooms,
        names=sorted(texts),
        trouble=trouble,
        flaws=[shown_flaw(flaw, site.folder) for flaw in reading.flaws],
        lists=_lists(reading),
        week=WEEK,
    )


def _texts(site: Site) -> tuple[dict[str, str], list[str]]:
    assert site.folder is not None
    texts, trouble = {}, []
    for path in sorted(site.folder.glob("*.toml")):
        if not file_edit.NAME.fullmatch(path.name) or not path.is_file() or path.is_symlink():
            continue
        try:
            texts[path.name] = file_edit.text_of(site.folder, path.name)
        except UndecodableError as error:
            trouble.append(f"{path.name}: {error.flaw.message}")
    return texts, trouble


def _tables(texts: dict[str, str]) -> Iterator[tuple[str, str, int, dict[str, Any]]]:
    """(file, table, place in the file, values) of each table; those of a torn file are left out."""
    for name, text in texts.items():
        try:
            data = tomllib.loads(text)
        except tomllib.TOMLDecodeError:
            continue
        for table, value in data.items():
            found = value if isinstance(value, list) else [value]
            for place, each in enumerate(found):
                if isinstance(each, dict):
                    yield name, table, place, each


def _form(form: TableForm, tables: list[tuple[str, str, int, dict[str, Any]]]) -> dict[str, Any]:
    rows = [
        {
            "group": f"{form.table}-{n}",
            "action": f"/files/{quote(name)}/{form.table}/{place}",
            "words": told(form, values) or "nothing said",
            "now": {asked.key: shown(asked, values.get(asked.key)) for asked in form.fields},
        }
        for n, (name, table, place, values) in enumerate(tables)
        if table == form.table
    ]
    empty = {asked.key: "" for asked in form.fields}
    return {
        "table": form.table,
        "title": form.title,
        "one": form.one,
        "many": form.many,
        "fields": form.fields,
        "rows": rows,
        "add": f"/files/{form.table}/add" if form.many or not rows else "",
        "empty": empty,
    }


def _lists(reading: SeasonReading) -> dict[str, list[str]]:
    """Every name by which crops, goods and products are known here."""
    library = reading.library
    if library is None:
        return {"crops": [], "goods": [], "products": []}
    grown = [c for c in library.crops.values() if c.kind == "grown"]
    bought = [c for c in library.crops.values() if c.kind == "bought"]
    return {
        "crops": sorted({name for c in grown for name in (c.name, *c.also)}),
        "goods": sorted({name for c in (*bought, *grown) for name in (c.name, *c.also)}),
        "products": sorted(
            f"{name}, {p.form}"
            for c in library.crops.values()
            for name in (c.name, *c.also)
            for p in c.products
        ),
    }


def _asked_form(request: Request) -> TableForm:
    form = BY_TABLE.get(request.path_params["table"])
    if form is None:
        raise Wrong("There is no form for this.")
    return form


def _seen_text(site: Site, name: str) -> str:
    """The file's text, where it is the one that the form was made from."""
    assert site.folder is not None
    return file_edit.text_of(site.folder, name)


def _change(site: Site, request: Request) -> Response:
    form, place = _asked_form(request), int(request.path_params["place"])
    name = request.path_params["name"]
    text = _seen_text(site, name)
    before = _values(text, form, place)
    values = _named(site, form, sent(request))
    stands = {asked.key for asked in form.fields if values[asked.key] == _in_file(asked, before)}
    _refuse_changed(form, before, sent(request), but=stands)
    changed = {key: value for key, value in values.items() if key not in stands}
    after = file_edit.with_values(text, form.table, place if form.many else None, changed)
    _save(site, name, text, after, form=form, place=place)
    return back_to("/files", at=form.table)


def _named(site: Site, form: TableForm, said: dict[str, str]) -> dict[str, str | None]:
    """What was sent as the file has it; of foods, "green beans" as the name known here."""
    reading = site.read()
    library = reading.library
    meant = dict(said)
    for asked in form.fields:
        if asked.known and library is not None:
            products = asked.known == "products"
            name = said.get(asked.key, "").strip()
            if (library.find_product if products else library.find_crop)(name) is None:
                find = meant_product if products else meant_crop
                meant[asked.key] = find(name, library) or name
    return written(form, meant, reading.measures)


def _values(text: str, form: TableForm, place: int) -> dict[str, Any]:
    try:
        found = tomllib.loads(text)[form.table]
        each: dict[str, Any] = found[place] if isinstance(found, list) else found
    except (tomllib.TOMLDecodeError, KeyError, IndexError):
        raise Wrong("This stands in your file no longer. Look at it anew.") from None
    return each


def _in_file(asked: FormField, before: dict[str, Any]) -> str | None:
    """What stands in the file for a field, as the field would write it."""
    if asked.key not in before:
        return None
    key, said = asked.key, shown(asked, before[asked.key])
    fields = {f"{key}-{day}": "yes" for day in said.split(",")} if asked.kind == "days" else {}
    try:
        return written(TableForm("", "", "", (asked,)), {key: said, **fields})[key]
    except Wrong:
        return None


def _refuse_changed(
    form: TableForm, before: dict[str, Any], said: dict[str, str], but: Collection[str] = ()
) -> None:
    """Where somebody changed a value since the form was shown, nothing is written over it, `but`
    for fields that are to be what they are by now: of a form that was sent twice."""
    for asked in form.fields:
        if asked.key in but:
            continue
        was, now = said.get(f"was-{asked.key}"), shown(asked, before.get(asked.key))
        if was is not None and was != now:
            raise Wrong(
                f"Meanwhile somebody else changed this to “{now or 'nothing'}”. Write what it is "
                "to be, and send it again.",
                asked.key,
            )


def _add(site: Site, request: Request) -> Response:
    form = _asked_form(request)
    assert site.folder is not None
    name = file_edit.home_of(site.folder, form.table)
    text = _seen_text(site, name)
    values = {k: v for k, v in _named(site, form, sent(request)).items() if v is not None}
    after = file_edit.with_table(text, form.table, values, many=form.many)
    if after == text:
        return back_to("/files", at=form.table)  # the form was sent twice
    count = len(tomllib.loads(after).get(form.table, [])) - 1 if form.many else 0
    _save(site, name, text, after, form=form, place=count)
    return back_to("/files", at=form.table)


def _take_out(site: Site, request: Request) -> Response:
    form, place = _asked_form(request), int(request.path_params["place"])
    name = request.path_params["name"]
    text = _seen_text(site, name)
    before = _values(text, form, place)
    _refuse_changed(form, before, sent(request))
    after = file_edit.without_table(text, form.table, place)
    _save(site, name, text, after, form=form, place=place)
    return back_to("/files", at=form.table)


def _save(site: Site, name: str, text: str, after: str, *, form: TableForm, place: int) -> None:
    """Writes the file where nothing in it is wrong; else the flaw is told at its field."""
    assert site.folder is not None
    flaws = file_edit.new_flaws(site.folder, {name: after})
    if flaws:
        raise _at_field(site, flaws, name, after, form, place)
    file_edit.save(site.folder, name, after, seen=file_edit.digest(text))


def _at_field(
    site: Site, flaws: list[Flaw], name: str, after: str, form: TableForm, place: int
) -> Wrong:
    keys = {asked.key for asked in form.fields}
    for flaw in flaws:
        there = file_edit.place_of_line(after, flaw.line) if flaw.file == name else ()
        key = next((str(part) for part in reversed(there) if part in keys), "")
        if there[:1] == (form.table,) and key:
            message = without_places(flaw.message, site.folder)
            return Wrong(message, key, hint=without_places(flaw.hint, site.folder))
    first = flaws[0]
    return Wrong(without_places(first.message, site.folder), hint=first.hint)


def show_text(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """A file as text."""
    reading = site.read()
    assert site.folder is not None
    name = request.path_params["name"]
    text = file_edit.text_of(site.folder, name)
    line = request.query_params.get("line", "")
    return site.page(
        request,
        "file_text.html.j2",
        reading=reading,
        wrong=wrong,
        title=name,
        name=name,
        text=sent(request).get("text", text) if wrong else text,
        seen=sent(request).get("digest", "") if wrong else file_edit.digest(text),
        line=line if line.isdigit() else "",
        flaws=[f for f in (shown_flaw(x, site.folder) for x in reading.flaws) if f["file"] == name],
    )


def _save_text(site: Site, request: Request) -> Response:
    """A file's new text; what is wrong in it is told line by line, and nothing written, unless the
    file was wrong before: then what is better may be kept."""
    assert site.folder is not None
    name = request.path_params["name"]
    form = sent(request)
    text = form.get("text", "").replace("\r\n", "\n").replace("\r", "\n")
    if len(text) > file_edit.LONGEST:
        raise Wrong("This is too long for a season file.", "text")
    flaws = file_edit.new_flaws(site.folder, {name: text})
    if flaws:
        told = [f"{f.line or ''}: {without_places(f.message, site.folder)}" for f in flaws[:5]]
        raise Wrong("Line " + "; line ".join(told), "text", hint=flaws[0].hint)
    file_edit.save(site.folder, name, text, seen=form.get("digest", ""))
    return back_to("/files")
