"""The crop library for people: what there is, and each figure with where it comes from."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.crops import Crop, Figure, Library, Product, Step, Table
from harvestplan.inputs.explain import nearest

WIDTH = 78


def crops_text(library: Library) -> str:
    """All crops and bought goods with their products; the usual product comes first."""
    lines = []
    for kind, title in (("grown", "From the garden"), ("bought", "Bought in bulk")):
        crops = sorted((c for c in library.crops.values() if c.kind == kind), key=lambda c: c.name)
        lines += [f"{title} ({len(crops)}):", ""]
        for crop in crops:
            forms = sorted(crop.products, key=lambda p: not p.usual)
            text = f"{crop.name}: {'; '.join(product.form for product in forms)}"
            lines += textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="      ")
        lines.append("")
    lines.append('Show one with its sources: harvestplan crops "sweet corn"')
    return "\n".join(lines)


def crop_text(library: Library, name: str) -> str:
    """One crop with every figure, its source, and whether the source was seen."""
    crop = _find(library, name)
    lines = [crop.name.capitalize() + (f" (also {', '.join(crop.also)})" if crop.also else ""), ""]
    for title, part in (
        ("Raw food", crop),
        ("Growth", crop.growth),
        ("Picking", crop.picking),
        ("Yield", crop.yields),
        ("Keeping", crop.keeping),
    ):
        figures = list(_figures(part)) if part is not None else []
        if figures:
            lines += [f"{title}:", *_figure_lines(library, figures), ""]
    for product in crop.products:
        lines += _product_lines(library, crop, product)
    for refusal in crop.refused:
        lines += _wrapped(f"Refused: {refusal.form}. {refusal.why} {_source(library, refusal)}")
    return "\n".join(lines).rstrip()


def crop_json(library: Library, name: str | None) -> str:
    """One crop, or the whole library, as JSON."""
    return (library if name is None else _find(library, name)).model_dump_json(indent=1)


def _find(library: Library, name: str) -> Crop:
    crop = library.find_crop(name)
    if crop is None:
        near = nearest(name, library.crops)
        hint = f'Did you mean "{near}"?' if near else "See: harvestplan crops"
        message = f'I have no figures for "{name}".'
        raise FilesNeedMending([Flaw("crops", None, "", message, hint)])
    return crop


def _product_lines(library: Library, crop: Crop, product: Product) -> list[str]:
    usual = " (the usual product)" if product.usual else ""
    lines = [f"{crop.name}, {product.form}{usual}: for the {product.storage}"]
    lines += _figure_lines(library, list(_figures(product)))
    for step in product.steps:
        lines.append(f"    {_step_words(step)}")
        lines += _figure_lines(library, list(_figures(step)), indent="        ")
    for caution in product.cautions:
        lines += _wrapped(f"Caution: {caution}", "    ")
    return [*lines, ""]


def _step_words(step: Step) -> str:
    clock = f", clock from {step.clock}" if step.clock else ""
    return f"{step.step}{clock}"


def _figures(part: Table) -> Iterator[tuple[str, Figure[object]]]:
    for name in type(part).model_fields:
        value = getattr(part, name)
        if isinstance(value, Figure):
            yield name.replace("_", " "), value
        elif name == "piece" and value is not None:
            yield f"piece ({value.shape})", value.size


def _figure_lines(
    library: Library, figures: list[tuple[str, Figure[object]]], indent: str = "    "
) -> list[str]:
    lines = []
    for name, figure in figures:
        spread = f" ({figure.low} to {figure.high})" if figure.low is not None else ""
        note = f"; {figure.note}" if figure.note else ""
        lines += _wrapped(
            f"{name}: {_plain(figure.value)}{spread} - {_source(library, figure)}{note}", indent
        )
        for other in figure.other:
            lines += _wrapped(
                f"elsewhere {_plain(other.value)}: {_source(library, other)} {other.note}",
                indent + "    ",
            )
    return lines


def _plain(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.4g}"
    if isinstance(value, tuple):
        return ", ".join(_plain(item) for item in value)
    return str(value)


def _source(library: Library, figure: object) -> str:
    key = str(getattr(figure, "source", ""))
    source = library.sources[key]
    where = ", ".join(part for part in (source.publisher, source.title, source.year) if part)
    return where if getattr(figure, "seen", False) else f"{where} (from memory, not checked)"


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "    ")
