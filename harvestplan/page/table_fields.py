"""Which keys of the season's tables a form asks for, in plain words; what else is there stays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "text", "amount", "whole", "number", "date", "time", "yes", "choice", "days", "names"
]


@dataclass(frozen=True)
class FormField:
    """One key of a table: how it is asked for; `options` are (value, words) of a choice, `known`
    the list that helps to write it."""

    key: str
    label: str
    kind: Kind
    hint: str = ""
    options: tuple[tuple[str, str], ...] = ()
    known: str = ""


@dataclass(frozen=True)
class TableForm:
    """A kind of table: what it is called, whether it stands once, and what is asked of it."""

    table: str
    title: str
    one: str
    fields: tuple[FormField, ...]
    brief: tuple[str, ...] = ()
    """The keys that tell it in a line, the first before a colon; all where none is named."""
    many: bool = True
    room: Literal["household", "kitchen", "garden"] = "household"


def _q(key: str, label: str, hint: str = "") -> FormField:
    return FormField(key, label, "amount", hint)


MEASURES = (
    ("US", "US: pounds, quarts"),
    ("UK", "UK: pounds, pints"),
    ("metric", "kilograms, litres"),
)
FORMS: tuple[TableForm, ...] = (
    TableForm(
        "household",
        "Who you are",
        "your household",
        (
            FormField("name", "Name of the household", "text"),
            FormField("timezone", "Time zone", "text", "Like America/Chicago or Europe/Berlin."),
            _q(
                "altitude",
                "Height above the sea",
                "Like 300 ft or 90 m. Water boils cooler high up.",
            ),
            FormField("measures", "Measures", "choice", options=MEASURES),
            FormField("hands", "People at work of an evening", "whole"),
            FormField(
                "cooks",
                "Their names",
                "names",
                "With commas: Ada, Ben. The sheet then says whose hands.",
            ),
            FormField(
                "practised",
                "How practised",
                "choice",
                options=(
                    ("beginner", "we are beginning"),
                    ("some", "we have done it before"),
                    ("practised", "we are practised"),
                ),
            ),
        ),
        many=False,
        brief=("name", "measures", "timezone"),
    ),
    TableForm(
        "season",
        "The season",
        "the season",
        (
            FormField("start", "First day", "date"),
            FormField("end", "Last day", "date"),
            FormField("max_sessions_per_week", "Evenings a week, at most", "whole"),
            FormField("max_sessions", "Evenings in all, at most", "whole"),
            FormField(
                "evening_is_worth",
                "An evening must bring at least",
                "text",
                "Like 2 portions. More, and small evenings are left out.",
            ),
            FormField(
                "visits",
                "When somebody can look in for half an hour",
                "text",
                "Like 17:30-18:00, or none.",
            ),
            _q("smallest_batch", "For less raw food than this no pot is got out", "Like 2 lb."),
        ),
        many=False,
        brief=("start", "end"),
    ),
    TableForm(
        "window",
        "Free kitchen time, every week",
        "time in the week",
        (
            FormField("days", "Days", "days"),
            FormField("start", "From", "time"),
            FormField("end", "To", "time"),
            FormField("hands", "People then", "whole", "Leave it empty for the usual number."),
        ),
    ),
    TableForm(
        "extra_window",
        "Evenings added",
        "evening",
        (
            FormField("date", "Day", "date"),
            FormField("start", "From", "time"),
            FormField("end", "To", "time"),
        ),
    ),
    TableForm(
        "away",
        "Days away",
        "time away",
        (FormField("start", "First day", "date"), FormField("end", "Last day", "date")),
    ),
    TableForm(
        "pot",
        "Pots",
        "pot",
        (
            FormField("name", "What you call it", "text"),
            _q("volume", "How much it holds", "Like 8 US qt or 8 L."),
            _q("power", "Power of its burner", "Like 1.8 kW or 9000 BTU/h."),
            FormField(
                "kind",
                "Kind of stove",
                "choice",
                options=(("electric", "electric"), ("gas", "gas"), ("induction", "induction")),
            ),
        ),
        room="kitchen",
        brief=("name", "volume", "power", "kind"),
    ),
    TableForm(
        "bath",
        "Basins",
        "basin",
        (
            FormField("name", "What you call it", "text"),
            _q("volume", "How much it holds", "Like 5 US gal."),
        ),
        room="kitchen",
    ),
    TableForm(
        "oven",
        "Oven",
        "oven",
        (
            FormField("name", "What you call it", "text"),
            FormField("trays", "Trays", "whole"),
            _q("tray_load", "Food on one tray", "Like 4 lb."),
        ),
        room="kitchen",
    ),
    TableForm(
        "sealer",
        "Sealing machine",
        "sealing machine",
        (
            FormField(
                "kind",
                "Kind",
                "choice",
                options=(
                    ("none", "none: zip bags and boxes"),
                    ("external", "the bag’s mouth lies outside"),
                    ("chamber", "with a chamber and a lid"),
                ),
            ),
            _q("bar", "Length of its sealing bar", "Like 12 in or 30 cm."),
        ),
        many=False,
        room="kitchen",
        brief=("kind", "bar"),
    ),
    TableForm(
        "pouch",
        "Pouches, bags and boxes",
        "size",
        (
            FormField("name", "What you call it", "text"),
            FormField(
                "kind",
                "Kind",
                "choice",
                options=(
                    ("pouch", "pouch for the machine"),
                    ("zip bag", "zip bag"),
                    ("box", "box or jar"),
                ),
            ),
            _q("width", "Width", "Of pouches and bags, lying flat: 8 in."),
            _q("length", "Length", "Of pouches and bags: 12 in."),
            _q("film", "Film", "Of pouches: 3 mil."),
            _q("volume", "Holds", "Of boxes, to the brim: 1 US pint."),
            FormField(
                "mouth",
                "Mouth",
                "choice",
                "Of boxes and jars.",
                (("", "–"), ("wide", "wide"), ("narrow", "narrow")),
            ),
            FormField("in_stock", "How many lie there", "whole"),
            FormField("pack", "Pieces in a packet", "whole"),
            FormField("price", "Price of a packet", "number"),
        ),
        room="kitchen",
        brief=("name", "kind", "in_stock"),
    ),
    TableForm(
        "freezer",
        "Freezers",
        "freezer",
        (
            FormField("name", "What you call it", "text"),
            _q("volume", "How much it holds", "Like 7 cu ft or 200 L."),
            _q("used", "Taken by other things", "Like 1 cu ft or 30 L."),
        ),
        room="kitchen",
    ),
    TableForm(
        "cold",
        "Fridge and cellar",
        "fridge and cellar",
        (
            _q("fridge", "Room in the fridge for food that waits", "Like 20 L."),
            FormField("cellar", "There is a cool cellar", "yes"),
        ),
        many=False,
        room="kitchen",
    ),
    TableForm(
        "want",
        "What you want in store",
        "want",
        (
            FormField("product", "What", "text", known="products"),
            FormField("portions", "How many portions", "whole"),
            _q("portion", "Size of one", "Like 12 oz, 350 g or 2 US cups."),
            FormField(
                "priority", "How dear it is to you", "number", "1 is usual, 2 twice as dear."
            ),
            FormField("per_week", "Portions you eat a week", "number"),
        ),
        room="garden",
        brief=("product", "portions", "portion"),
    ),
    TableForm(
        "planting",
        "What grows",
        "planting",
        (
            FormField("crop", "What", "text", known="crops"),
            FormField("id", "What you call it", "text", "Only where there are several of it."),
            FormField("plants", "Plants", "whole", "Plants, row or bed: one of the three."),
            _q("row", "Row", "Like 30 ft or 10 m."),
            _q("area", "Bed", "Like 4x10 ft or 2 m2."),
            FormField("sown", "Sown on", "date", "Sown or set out: one of the two."),
            FormField("set_out", "Set out on", "date"),
            _q("yield", "What it gives in all", "Only where you know it: 20 lb."),
        ),
        room="garden",
        brief=("crop", "id", "plants", "row", "area", "sown", "set_out"),
    ),
    TableForm(
        "bought",
        "Bought in bulk",
        "purchase",
        (
            FormField("item", "What", "text", known="goods"),
            _q("amount", "How much", "Like 20 lb."),
            FormField("on", "When", "date"),
        ),
        room="garden",
    ),
    TableForm(
        "fresh",
        "Eaten fresh every week",
        "fresh food",
        (
            FormField("crop", "What", "text", known="crops"),
            _q("per_week", "How much a week", "Like 3 lb."),
        ),
        room="garden",
    ),
    TableForm(
        "stored",
        "In store from last year",
        "stored food",
        (
            FormField("product", "What", "text", known="products"),
            FormField("portions", "How many portions", "whole"),
            _q("portion", "Size of one", "Like 12 oz."),
            FormField("frozen_on", "Put by on", "date"),
        ),
        room="garden",
        brief=("product", "portions", "portion"),
    ),
)
