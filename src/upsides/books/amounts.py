"""Amounts of feed as people type them: 2, 1.5 kg, 1½, 500 g, 3 lb; a delivery as 1 t or 1,250 kg."""

import re
from typing import Final

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import GROUPED, LONGEST, NUMBER, number, tidy
from upsides.trade.units import POUND_KG

MOST_SERVING: Final = 20.0
"""kg of one feed at one feed time; more than any horse is given, so that grams typed as kilograms are noticed."""
MOST_DELIVERED: Final = 100_000.0
"""kg of one delivery."""
_UNITS: Final = {
    **dict.fromkeys(("", "kg", "kgs", "kilo", "kilos", "k"), 1.0),
    **dict.fromkeys(("g", "gr", "gram", "grams"), 0.001),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), POUND_KG),
    **dict.fromkeys(("t", "tonne", "tonnes"), 1000.0),
}
_TYPED: Final = re.compile(rf"({NUMBER}|{GROUPED}) ?([a-z]*)\.?")
_VESSEL: Final = re.compile(r"\b(scoop|bowl|bucket|handful|section|slice|flake|wedge|net|bale|bag|cup|mug|tin)s?\b")


def read_serving(field: str, text: str) -> float:
    """Return kg of a feed at a feed time, to a gram; 0 for nothing typed.

    Args:
        field: what the amount is of, for the refusal.
        text: as typed.

    Raises:
        FeedingRefusedError: it is no weight, or more than any horse is given.
    """
    return _within(field, text, MOST_SERVING, _("no horse is given so much of it at once")) if text.strip() else 0.0


def read_delivery(field: str, text: str) -> float:
    """Return kg of a delivery.

    Raises:
        FeedingRefusedError: it is no weight above nothing, or more than a lorry holds.
    """
    found = _within(field, text, MOST_DELIVERED, _("no lorry brings so much"))
    if found == 0:
        raise FeedingRefusedError(field, text, _("nothing was delivered"), _("write down what came, or leave it out"))
    return found


def _within(field: str, text: str, most: float, reason: str) -> float:
    found = _read(field, text, grouped=most == MOST_DELIVERED)
    if found > most:
        raise FeedingRefusedError(field, text, reason, _("look at the unit; {most:g} kg is the most", most=most))
    return found


def _read(field: str, text: str, *, grouped: bool) -> float:
    plain = tidy(text[:LONGEST])
    if vessel := _VESSEL.search(plain):
        reason = _("a {vessel} holds another weight of every feed", vessel=vessel[1])
        raise FeedingRefusedError(
            field, text, reason, _("weigh a {vessel} of this feed once and write kilograms", vessel=vessel[1])
        )
    found = _TYPED.fullmatch(plain)
    digits = found[1] if found else ""
    if grouped and re.fullmatch(GROUPED, digits):
        digits = re.sub("[, ]", "", digits)
    value = number(digits)
    if found is None or value is None or found[2] not in _UNITS:
        raise FeedingRefusedError(field, text, _("it is no weight"), _("write it like 2, 1.5 kg or 500 g"))
    return round(float(value) * _UNITS[found[2]], 3)
