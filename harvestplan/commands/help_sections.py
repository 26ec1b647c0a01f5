"""The list of commands under --help, in the order in which a season needs them."""

from __future__ import annotations

from typing import Any

from typer.core import TyperGroup

SECTIONS = {
    "Plan": ("new", "open", "forecast", "plan", "book", "publish"),
    "Through the season": (
        "picked", "flowering", "emerged", "none", "failed", "bought", "froze", "timed", "ate",
        "gave", "lost", "count", "reading", "setting", "serviced", "printed", "power-cut", "moved",
        "keep", "undo", "stock", "review",
    ),
}  # fmt: skip
REST = "Look closer"
LONGEST = 200


class Sections(TyperGroup):
    """A group of commands that lists them under headings; what is named nowhere comes last."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the headings, each with its commands and what they do."""
        shown = {name: self.get_command(ctx, name) for name in self.list_commands(ctx)}
        told = {
            name: command.get_short_help_str(LONGEST)
            for name, command in shown.items()
            if command is not None and not command.hidden
        }
        named = {name for names in SECTIONS.values() for name in names}
        rest = tuple(name for name in told if name not in named)
        for heading, names in {**SECTIONS, REST: rest}.items():
            rows = [(name, told[name]) for name in names if name in told]
            if rows:
                with formatter.section(heading):
                    formatter.write_dl(rows)
