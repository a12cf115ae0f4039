"""What is filled in when somebody calls a horse."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final
from uuid import UUID, uuid4

from upsides.books.services.calls import Said
from upsides.condition.called import QUESTIONS
from upsides.condition.calls import About
from upsides.errors import CallRefusedError
from upsides.errors.wording import gettext
from upsides.web.condition.call_words import ASKED, CHANCES, MEANS
from upsides.web.trip.words import trip_words

TRIPS: Final[tuple[float, ...]] = tuple(half / 2 for half in (*range(10, 29), 30, 32, 36, 40))
"""Trips that can be chosen, furlongs."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question as the form asks it.

    Args:
        about: its name.
        words: the question.
        means: what counts, in a sentence.
        field: its name in the form.
        chances: what can be chosen: value, words, whether it is chosen.
        trips: of the trip the trips that can be chosen: value, words, whether it is chosen.
        client_id: number of the call that it makes.
    """

    about: About
    words: str
    means: str
    field: str
    chances: tuple[tuple[str, str, bool], ...]
    trips: tuple[tuple[str, str, bool], ...]
    client_id: str


def questions(answered: Collection[str], typed: Mapping[str, str]) -> list[Question]:
    """Return the questions that are still to be asked, with what was chosen and refused before."""
    found = []
    for about in QUESTIONS:
        if about in answered:
            continue
        field = _field(about)
        chances = tuple((value, str(words), typed.get(field) == value) for value, (_p, words) in CHANCES.items())
        chosen = typed.get(f"{field}-trip", "")
        trips = tuple((f"{one:g}", trip_words(one), chosen == f"{one:g}") for one in TRIPS) if about == "trip" else ()
        number = typed.get(f"{field}-id") or str(uuid4())
        found.append(Question(about, str(ASKED[about]), str(MEANS[about]), field, chances, trips, number))
    return found


def said_in(typed: Mapping[str, str]) -> list[Said]:
    """Return what was said in the form; questions that were left are not in it.

    Raises:
        CallRefusedError: something in it cannot be read.
    """
    found = []
    for about in QUESTIONS:
        value = typed.get(_field(about), "")
        if not value:
            continue
        if value not in CHANCES:
            raise CallRefusedError(
                gettext("chance"), value[:20], gettext("it is none of those offered"), gettext("choose one")
            )
        trip = _trip(typed.get(f"{_field(about)}-trip", "")) if about == "trip" else None
        found.append(Said(_number(typed.get(f"{_field(about)}-id", "")), about, CHANCES[value][0], trip))
    return found


def _field(about: str) -> str:
    return about.replace(" ", "_")


def _trip(text: str) -> float:
    known = {f"{one:g}": one for one in TRIPS}
    if text not in known:
        raise CallRefusedError(
            gettext("trip"), text[:20], gettext("none was chosen"), gettext("choose the trip as well as the chance")
        )
    return known[text]


def _number(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise CallRefusedError(
            gettext("call"), text[:20], gettext("its number cannot be read"), gettext("load the page again")
        ) from None
