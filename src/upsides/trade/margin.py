"""Winning and beaten margins: 1-1/4, 1¼, SH, shd, nk, HD, NOSE, dist, dht, tête, encolure, ハナ, 大差, ML, -.

A margin is a number of lengths or a name. What a name is worth differs from country to country and from list
to list, so a name is turned into lengths only with a list, which the rules room holds. The order of the names
is the same in every list; a name against a fraction of a length has no such order, and comparing them is
refused.
"""

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import total_ordering
from typing import Final, Literal, Self

from upsides.errors import MarginNotListedError, NotComparableError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import (
    MISSING,
    NUMBER,
    Parsed,
    exact,
    mixed,
    number,
    read_column,
    tidy,
    vulgar,
    written,
)

MarginStyle = Literal["words", "british", "american", "hong kong", "french", "japanese"]

NAMES: Final = {
    "winner": -1,
    "dead heat": 0,
    "nose": 1,
    "short head": 2,
    "head": 3,
    "long head": 4,
    "half neck": 4,
    "short neck": 4,
    "neck": 5,
    "long neck": 6,
    "many lengths": 8,
    "distance": 8,
}
"""Names of margins and their common order; names of one place are not ordered among themselves."""
_NOTHING_PLACE: Final = 0.5
_LENGTHS_PLACE: Final = 7.0
WIDE: Final = frozenset({"many lengths", "distance"})
"""Names of margins so wide that no length was published."""

_WORDS: Final = {
    "winner": "-",
    "dead heat": "dead-heat, deadheat, dht, dh, d.h., d-h, ex aequo, ex-aequo, 同着",
    "nose": "nse, ns, no, no., nez, ハナ, ハナ差, 鼻",
    "short head": "sh, shd, sht hd, sht-hd, sh hd, short-head, courte tête, cte tête, c. tête, c tête, ct",
    "head": "hd, h, h., hd., tête, アタマ, アタマ差, 頭",
    "long head": "lh, lhd, long-head",
    "half neck": "hn, hnk, half-neck, 1/2 neck",
    "short neck": "snk, sn, short-neck, courte encolure, cte encolure, c. encolure, ce",
    "neck": "nk, n, nk., enc, enc., encolure, クビ, クビ差, 首",
    "long neck": "ln, lnk, long-neck",
    "many lengths": "ml, 大差",
    "distance": "dist, dist., ds, dst, a distance, loin",
}
_READ: Final = {tidy(word): name for name, words in _WORDS.items() for word in (name, *words.split(", ")) if word} | {
    "half length": "1/2",
    "half a length": "1/2",
    "three-quarter length": "3/4",
    "three-quarters of a length": "3/4",
}
_UNIT: Final = r"(?:lengths?|len|longueurs?|long|lgs?|l|馬身)\.?"
_LENGTHS: Final = re.compile(rf"({NUMBER}) ?(?:{_UNIT})?")
_SPLIT: Final = re.compile(rf"(\d+) ?{_UNIT} ?(?:et )?(\d+/\d+)")
EXPECTED: Final = _("1-1/4, 1¼, 3/4, nk, SH, NOSE, dist or dht")

_PRINT: Final[dict[str, dict[str, str]]] = {
    "british": {
        "dead heat": "dht",
        "nose": "nse",
        "short head": "shd",
        "head": "hd",
        "neck": "nk",
        "short neck": "snk",
        "distance": "dist",
    },
    "american": {"dead heat": "dh"},
    "hong kong": {
        "dead heat": "DH",
        "nose": "NOSE",
        "short head": "SH",
        "head": "HD",
        "neck": "N",
        "many lengths": "ML",
    },
    "french": {
        "nose": "nez",
        "short head": "courte tête",
        "head": "tête",
        "short neck": "courte encolure",
        "neck": "encolure",
        "distance": "loin",
    },
    "japanese": {
        "dead heat": "同着",
        "nose": "ハナ",
        "head": "アタマ",
        "neck": "クビ",
        "many lengths": "大差",
    },
}


@total_ordering
@dataclass(frozen=True, slots=True)
class Margin:
    """A margin: a name, or a number of lengths.

    Attributes:
        name: one of `NAMES`, or "" for a margin in lengths.
        lengths: lengths, exact, not negative; zero beside a name.
        ahead: written with a plus: the horse finished this far in front of the official winner and was placed
            behind.
    """

    name: str = ""
    lengths: Fraction = Fraction(0)
    ahead: bool = False

    def __post_init__(self) -> None:
        wrong = self.lengths < 0 or (self.name and (self.name not in NAMES or self.lengths))
        nothing = self.name in {"winner", "dead heat"} or not (self.name or self.lengths)
        if wrong or (self.ahead and nothing):
            raise UnreadableError(_("margin"), self.name or str(self.lengths), EXPECTED)

    @classmethod
    def of_lengths(cls, lengths: float | Fraction, *, ahead: bool = False) -> Self:
        """Return a margin of `lengths`."""
        return cls("", exact(lengths), ahead)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a margin.

        Raises:
            UnreadableError: the text writes no margin.
        """
        plain = tidy(text)
        ahead = plain.startswith("+")
        plain = plain.removeprefix("+").strip()
        plain = _READ.get(plain, plain)
        if plain in NAMES:
            return cls(plain, ahead=ahead)
        if split := _SPLIT.fullmatch(plain):
            plain = f"{split[1]} {split[2]}"
        match = _LENGTHS.fullmatch(plain)
        lengths = number(match[1]) if match else None
        if lengths is None:
            raise UnreadableError(_("margin"), text, EXPECTED)
        return cls("", lengths, ahead)

    def in_lengths(self, named: Mapping[str, float]) -> float:
        """Return the margin in lengths, negative when the horse finished in front of the winner.

        Args:
            named: what a jurisdiction's list gives for each name, in lengths.

        Returns:
            Lengths; NaN for a distance or many lengths that the list puts no number to.

        Raises:
            MarginNotListedError: the list lacks another name.
        """
        sign = -1.0 if self.ahead else 1.0
        if not self.name:
            return sign * float(self.lengths) if self.lengths else 0.0
        known = {"winner": 0.0, "dead heat": 0.0} | dict.fromkeys(WIDE, float("nan")) | dict(named)
        if self.name not in known:
            raise MarginNotListedError(self.name, ", ".join(named) or _("nothing"))
        return sign * known[self.name] if known[self.name] else 0.0

    def __lt__(self, other: object) -> bool:
        """Say whether this horse finished nearer to the winner.

        Raises:
            NotComparableError: published lists do not share the order of the two.
        """
        if not isinstance(other, Margin):
            return NotImplemented
        if self == other or self.ahead != other.ahead:
            return self != other and self.ahead
        if _has_no_order(self, other):
            raise NotComparableError(
                str(self),
                str(other),
                _("lists differ on what a name is worth; compare in lengths with one list"),
            )
        return (_place(self) < _place(other)) is not self.ahead

    def __str__(self) -> str:
        """Return the margin in words or as whole and fraction; `parse` reads it back."""
        return self.text("words")

    def text(self, style: MarginStyle = "british") -> str:
        """Write the margin in a country's style; a name without a word there is written in English.

        Args:
            style: "words" short head, 1 1/4; "british" shd, 1¼; "american" dh, 1 1/4; "hong kong" SH, 1-1/4;
                "french" courte tête, 1 L 1/4; "japanese" ハナ, 1 1/4.
        """
        plus = "+" if self.ahead else ""
        if self.name:
            return plus + ("-" if self.name == "winner" else _PRINT.get(style, {}).get(self.name, self.name))
        if style == "british":
            return plus + vulgar(self.lengths)
        if style == "french":
            return plus + _french(self.lengths)
        if self.lengths.denominator not in {1, 2, 4, 8}:
            return plus + written(self.lengths)
        return plus + mixed(self.lengths, "-" if style == "hong kong" else " ")


def _french(lengths: Fraction) -> str:
    whole, rest = divmod(lengths, 1)
    if rest.denominator not in {1, 2, 4, 8}:
        return f"{written(lengths)} L"
    return f"{whole} L {rest}" if whole and rest else f"{mixed(lengths)} L"


def _place(margin: Margin) -> tuple[float, Fraction]:
    if margin.name:
        return NAMES[margin.name], Fraction(0)
    return (_LENGTHS_PLACE if margin.lengths else _NOTHING_PLACE), margin.lengths


def _has_no_order(one: Margin, other: Margin) -> bool:
    """Say whether published lists leave open which of two different margins is the wider."""
    if one.name and other.name:
        return NAMES[one.name] == NAMES[other.name]
    name, lengths = (one.name, other.lengths) if one.name else (other.name, one.lengths)
    if not name or not lengths:
        return False
    return name in WIDE or (NAMES[name] > 0 and lengths < Fraction(1, 2))


def parse_margins(
    texts: Iterable[str | None], named: Mapping[str, float], missing: Collection[str] = MISSING
) -> Parsed:
    """Read a column of margins, each distinct text once.

    A lone dash is read as the winner's, which is 0; where a table also puts it beside horses that did not
    finish, the caller blanks those rows.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        named: what a jurisdiction's list gives for each name, in lengths.
        missing: tidied texts that mean "not recorded".

    Returns:
        Lengths, float64 of shape (n,), NaN where not recorded, unreadable, or too wide for a number; and the
        mask of the unreadable ones.

    Raises:
        MarginNotListedError: the list lacks a name that the column has.
    """
    return read_column(texts, lambda text: Margin.parse(text).in_lengths(named), missing)
