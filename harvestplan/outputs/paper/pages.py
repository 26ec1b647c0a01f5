"""Pages for the browser: templates with everything escaped, whole in one file."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from harvestplan.outputs.paper.shapes import outlines
from harvestplan.words import clean


def page_bytes(template: str, **values: Any) -> bytes:
    """The page as UTF-8. All text is escaped; a value the template lacks is an error."""
    text = _templates().get_template(template).render(values)
    return (clean(text).strip() + "\n").encode("utf-8", "replace")


@cache
def _templates() -> Environment:
    found = Environment(
        loader=PackageLoader("harvestplan.outputs.paper"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters["outlines"] = outlines
    return found
