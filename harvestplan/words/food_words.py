"""Foods as people name them: "snap beans, cut", "squash purée", "chicken pieces", "kale leaves".

What is written so is understood by `inputs/spoken` as the crop or product it names.
"""

from __future__ import annotations

MANY = {
    "apple cider": "apple cider", "asparagus": "asparagus", "basil": "basil", "beef cut": "beef",
    "berry flat": "berries by the flat", "broccoli": "broccoli", "cabbage": "cabbage",
    "cauliflower": "cauliflower", "celery": "celery", "chard": "chard",
    "edible-pod pea": "edible-pod peas", "garlic": "garlic", "kale": "kale", "kohlrabi": "kohlrabi",
    "minced meat": "minced meat", "okra": "okra", "parsley": "parsley",
    "peach crate": "peaches by the crate", "rhubarb": "rhubarb", "rice": "rice",
    "shrimp": "shrimp", "spinach": "spinach", "summer squash": "summer squash",
    "sweet corn": "sweet corn", "winter squash": "winter squash",
}  # fmt: skip
"""Crops whose plural is not made by the rule."""
_MASSES = ("corn", "squash", "meat", "stew", "fish", "cider", "juice", "rice", "lettuce", "cress",
           "mint", "thyme", "dill", "asparagus", "broccoli", "garlic", "kale",
           "spinach")  # fmt: skip
"""Last words of names that have no plural."""
_OWN = {"apple cider, juice": "apple cider", "dry pea, soup": "pea soup",
        "mustard green, leaf": "mustard greens",
        "cucumber, freezer pickle": "cucumber freezer pickles"}  # fmt: skip
_AFTER_ONE = {
    "purée": "{one} purée", "sauce": "{one} sauce", "juice": "{one} juice", "soup": "{one} soup",
    "kernel": "{one} kernels", "cob": "{one} on the cob", "leaf": "{one} leaves",
    "florets": "{one} florets", "spears": "{one} spears", "halves": "{one} halves",
    "strips": "{one} strips", "cubes": "{one} cubes", "portioned": "{many}", "sealed": "{many}",
    "dried": "dried {many}", "stalks": "{one} stalks", "zest": "{one} zest",
    "dried peel": "dried {one} peel", "ice cubes": "{one} ice cubes",
    "cubes with oil": "{one} cubes with oil",
}  # fmt: skip
"""What is made of a crop and is not called "crop, form"."""


def crop_many(crop: str) -> str:
    """A crop as a heap of it is called: "tomatoes", "kale", "chicken pieces"."""
    if crop in MANY or crop.rpartition(" ")[2] in _MASSES:
        return MANY.get(crop, crop)
    if not all(letter.isalpha() or letter in " -'" for letter in crop):
        return crop  # a name of the household's own that no rule knows
    if crop.endswith("y") and crop[-2:-1] not in "aeiou":
        return crop[:-1] + "ies"
    if crop.endswith(("ch", "sh", "x", "ss", "tomato", "potato", "mango")):
        return crop + "es"
    return crop if crop.endswith("s") or not crop[-1:].isascii() else crop + "s"


def product_words(product: str) -> str:
    """A product "crop, form" as people name it."""
    crop, comma, form = product.partition(", ")
    if not comma:
        return product
    many = crop_many(crop)
    pattern = _AFTER_ONE.get(form, "{many}, " + form.replace("{", "{{").replace("}", "}}"))
    return _OWN.get(product) or pattern.format(one=crop, many=many)


ORDINALS = ("", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth",
            "ninth", "tenth", "eleventh", "twelfth")  # fmt: skip


def the_batch(number: int, food: str) -> str:
    """Like "the second batch of snap beans"."""
    if number < len(ORDINALS):
        return f"the {ORDINALS[number]} batch of {food}"
    return f"batch {number} of {food}"
