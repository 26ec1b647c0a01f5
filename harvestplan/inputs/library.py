"""Load the crop library: the files that come with the program and, over them, a household's own."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from harvestplan.disk import lies_in
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.crop_folder import SOURCES, crop_folder
from harvestplan.inputs.crop_ranges import out_of_range
from harvestplan.inputs.crops import Crop, KnownSteps, Library, Source
from harvestplan.inputs.explain import explain
from harvestplan.inputs.figures import CropTable
from harvestplan.inputs.hazard_classes import stricter
from harvestplan.inputs.ids import fold
from harvestplan.inputs.ingredients import Staple
from harvestplan.inputs.line_numbers import Path as Place
from harvestplan.inputs.toml_file import TomlFile, read_plain, read_toml
from harvestplan.unseen import unseen

STAPLES = "staples.toml"
Table = TypeVar("Table", bound=CropTable)


def read_library(extra_folder: Path | None, steps: KnownSteps) -> Library:
    """All crops by name, sources by id and staples by name, their chains judged by what is known of
    `steps`.

    `extra_folder` is a season folder: its ``crops/*.toml`` add crops or stand in for those of the
    same name, and its ``crops/sources.toml`` and ``crops/staples.toml`` add to those of the
    program. What is known of a food's hazards holds for the file that stands in for it. Raises
    FilesNeedMending for a file that is no crop, a figure whose source is not listed, or a name that
    two crops claim.
    """
    own = _own_library(steps)
    if extra_folder is None or not (extra_folder / "crops").is_dir():
        return own
    _refuse_links(extra_folder)
    theirs = _read_folder(extra_folder / "crops", own, steps)
    merged = own.crops | {
        name: _kept_safe(crop, own.crops.get(name)) for name, crop in theirs.crops.items()
    }
    _refuse_shared_names(merged)
    return theirs.model_copy(update={"crops": merged})


def _kept_safe(own: Crop, known: Crop | None) -> Crop:
    """A household's crop with all that the library's of the same name refuses and warns of."""
    if known is None:
        return own
    forms = {fold(refusal.form) for refusal in own.refused}
    refused = (*own.refused, *(each for each in known.refused if fold(each.form) not in forms))
    raw = {fold(product.form) for product in known.products if product.eaten_raw}
    return own.model_copy(
        update={
            "hazard": stricter(own.hazard, known.hazard),
            "refused": refused,
            "allergens": tuple(dict.fromkeys((*own.allergens, *known.allergens))),
            "products": tuple(
                product.model_copy(update={"eaten_raw": True})
                if fold(product.form) in raw
                else product
                for product in own.products
            ),
        }
    )


def _refuse_links(season: Path) -> None:
    paths = [season / "crops", *sorted((season / "crops").glob("*.toml"))]
    hint = "Put the file itself into the season folder."
    flaws = [
        Flaw(_called(path), None, "", message="This leads out of the season folder.", hint=hint)
        for path in paths
        if not lies_in(season, path)
    ]
    if flaws:
        raise FilesNeedMending(flaws)


@lru_cache(maxsize=1)
def _own_library(steps: KnownSteps) -> Library:
    folder = crop_folder()
    if folder is None:
        raise FilesNeedMending(
            [
                Flaw(
                    "crops",
                    None,
                    "",
                    message="The crop files are missing.",
                    hint="Install the program again.",
                )
            ]
        )
    own = _read_folder(folder, Library.model_construct(crops={}, sources={}, staples={}), steps)
    _refuse_shared_names(own.crops)
    return own


def _read_folder(folder: Path, known: Library, steps: KnownSteps) -> Library:
    """The crops of one folder, with its sources and staples over those `known`."""
    flaws: list[Flaw] = []
    sources = {**known.sources, **_read_tables(folder / SOURCES, Source, flaws)}
    staples = {**known.staples, **_read_tables(folder / STAPLES, Staple, flaws)}
    beside = Library.model_construct(
        crops={}, sources=sources, staples=staples, by_hand=steps.by_hand
    )
    flaws += _uncited(folder / STAPLES, sources)
    crops: dict[str, Crop] = {}
    for path in sorted(folder.glob("*.toml")):
        if path.name in (SOURCES, STAPLES) or path.name.startswith("."):
            continue
        crop = _read_crop(path, beside, steps, flaws=flaws)
        if crop is not None and crop.name in crops:
            flaws.append(Flaw(_called(path), None, "", message=f'There is a second "{crop.name}".'))
        elif crop is not None:
            crops[crop.name] = crop
    if flaws:
        raise FilesNeedMending(flaws)
    return beside.model_copy(update={"crops": crops})


def _called(path: Path) -> str:
    return f"{path.parent.name}/{path.name}"


def _read_tables(path: Path, model: type[Table], flaws: list[Flaw]) -> dict[str, Table]:
    """Each table of a file by its name; nothing where there is no file."""
    found: dict[str, Table] = {}
    if not path.is_file():
        return found
    file = read_toml(path, _called(path))
    flaws += file.flaws
    for name, content in file.data.items():
        try:
            table = model.model_validate(content)
            flaws += [file.flaw(*each) for each in out_of_range(table, (name,))]
            found[name] = table
        except ValidationError as refused:
            for error in refused.errors(include_url=False):
                flaws.append(file.flaw((name, *error["loc"]), *explain(error, model, f"[{name}]")))
    return found


def _uncited(path: Path, sources: dict[str, Source]) -> Iterator[Flaw]:
    """What a file cites that is no source."""
    if path.is_file():
        file = read_toml(path, _called(path))
        yield from _unlisted(file, sources)


def _read_crop(path: Path, known: Library, steps: KnownSteps, *, flaws: list[Flaw]) -> Crop | None:
    """The crop of one file; on any flaw notes it and returns None.

    The plain reading is fast; lines are looked up only where there is something to say.
    """
    try:
        data = read_plain(path)
        crop = Crop.model_validate(data, context=_context(known, steps))
        cited = all(name in known.sources for _, name in _cited(data, ()))
        ours = path.parent == crop_folder()  # a test holds them to the ranges, once and for all
        if cited and not any(unseen(data)) and (ours or not any(out_of_range(crop))):
            return crop
    except (ValueError, OSError):
        pass  # read again below, with the lines
    file = read_toml(path, _called(path))
    flaws += file.flaws or _crop_flaws(file, known, steps)
    return None


def _context(known: Library, steps: KnownSteps) -> dict[str, object]:
    return {"measures": "US", "steps": steps, "staples": known.staples}


def _crop_flaws(file: TomlFile, known: Library, steps: KnownSteps) -> Iterator[Flaw]:
    try:
        crop = Crop.model_validate(file.data, context=_context(known, steps))
        yield from (file.flaw(*found) for found in out_of_range(crop))
    except ValidationError as refused:
        for error in refused.errors(include_url=False):
            yield file.flaw(error["loc"], *explain(error, Crop, "a crop"))
    yield from _unlisted(file, known.sources)


def _unlisted(file: TomlFile, sources: dict[str, Source]) -> Iterator[Flaw]:
    for place, name in _cited(file.data, ()):
        if name not in sources:
            owner = place[-2] if len(place) > 1 else place[0]
            message = f'"{owner}" cites the source "{name}", which {SOURCES} does not list.'
            yield file.flaw(place, message, f"Add [{name}] with its title to {SOURCES}.")


def _cited(value: Any, place: Place) -> Iterator[tuple[Place, str]]:
    """Every source id in a crop's tables, with its place."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "source":
                yield (*place, key), str(inner)
            elif isinstance(inner, (dict, list)):
                yield from _cited(inner, (*place, key))
    elif isinstance(value, list):
        for position, inner in enumerate(value):
            yield from _cited(inner, (*place, position))


def _refuse_shared_names(crops: dict[str, Crop]) -> None:
    """A name must lead to one crop only."""
    owners: dict[str, str] = {}
    flaws: list[Flaw] = []
    for crop in crops.values():
        for name in {crop.name, *crop.also}:
            if (owner := owners.setdefault(fold(name), crop.name)) != crop.name:
                message = f'The name "{name}" leads to {owner} and to {crop.name}.'
                flaws.append(
                    Flaw("crops", None, "", message=message, hint="Take it out of one of them.")
                )
    if flaws:
        raise FilesNeedMending(flaws)
