"""Pages from templates: all that a household wrote is escaped; style and words are the book's."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, PrefixLoader, StrictUndefined

from harvestplan.words import clean


def rendered(template: str, **values: Any) -> str:
    """The page; a value that the template lacks is an error."""
    return clean(_templates().get_template(f"page/{template}").render(values)).strip() + "\n"


@cache
def _templates() -> Environment:
    loader = PrefixLoader(
        {
            "page": PackageLoader("harvestplan.page"),
            "book": PackageLoader("harvestplan.outputs.paper"),
        }
    )
    return Environment(
        loader=loader,
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def stylesheet() -> str:
    """The page's style: the book's colours, and its own rules."""
    return _templates().get_template("page/style.css.j2").render()
