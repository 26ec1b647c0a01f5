"""Numbers in words and figures: "two dozen", "a pound and a half", "8,5", "12,000"."""

from __future__ import annotations

import re
from fractions import Fraction

_ONES = (
    "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen"
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
WORDS = {word: number for number, word in enumerate(_ONES.split(), 1)} | {
    word: 10 * number for number, word in enumerate(_TENS.split(), 2)
}
"""Numbers as words; "twenty-four" is the sum of two."""
_WORD = "|".join(sorted(WORDS, key=len, reverse=True))
_FIGURES = r"\d+(?:[.,]\d+)?"
_DOZENS = re.compile(r"(?<![\d/.,])(\d{1,4}(?: [13]/[24])?|[13]/[24]) dozen\b")
_VAGUE = re.compile(r"^(?:about|around|approximately|approx\.?|roughly|some|ca\.?|circa|~|≈)\s*")


def figures(said: str) -> str:
    """The words with their numbers in figures: "a pound and a half" is "1 1/2 pound".

    "about" and the like before a number are left out; "a few" stays, and is no number.
    """
    text = " ".join(said.strip().lower().split())
    text = _VAGUE.sub("", text)
    text = re.sub(r"\b(?:an?|one) ((?!few|lot|couple|bit)[a-z]+) and a half\b", r"1 1/2 \1", text)
    text = re.sub(r"\bthree[ -]quarters?(?: of)?(?: an?)?\b", "3/4", text)
    text = re.sub(r"\b(?:a )?quarter(?: of)?(?: an?)? (?=[a-z])", "1/4 ", text)
    text = re.sub(r"\bhalf a dozen\b", "6", text)
    text = re.sub(rf"\b({_WORD})(?:[ -]({_WORD}))?\b", _value, text)
    text = re.sub(r"\b(\d+) (?:and )?a half\b", r"\1 1/2", text)
    text = re.sub(rf"\b({_FIGURES}) ([a-z]+) and a half\b", r"\1 1/2 \2", text)
    text = re.sub(r"\b(?:a )?half(?: of)?(?: an?)? (?=[a-z])", "1/2 ", text)
    text = _DOZENS.sub(lambda found: f"{float(12 * sum(map(Fraction, found[1].split()))):g}", text)
    text = re.sub(r"\b(?:a )?dozen\b", "12", text)
    text = re.sub(r"\b(?:a )?couple(?: of)?\b", "2", text)
    text = re.sub(r"^an? (?!few|lot|bit)(?=[a-z])", "1 ", text)
    return re.sub(r"^an? (?=\d)", "", text)


def _value(found: re.Match[str]) -> str:
    first, second = WORDS[found[1]], WORDS.get(found[2] or "", 0)
    if second and not (first >= 20 and second < 10):
        return f"{first} {second}"
    return str(first + second)


_THREE = re.compile(r"(?<![\d.,])(\d{1,3})([.,])(\d{3})(?![\d.,])")
_BLANKS = re.compile(r"(?<![\d.,/])(\d{1,3})[ \u00a0\u202f'’](\d{3})(?![\d.,/])")
_GROUPS = re.compile(r"(?<![\d.,])\d{1,3}(?:,\d{3}){2,}(?![\d,])|\d{1,3}(?:,\d{3})+(?=\.\d)")
_COMMA = re.compile(r"(?<![\d.,])(\d+),(\d+)(?![\d.,])")


def decimals(text: str, measures: str) -> list[str]:
    """How the numbers of a text may be read with a decimal point, the likeliest first.

    "8,5" is one thing only; "1,500" is a thousand and more with US and UK measures, and either with
    metric ones, where "1.500" is either too. Blanks part thousands everywhere.
    """
    text = _BLANKS.sub(r"\1\2", text)
    text = _GROUPS.sub(lambda found: found[0].replace(",", ""), text)
    three = _THREE.search(text)
    if three is None:
        return [_COMMA.sub(r"\1.\2", text)]
    whole, mark, rest = three.groups()
    before, after = text[: three.start()], text[three.end() :]
    thousands, fraction = f"{before}{whole}{rest}{after}", f"{before}{whole}.{rest}{after}"
    if whole.startswith("0"):
        return [fraction]
    if measures != "metric":
        return [fraction if mark == "." else thousands]
    return [thousands, fraction] if mark == "," else [fraction, thousands]
