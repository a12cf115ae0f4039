"""What a race's title and class say of it, in the words by which conditions tell races apart."""

import re
from typing import Final

from upsides.placing.conditions.runs_meant import KIND, kinds_of

CLASSES: Final = (
    (r"\b(?:group|grade|gr\.?|g)\s?(?:1|i)\b(?!i)", "group 1"),
    (r"\b(?:group|grade|gr\.?|g)\s?(?:2|ii)\b(?!i)", "group 2"),
    (r"\b(?:group|grade|gr\.?|g)\s?(?:3|iii)\b", "group 3"),
    (r"\blisted\b", "listed"),
    (r"\bclass\s?([1-7])\b", r"\1"),
)


def class_named(text: str) -> str:
    """Return the class that a text names, in small letters; a bare figure of a column is a class as well."""
    low = " ".join(text.lower().split())
    for pattern, name in CLASSES:
        if match := re.search(pattern, low):
            return match.expand(name)
    match = re.match(r"([1-7])(?: |$)", low)
    return match[1] if match else ""


def kinds_named(text: str) -> frozenset[str]:
    """Return the kinds of race that a title names: maiden, handicap, selling ..."""
    return frozenset(kind for word in re.findall(KIND, text, re.IGNORECASE) for kind in kinds_of(word))
