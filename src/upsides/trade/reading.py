"""Numbers and words as racing writes them: full-width digits, vulgar fractions, decimal commas, accents.

One rule holds for every value of this room: a point is a decimal point; a comma or a space followed by
exactly three digits groups thousands where thousands can occur (metres, yards, pounds of body mass), and a
comma is a decimal comma otherwise.
"""

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _

VULGAR: Final = {
    "¼": Fraction(1, 4),
    "½": Fraction(1, 2),
    "¾": Fraction(3, 4),
    "⅛": Fraction(1, 8),
    "⅜": Fraction(3, 8),
    "⅝": Fraction(5, 8),
    "⅞": Fraction(7, 8),
    "⅓": Fraction(1, 3),
    "⅔": Fraction(2, 3),
    "⅕": Fraction(1, 5),
    "⅖": Fraction(2, 5),
    "⅗": Fraction(3, 5),
    "⅘": Fraction(4, 5),
}
_SPELT: Final = str.maketrans({glyph: f" {value} " for glyph, value in VULGAR.items()} | {"–": "-", "−": "-"})
_COMBINING: Final = re.compile("[\u0300-\u036f]")
Value = TypeVar("Value")
LONGEST: Final = 120
"""Longest text, in characters, that is looked at as a value; a longer one is refused unread."""
NUMBER: Final = r"(?:\d{1,30}[ .-]\d{1,30}/\d{1,30}|\d{1,30}/\d{1,30}|\d{1,30}(?:[.,]\d{1,30})?|[.,]\d{1,30})"
"""A regular expression for one number in tidied text: 57.5, 57,5, 3/4, 1 1/4, 1-1/4 or 1.1/4."""
_MIXED: Final = re.compile(r"(?:(\d{1,30})[ .-])?(\d{1,30})/(\d{1,30})")
_PLAIN: Final = re.compile(r"\d{0,30}(?:\.\d{1,30})?")
GROUPED: Final = r"(?:\d{1,3}(?:[, ]\d{3})+)"
"""A regular expression for a whole number with its thousands grouped: 2 400 or 2,002."""
MISSING: Final = frozenset({"", "na", "n/a", "nan", "null", "none", "---"})
"""Tidied cells that mean "not recorded". A single dash is not among them: as a margin it is the winner's."""


def tidy(text: object) -> str:
    """Return `text` in one plain spelling: lower case, no accents, half-width, ½ as 1/2, single spaces.

    Raises:
        UnreadableError: it is no text (None, for one), or longer than anything that the trade writes.
    """
    if not isinstance(text, str):
        raise UnreadableError(_("cell"), text, _("text, not {kind}", kind=type(text).__name__))
    if len(text) > LONGEST:
        raise UnreadableError(
            _("cell"), f"{text[:40]}...", _("a value of at most {longest} characters", longest=LONGEST)
        )
    spelt = unicodedata.normalize("NFKC", text.translate(_SPELT)).casefold()
    bare = _COMBINING.sub("", unicodedata.normalize("NFD", spelt))
    return " ".join(unicodedata.normalize("NFC", bare).split())


def number(text: str) -> Fraction | None:
    """Return the number that a tidied `text` writes, or None when it writes none (1/0 for one)."""
    if mixed := _MIXED.fullmatch(text):
        whole, top, bottom = (int(part or 0) for part in mixed.groups())
        return whole + Fraction(top, bottom) if bottom else None
    decimal = text.replace(",", ".", 1)
    return Fraction(decimal) if text and _PLAIN.fullmatch(decimal) else None


def exact(value: float | str | Fraction) -> Fraction:
    """Return `value` as a fraction; a float counts as the shortest decimal that prints it, so 57.1 is 571/10.

    Raises:
        UnreadableError: `value` is not a finite number.
    """
    try:
        return value if isinstance(value, Fraction) else Fraction(str(value))
    except (ValueError, ZeroDivisionError):
        raise UnreadableError(_("number"), value, "57.5") from None


def positive(what: str, value: float | str | Fraction) -> Fraction:
    """Return `value` exactly.

    Raises:
        UnreadableError: it is not a number above zero; `what` names it, with a word that is gathered elsewhere.
    """
    amount = exact(value)
    if amount <= 0:
        raise UnreadableError(_(what), written(amount), _("a number above zero"))
    return amount


def _decimals(value: Fraction) -> int | None:
    bottom, twos, fives = value.denominator, 0, 0
    while bottom % 2 == 0:
        bottom, twos = bottom // 2, twos + 1
    while bottom % 5 == 0:
        bottom, fives = bottom // 5, fives + 1
    return max(twos, fives) if bottom == 1 else None


def written(value: Fraction, places: int = 0) -> str:
    """Return `value` as an exact decimal of at least `places` places, or as 1 1/3 where none is exact."""
    needed = _decimals(value)
    if needed is None:
        return mixed(value)
    return fixed(value, max(needed, places))


def fixed(value: Fraction, places: int) -> str:
    """Return `value` rounded to `places` decimals (halves to even)."""
    scaled = round(abs(value) * 10**places)
    digits = f"{scaled:0{places + 1}d}"
    sign = "-" if value < 0 and scaled else ""
    return sign + (f"{digits[:-places]}.{digits[-places:]}" if places else digits)


def mixed(value: Fraction, joint: str = " ") -> str:
    """Return `value`, not negative, as a whole number and a fraction joined by `joint`: 1 1/4, 3/4, 2."""
    whole, rest = divmod(value, 1)
    return joint.join(part for part in (str(whole) if whole or not rest else "", str(rest) if rest else "") if part)


def vulgar(value: Fraction) -> str:
    """Return `value`, not negative, with a vulgar fraction where one exists, else `written`: 1¼, ½, 2.1."""
    whole, rest = divmod(value, 1)
    glyph = next((glyph for glyph, worth in VULGAR.items() if worth == rest), None)
    if glyph is None:
        return written(value)
    return f"{whole or ''}{glyph}"


@dataclass(frozen=True, slots=True, eq=False)
class Parsed:
    """A column that was read.

    Attributes:
        values: float64, shape (n,); NaN where nothing was recorded and where the text could not be read.
        unreadable: bool, shape (n,); true where something was written that could not be read.
    """

    values: NDArray[np.float64]
    unreadable: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class ParsedWords:
    """A column of words that was read.

    Attributes:
        values: text, shape (n,); "" where nothing was recorded and where the text could not be read.
        unreadable: bool, shape (n,); true where something was written that could not be read.
    """

    values: NDArray[np.str_]
    unreadable: NDArray[np.bool_]


def read_column(
    texts: Iterable[str | None], reader: Callable[[str], float], missing: Collection[str] = MISSING
) -> Parsed:
    """Read a column of text, each distinct text once.

    Args:
        texts: the cells, n of them; a Polars series of strings serves as well as a list.
        reader: turns one cell into a number, raising `UnreadableError` for what it cannot read.
        missing: tidied texts that mean "not recorded"; None always does.

    Returns:
        The numbers and the mask of unreadable cells, both of shape (n,).
    """
    found, unreadable, codes = _once(texts, reader, missing)
    values = np.array([np.nan if value is None else value for value in found], dtype=np.float64)
    return Parsed(values[codes], unreadable[codes])


def read_words(
    texts: Iterable[str | None], reader: Callable[[str], str], missing: Collection[str] = MISSING
) -> ParsedWords:
    """Read a column of text into words, each distinct text once; otherwise as `read_column`."""
    found, unreadable, codes = _once(texts, reader, missing)
    values = np.array([value or "" for value in found], dtype=np.str_)
    return ParsedWords(values[codes], unreadable[codes])


def _once(
    texts: Iterable[str | None], reader: Callable[[str], Value], missing: Collection[str]
) -> tuple[list[Value | None], NDArray[np.bool_], NDArray[np.intp]]:
    """Return what each distinct text reads to, whether it is unreadable, and each cell's distinct text."""
    distinct: dict[str | None, int] = {}
    codes = np.fromiter((distinct.setdefault(text, len(distinct)) for text in texts), dtype=np.intp)
    values: list[Value | None] = [None] * len(distinct)
    unreadable = np.zeros(len(distinct), dtype=np.bool_)
    for text, code in distinct.items():
        try:
            if text is not None and tidy(text) not in missing:
                values[code] = reader(text)
        except UnreadableError:
            unreadable[code] = True
    return values, unreadable, codes
