"""Writes of answers that a worker made."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from upsides.books import clock
from upsides.books.models import Answer


def store(name: str, day: date, values: Mapping[str, Any], made_from: Mapping[str, Any]) -> Answer:
    """Keep an answer; where the last one of the day was made from the same and says the same, that one stands.

    The last answer of a day is the one that was made last: where the clock stands behind its last answer, as an
    invented yard's does after midnight, the answer bears the same moment as that one.
    """
    last = Answer.objects.filter(name=name, day=day).order_by("-recorded_at", "-pk").first()
    if last is not None and last.values == values and last.made_from == made_from:
        return last
    at = clock.now() if last is None else max(clock.now(), last.recorded_at)
    return Answer.objects.create(name=name, day=day, values=values, made_from=made_from, recorded_at=at)
