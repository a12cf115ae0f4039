"""What is asked of the page about a horse's trip: what to leave out, and a trip to try in thought."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from django.http import QueryDict

from upsides.errors import UnreadableError, UpsidesError
from upsides.errors.wording import gettext
from upsides.trade.distance import Distance
from upsides.web.shell.refusals import refused
from upsides.web.trip.words import PIECES, trip_words

SHORTEST_F: Final = 3.5
LONGEST_F: Final = 24.0
"""Trips that can be asked for, furlongs: what the model thinks of at all."""
LONGEST: Final = 30


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked.

    Args:
        without: pieces of evidence to leave out, in the order of `PIECES`.
        typed: the trip to try in thought as it was typed, empty for none.
        furlongs: the same, None where there is none or it cannot be read.
        wrong: why it cannot be read, in English; empty where it can.
        chosen: whether the pieces were ticked in the form, rather than named in the address.
    """

    without: tuple[str, ...]
    typed: str
    furlongs: float | None
    wrong: str
    chosen: bool

    def address(self, available: Sequence[str], as_of: str) -> str:
        """Return the query of the shortest address that asks the same of a horse with these pieces."""
        pairs = [("without", piece) for piece in self.without if piece in available]
        pairs += [pair for pair in (("what_if", self.typed), ("as_of", as_of)) if pair[1]]
        return f"?{urlencode(pairs)}" if pairs else ""


def asked_of(query: QueryDict) -> Asked:
    """Read what is asked; pieces that there are not are passed over.

    The form names the pieces to use, under `use`, and says by `chosen` that it does; an address names those to leave
    out, under `without`.
    """
    used, left, chosen = query.getlist("use"), query.getlist("without"), bool(query.get("chosen"))
    without = tuple(piece for piece in PIECES if (piece not in used if chosen else piece in left))
    typed = query.get("what_if", "").strip()[:LONGEST]
    furlongs, wrong = _read(typed)
    return Asked(without, typed, furlongs, wrong, chosen)


def _read(typed: str) -> tuple[float | None, str]:
    if not typed:
        return None, ""
    try:
        furlongs = Distance.parse(typed).furlongs
        if not SHORTEST_F <= furlongs <= LONGEST_F:
            raise UnreadableError(
                gettext("trip"),
                typed,
                gettext(
                    "one from {shortest_f} to {longest_f}",
                    shortest_f=trip_words(SHORTEST_F),
                    longest_f=trip_words(LONGEST_F),
                ),
            )
    except UpsidesError as error:
        return None, refused(error)
    return furlongs, ""
