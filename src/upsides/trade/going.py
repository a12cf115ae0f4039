"""The going: one authority's term for one surface, alone or with another term "in places".

Terms of one scale are in order, firmest or fastest first. There is no order between authorities or surfaces,
and none where an authority's terms have none (dirt in the United States); comparing such goings is refused.
"""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import total_ordering
from typing import Final, Literal, Self

from upsides.errors import NotComparableError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.going_scales import ACCENTED, AUTHORITIES, FRENCH_BANDS, LOCAL, SCALES, Scale
from upsides.trade.reading import MISSING, Parsed, exact, number, read_column, tidy, written
from upsides.trade.surface import Surface

GoingStyle = Literal["plain", "brackets", "capitals", "local"]

_PLACES: Final = re.compile(r"(.+?) ?(?:, ?| ?\()(.+?) in (?:a few )?places\)?")
_READING: Final = re.compile(
    r"(?P<words>.*?[a-z)])?[ ,;]*\(?(?:(?:going ?stick|penetrometre|index|indice) ?:? ?)?"
    r"(?P<reading>\d{1,2}[.,]\d{1,2})\)?"
)


@total_ordering
@dataclass(frozen=True, slots=True)
class Going:
    """A going.

    Attributes:
        authority: whose term it is, e.g. "Britain".
        surface: what it is said of.
        term: the authority's term, in lower case without accents.
        places: a second term met "in places", or "".
        reading: the instrument's figure printed beside the term, not compared; instruments of different
            countries, and of different courses, have different scales.
    """

    authority: str
    surface: Surface
    term: str
    places: str = ""
    reading: Fraction | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        scale = _scale(self.authority, self.surface)
        for term in (self.term, self.places):
            if term and scale.term(term) != term:
                raise UnreadableError(_("going"), term, _expected([scale]))

    @classmethod
    def parse(cls, text: str, authority: str, surface: Surface | None = None) -> Self:
        """Read a going.

        Args:
            text: e.g. "Good, Good to Soft in places", "GF" (Britain), "GOOD TO YIELDING", "bon souple (3,4)", "Good 4",
                "稍重".
            authority: whose words they are, as a name or a two-letter country code.
            surface: what they are said of; needed where an authority uses one word on two surfaces.

        Raises:
            UnreadableError: the authority is not known, the term is not on its lists, or it is on two of
                them.
        """
        country = _authority(authority)
        words, reading = _split_reading(tidy(text))
        if not words and reading is not None and country == "France":
            return cls(country, Surface.TURF, _french_term(reading), "", reading)
        found = []
        scales = [scale for (name, _), scale in SCALES.items() if name == country]
        for scale in scales:
            terms = _terms(words, scale) if surface in {None, scale.surface} else None
            if terms:
                found.append(cls(country, scale.surface, *terms, reading))
        if len(found) == 1:
            return found[0]
        if found:
            surfaces = " and ".join(going.surface for going in found)
            raise UnreadableError(
                _("going"),
                text,
                _(
                    "{text}, with the surface ({country} says so of {surfaces})",
                    text=text,
                    country=country,
                    surfaces=surfaces,
                ),
            )
        raise UnreadableError(_("going"), text, _expected([s for s in scales if surface in {None, s.surface}]))

    @property
    def rank(self) -> float | None:
        """Place of the term on its own list, 1 firmest or fastest; None where no order is agreed."""
        return _scale(self.authority, self.surface).rank(self.term)

    def __lt__(self, other: object) -> bool:
        """Say whether this going is firmer or faster; ground "in places" counts after the main term.

        Raises:
            NotComparableError: the two are of different authorities or surfaces, or a term has no agreed
                place.
        """
        if not isinstance(other, Going):
            return NotImplemented
        if self == other:
            return False
        reason = _(
            "{authority} {surface} against {other_authority} {other_surface}",
            authority=self.authority,
            surface=self.surface,
            other_authority=other.authority,
            other_surface=other.surface,
        )
        if (self.authority, self.surface) != (other.authority, other.surface):
            raise NotComparableError(
                str(self), str(other), _("{reason}; every authority and surface has its own list", reason=reason)
            )
        one, two = self._place(), other._place()
        if one is None or two is None or one == two:
            raise NotComparableError(
                str(self), str(other), _("these terms of {reason} have no agreed order", reason=reason)
            )
        return one < two

    def _place(self) -> tuple[float, float] | None:
        scale = _scale(self.authority, self.surface)
        term, places = scale.rank(self.term), scale.rank(self.places or self.term)
        return None if term is None or places is None else (term, places)

    def __str__(self) -> str:
        """Return the going in plain words; `parse` with the same authority and surface reads it back."""
        return self.text("plain")

    def text(self, style: GoingStyle = "plain") -> str:
        """Write the going, French terms with their accents.

        Args:
            style: "plain" good, good to soft in places; "brackets" Good (Good to Soft in places); "capitals"
                GOOD TO YIELDING; "local" in its own country's writing, 稍重.
        """
        local = LOCAL.get((self.authority, self.surface), {}) if style == "local" else ACCENTED
        term, places = (local.get(word, ACCENTED.get(word, word)) for word in (self.term, self.places))
        if style == "brackets":
            term, places = (word.title().replace(" To ", " to ") for word in (term, places))
        both = term
        if places:
            both = f"{term} ({places} in places)" if style == "brackets" else f"{term}, {places} in places"
        reading = "" if self.reading is None else f" ({written(self.reading, 1)})"
        return (both.upper() if style == "capitals" else both) + reading


def french_going(index: float | Fraction) -> Going:
    """Return the French turf term for a penetrometer index, which is published to one decimal.

    Raises:
        UnreadableError: the index is not above zero.
    """
    reading = exact(index)
    if reading <= 0:
        raise UnreadableError(_("penetrometer index"), index, "3.4")
    return Going("France", Surface.TURF, _french_term(reading), "", reading)


def _french_term(index: Fraction) -> str:
    return next(term for upper, term in FRENCH_BANDS if float(round(index, 1)) <= upper)


def _authority(name: str) -> str:
    found = AUTHORITIES.get(name.strip().casefold())
    if found is None:
        raise UnreadableError(_("authority"), name, ", ".join(sorted(set(AUTHORITIES.values()))))
    return found


def _scale(authority: str, surface: Surface) -> Scale:
    if (authority, surface) not in SCALES:
        raise UnreadableError(_("going scale"), f"{authority} {surface}", ", ".join(" ".join(key) for key in SCALES))
    return SCALES[authority, surface]


def _expected(scales: list[Scale]) -> str:
    return "; ".join(f"({s.authority} {s.surface}) {', '.join(s.ranks)}" for s in scales)


def _split_reading(words: str) -> tuple[str, Fraction | None]:
    match = _READING.fullmatch(words)
    if match is None:
        return words, None
    return match["words"] or "", number(match["reading"])


def _terms(words: str, scale: Scale) -> tuple[str, str] | None:
    match = _PLACES.fullmatch(words)
    main = scale.term(match[1] if match else words)
    places = scale.term(match[2]) if match else ""
    return None if main is None or places is None else (main, places)


def parse_goings(
    texts: Iterable[str | None], authority: str, surface: Surface, missing: Collection[str] = MISSING
) -> Parsed:
    """Read a column of one authority's goings on one surface, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        authority: whose words they are, as a name or a two-letter country code.
        surface: what they are said of.
        missing: tidied texts that mean "not recorded".

    Returns:
        Ranks of the main terms on that list, 1 firmest or fastest, float64 of shape (n,), NaN where not
        recorded, unreadable, or a term without an agreed order; and the mask of the unreadable ones.

    Raises:
        UnreadableError: the authority is not known, or has no list for the surface.
    """
    country = _scale(_authority(authority), surface).authority
    return read_column(texts, lambda text: _rank(Going.parse(text, country, surface)), missing)


def _rank(going: Going) -> float:
    return float("nan") if going.rank is None else going.rank
