"""The crop library for people: what there is, and each figure with where it comes from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.crops import (
    Crop,
    Library,
    Piece,
    Product,
    Steam,
    Step,
)
from harvestplan.inputs.dates import MONTHS
from harvestplan.inputs.explain import nearest
from harvestplan.inputs.figures import CropTable, Figure, OtherFigure
from harvestplan.inputs.growing import Growth, Yields
from harvestplan.inputs.ingredients import Ingredient
from harvestplan.inputs.raw_food import Keeping
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.hazards import DECLARE, allergens_of, is_reheated
from harvestplan.kitchen.refusals import judge
from harvestplan.outputs.cautions import page_lines
from harvestplan.outputs.food_notes import REHEAT
from harvestplan.outputs.sources import UNCITED, Numbered
from harvestplan.outputs.terminal.figure_words import shower, span
from harvestplan.outputs.text_page import wrapped
from harvestplan.words import joined

MONTH = 30.44 * 86400
LABELS = {
    "raw_density": "loose",
    "least_batch": "worth starting for",
    "weight": "a medium one",
    "density": "packed",
    "keeps": "at its best for",
    "weekly": "picked week by week",
    "every": "days between picks",
    "size": "cut",
    "mixed": "other sizes",
    "heat_to": "heated to",
    "leaves": "what is left",
    "water": "in water",
    "per_kg": "work",
    "fixed": "and in any case",
    "ratio": "cooled in ice water, times the blanching",
    "pause_limit": "second sitting not after",
    "pause_least": "second sitting not before",
    "tray_load": "on a tray",
    "base": "no growth below",
    "upper": "no faster above",
    "stands": "stands ripe for",
    "standing": "ripe in the garden",
}
"""Names of figures where the field's own does not say it to a gardener."""
Parts = list[tuple[str, Figure[object], type[CropTable]]]


def crops_text(library: Library) -> str:
    """All crops and bought goods with their products; the usual product comes first."""
    lines = []
    for kind, title in (("grown", "From the garden"), ("bought", "Bought in bulk")):
        crops = sorted((c for c in library.crops.values() if c.kind == kind), key=lambda c: c.name)
        lines += [f"{title} ({len(crops)}):", ""]
        for crop in crops:
            forms = sorted(crop.products, key=lambda p: not p.usual)
            text = f"{crop.name}: {'; '.join(product.form for product in forms)}"
            lines += _wrapped(text, "  ")
        lines.append("")
    for caution in page_lines("crops"):
        lines += [*_wrapped(caution), ""]
    lines.append('Show one with its sources: harvestplan crops "sweet corn"')
    return "\n".join(lines)


def crop_text(library: Library, name: str, measures: Measures = "US") -> str:
    """One crop with every figure in the household's measures, and the sources at the end."""
    return _CropText(library, _find(library, name), measures).text()


def crop_json(library: Library, name: str | None) -> str:
    """One crop, or the whole library, as JSON."""
    return (library if name is None else _find(library, name)).model_dump_json(indent=1)


def _find(library: Library, name: str) -> Crop:
    crop = library.find_crop(name)
    if crop is None:
        near, answer = nearest(name, library.crops), safety_answer(name)
        hint = f'Did you mean "{near}"?' if near else "See: harvestplan crops"
        message = f'I have no figures for "{name}".'
        if answer is not None:
            message, hint = answer.reason(name), answer.advice
        raise FilesNeedMending([Flaw("crops", None, "", message=message, hint=hint)])
    return crop


class _CropText:
    """Writes one crop, numbering its sources as they come."""

    def __init__(self, library: Library, crop: Crop, measures: Measures) -> None:
        self.library = library
        self.crop = crop
        self.measures = measures
        self.sources = Numbered(library.sources)

    def text(self) -> str:
        crop = self.crop
        also = f" (also {', '.join(crop.also)})" if crop.also else ""
        lines = [*_wrapped(crop.name.capitalize() + also), "", *self._in_short()]
        lines += [*self._hazards(), ""]
        parts: Sequence[tuple[str, CropTable | None]] = (
            ("Raw food", crop),
            ("By the piece", crop.counted),
            ("Growth", crop.growth),
            ("Picking", crop.picking),
            ("Yield of a season", crop.yields),
            *(
                (f"{title}, {habit.name}", part)
                for habit in crop.habits
                for title, part in (
                    ("Growth", habit),
                    ("Picking", habit.picking),
                    ("Yield of a season", habit.yields),
                )
            ),
            ("Keeping it raw", crop.keeping),
            ("Worth lost while it waits", crop.freshness),
        )
        for title, part in parts:
            if part is not None and (figures := list(_figures(part))):
                lines += [f"{title}:", *self._figure_lines(figures, "    "), ""]
        for product in crop.products:
            lines += self._product_lines(product)
        for refusal in crop.refused:
            why = f"Refused: {refusal.form}. {refusal.why} {self._cite(refusal)}"
            lines += _wrapped(why)
        listed = [part for line in self.sources.lines() for part in _wrapped(line, "    ")]
        return "\n".join([*lines, *(["", "Sources:", *listed] if listed else [])]).rstrip()

    def _in_short(self) -> list[str]:
        """What a gardener asks first: when, how much, how long it keeps, what becomes of it."""
        crop, said = self.crop, partial(_said, measures=self.measures)
        parts = []
        if crop.growth is not None:
            days = said(Growth, "days_to_maturity", crop.growth.days_to_maturity.value)
            month, _, date = (crop.growth.biofix or "").partition("-")
            since = {"sown": "sowing", "set out": "setting out"}.get(crop.growth.clock)
            parts.append(
                f"first picked about {days} after "
                f"{since or f'{int(date)} {MONTHS[int(month) - 1]}'}"
            )
        if crop.yields is not None:
            for key in ("per_row", "per_plant", "per_area"):
                if (figure := getattr(crop.yields, key)) is not None:
                    each = " a plant" if key == "per_plant" else ""
                    parts.append(f"gives about {said(Yields, key, figure.value)}{each}")
                    break
        for place in ("cellar", "fridge", "room"):
            if (figure := getattr(crop.keeping, place)) is not None:
                where = {"room": "at room temperature"}.get(place, f"in the {place}")
                months = figure.value / MONTH
                long = f"{months:.2g} months" if months >= 2 else None
                parts.append(f"keeps {long or said(Keeping, place, figure.value)} {where}")
                break
        made = [product.form for product in crop.products if judge(product, crop) is None]
        parts.append(f"put by as {joined(made)}" if made else "nothing of it may be put by")
        return _wrapped(f"In short: {'; '.join(parts)}.")

    def _hazards(self) -> list[str]:
        """Its class, or that its file declares none and what holds then; its allergens."""
        crop = self.crop
        told = f"Hazard class: {crop.hazard}." if crop.hazard else f"Hazard class: {DECLARE}."
        found = dict.fromkeys(a for p in crop.products for a in allergens_of(crop, p))
        return _wrapped(told) + (_wrapped(f"Contains {joined(list(found))}.") if found else [])

    def _product_lines(self, product: Product) -> list[str]:
        usual = " (the usual product)" if product.usual else ""
        lines = [f"{self.crop.name}, {product.form}{usual}: for the {product.storage}"]
        lines += _wrapped("; ".join(self._short(step) for step in product.steps), "    ")
        if (refused := judge(product, self.crop)) is not None:
            lines += _wrapped(f"Never made: {refused}.", "    ")
        if is_reheated(self.crop, product):
            lines += _wrapped(f"{REHEAT}. {self.sources.mark('fsis-reheat')}", "    ")
        lines += self._figure_lines(list(_figures(product)), "    ")
        for caution in product.cautions:
            lines += _wrapped(f"Caution: {self.sources.marked(caution)}", "    ")
        for step in product.steps:
            figures = list(_figures(step))
            if figures or step.caution or step.ingredients:
                lines.append(f"    {_step_words(step)}:")
            lines += self._figure_lines(figures, "        ")
            for each in step.ingredients:
                amount: Any = each.amount
                called = f"add {each.item}{f' ({each.use})' if each.use else ''}"
                lines += self._figure_lines([("amount", amount, Ingredient)], "        ", called)
            if step.caution:
                lines += _wrapped(f"Caution: {self.sources.marked(step.caution)}", "        ")
        return [*lines, ""]

    def _short(self, step: Step) -> str:
        """Like "blanch 4 min", for the chain on one line."""
        if step.time is None:
            return step.step
        return f"{step.step} {_said(Step, 'time', step.time.value, measures=self.measures)}"

    def _figure_lines(self, figures: Parts, indent: str, label: str | None = None) -> list[str]:
        """Each figure under its own name, or all under one `label`."""
        lines = []
        for name, figure, owner in figures:
            said = partial(_said, owner, name, measures=self.measures)
            value, spread = said(figure.value), ""
            if figure.low is not None and figure.high is not None:
                spread = f" ({span(value, said(figure.low), said(figure.high))})"
            called = label or LABELS.get(name, name.replace("_", " "))
            if owner is Steam:
                called = "or over steam, timed from lid on"
            elif owner is Piece:
                called = "thickness that heats through"
            text = f"{called}: {value}{spread} {self._cite(figure)}{self._note(figure)}"
            lines += _wrapped(text, indent)
            for other in figure.other:
                text = f"elsewhere {said(other.value)} {self._cite(other)}{self._note(other)}"
                lines += _wrapped(text, indent + "    ")
        return lines

    def _cite(self, figure: object) -> str:
        key, seen = str(getattr(figure, "source", "")), bool(getattr(figure, "seen", False))
        mark = self.sources.mark(key)
        if key in UNCITED:
            return f"({mark})"
        return mark if seen else f"{mark[:-1]}, from memory]"

    def _note(self, figure: Figure[object] | OtherFigure[object]) -> str:
        return f"; {self.sources.marked(figure.note)}" if figure.note else ""


ROUND = {"60 s": "1 min", "60 min": "1 h", "24 h": "1 day"}
"""One of the next larger unit is called so."""


def _said(owner: type[CropTable], field: str, value: object, *, measures: Measures) -> str:
    text = shower(owner, field)(value, measures=measures)
    return ROUND.get(text, text)


def _step_words(step: Step) -> str:
    clock = f", timed from {'the ' if step.clock == 'return to boil' else ''}{step.clock}"
    by_itself = ", goes on by itself" if step.hands == 0 else ""
    verb = f", {step.verb.replace(' …', '')}" if step.verb else ""
    return f"{step.step}{verb}{by_itself}{clock if step.clock else ''}"


def _figures(part: CropTable) -> Iterator[tuple[str, Figure[object], type[CropTable]]]:
    for name in type(part).model_fields:
        value: Any = getattr(part, name)
        if isinstance(value, Figure):
            yield name, value, type(part)
        elif name == "piece" and value is not None:
            yield "size", value.size, type(value)
        elif name == "steam" and value is not None:
            yield "time", value.time, Steam


def _wrapped(text: str, indent: str = "") -> list[str]:
    return wrapped(indent + text, hang=4)
