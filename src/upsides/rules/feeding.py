"""Rules on feeding: which there are, and one of them in words."""

from typing import Final

from upsides.rules.rule import Entry

FEEDING: Final = {
    "maintenance": ("minimum", "average", "elevated"),
    "work": ("light", "moderate", "heavy", "very heavy"),
    "dry matter": ("forage wanted", "forage least", "appetite"),
    "starch": ("meal", "day"),
    "hours from": ("light", "moderate", "heavy", "very heavy"),
    "days from": ("canter", "fast work"),
}
"""The kinds of rules on feeding, and what each kind is given for."""


def describe_feeding(entry: Entry) -> str:
    """Return what a rule on feeding says.

    Raises:
        LookupError: a figure is missing.
        ValueError: it is of no known kind, or its value is not above zero.
    """
    kind, of, value = entry.body["kind"], entry.body["of"], entry.body["value"]
    if of not in FEEDING.get(kind, ()):
        raise ValueError(f"{kind!r} of {of!r} is none of the rules on feeding")
    if not 0 < value < float("inf"):
        raise ValueError(f"{value!r} is not above zero")
    return f"{value:g} {entry.body['unit']}"
