"""Reading a page back: its elements, its text, what is left open."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "input", "br", "rect", "path", "link", "img", "hr"}


@dataclass
class Element:
    tag: str
    attributes: dict[str, str | None]
    inside: list[Element | str] = field(default_factory=list)

    def all(self, tag: str | None = None, css: str | None = None) -> list[Element]:
        found = []
        for part in self.inside:
            if isinstance(part, Element):
                classes = (part.attributes.get("class") or "").split()
                if (tag is None or part.tag == tag) and (css is None or css in classes):
                    found.append(part)
                found += part.all(tag, css)
        return found

    @property
    def text(self) -> str:
        parts = (part if isinstance(part, str) else part.text for part in self.inside)
        return " ".join(" ".join(parts).split())


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open = [Element("page", {})]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs))
        self.open[-1].inside.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].inside.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def read_page(data: bytes) -> Element:
    """The page as elements; every element that was opened must be closed in its turn."""
    reader = _Reader()
    reader.feed(data.decode("utf-8"))
    reader.close()
    assert len(reader.open) == 1, f"left open: {[each.tag for each in reader.open[1:]]}"
    return reader.open[0]


def outside_references(data: bytes) -> list[str]:
    """Whatever would make a browser ask another place for something."""
    text = data.decode("utf-8")
    found = re.findall(r"https?:|//[a-z]|@import|url\(|<link|<iframe|<img|fetch\(|import\(", text)
    page = read_page(data)
    for element in page.all():
        for name in ("src", "href", "action", "data"):
            target = element.attributes.get(name) or ""
            if ":" in target or target.startswith(("/", "..")):
                found.append(target)
    return found
