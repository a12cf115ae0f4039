"""Writes of answers that a worker made."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from upsides.books import clock
from upsides.books.models import Answer


def store(name: str, day: date, values: Mapping[str, Any], made_from: Mapping[str, Any]) -> Answer:
    """Keep an answer; where the last one of the day was made from the same and says the same, that one stands."""
    last = Answer.objects.filter(name=name, day=day).order_by("-recorded_at", "-pk").first()
    if last is not None and last.values == values and last.made_from == made_from:
        return last
    return Answer.objects.create(name=name, day=day, values=values, made_from=made_from, recorded_at=clock.now())
