"""The sex of a horse, in British, American, Hong Kong, French and Japanese words.

A colt is called a horse and a filly a mare from the age of five in Britain, Ireland and North America, from
four in Australia (common practice, no source). Japanese and French words, and the English "male" and "female",
say no more than what the horse was born, so as one of the six words they need an age. Where that alone is asked
for, `Born` takes every word without one.
"""

from collections.abc import Collection, Iterable
from enum import StrEnum
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import MISSING, ParsedWords, read_words, tidy

Language = Literal["english", "french", "japanese"]

GROWN_UP_AT: Final = 5
"""Age from which a colt is a horse and a filly a mare, unless the caller says; common practice, no source."""
EXPECTED: Final = _("colt, filly, horse, mare, gelding, ridgling or c, f, h, m, g, r")


class Born(StrEnum):
    """What a horse was born, which never changes: a gelding was born male."""

    MALE = "male"
    FEMALE = "female"

    @classmethod
    def parse(cls, text: str, language: Language = "english") -> "Born":
        """Read from any word for a sex, or letter of `language`, what the horse was born.

        Raises:
            UnreadableError: the word names no sex.
        """
        found = _meaning(text, language)
        return cls(found) if found in set(cls) else Sex(found).born


class Sex(StrEnum):
    """The six words for a racehorse's sex."""

    COLT = "colt"
    FILLY = "filly"
    HORSE = "horse"
    MARE = "mare"
    GELDING = "gelding"
    RIDGLING = "ridgling"

    @classmethod
    def parse(
        cls, text: str, language: Language = "english", age: int | None = None, grown_up_at: int = GROWN_UP_AT
    ) -> "Sex":
        """Read a sex.

        Args:
            text: a word, or a letter of `language`: M is a mare in English but a male in French, and H a
                horse in English but a gelding in French.
            language: whose letters are meant; whole words are read in every language.
            age: official age, which tells colt from horse where the word says only "male".
            grown_up_at: age from which colts are horses and fillies mares.

        Raises:
            UnreadableError: the word names no sex (a colour, for one), or it needs an age.
        """
        found = _meaning(text, language)
        if found not in set(Born):
            return cls(found)
        if age is None:
            raise UnreadableError(
                _("sex"),
                text,
                _("{expected} (a word for {found} alone needs the horse's age)", expected=EXPECTED, found=found),
            )
        young = cls.COLT if found == Born.MALE else cls.FILLY
        return young.at(age, grown_up_at)

    def at(self, age: int, grown_up_at: int = GROWN_UP_AT) -> "Sex":
        """Return what this horse is called at `age`: a colt grows into a horse, a filly into a mare."""
        grown = age >= grown_up_at
        if self in {Sex.COLT, Sex.HORSE}:
            return Sex.HORSE if grown else Sex.COLT
        if self in {Sex.FILLY, Sex.MARE}:
            return Sex.MARE if grown else Sex.FILLY
        return self

    @property
    def is_female(self) -> bool:
        """Whether a filly or a mare."""
        return self in {Sex.FILLY, Sex.MARE}

    @property
    def born(self) -> Born:
        """What it was born."""
        return Born.FEMALE if self.is_female else Born.MALE

    @property
    def letter(self) -> str:
        """The letter of English-language cards: c, f, h, m, g, r."""
        return self.value[0]


_ENGLISH: Final = {sex.value[0]: sex.value for sex in Sex}
_WORDS: Final = {sex.value: sex.value for sex in Sex} | {
    tidy(word): meaning
    for meaning, words in {
        "gelding": "gldg, hongre, セ, セン, せん, 騸, 騙, 閹",
        "ridgling": "rig, ridgeling, cryptorchid, cryptorchide",
        "horse": "entire, stallion, étalon",
        "colt": "poulain",
        "filly": "pouliche",
        "mare": "jument",
        "male": "male, mâle, 牡, 雄",
        "female": "female, femelle, 牝, 雌",
    }.items()
    for word in words.split(", ")
}
_LETTERS: Final[dict[Language, dict[str, str]]] = {
    "english": _ENGLISH,
    "french": {"m": "male", "f": "female", "h": "gelding"},
    "japanese": {},
}
_COLOURS: Final = frozenset({"bay", "brown", "chestnut", "grey", "gray", "roan", "black", "white", "dark bay"})


def _meaning(text: str, language: Language) -> str:
    """Return one of the six words, or "male" or "female" where the text says no more."""
    word = tidy(text)
    found = _LETTERS[language].get(word) or _WORDS.get(word)
    if found is None:
        reason = _("{expected} ({word} is a colour)", expected=EXPECTED, word=word) if word in _COLOURS else EXPECTED
        raise UnreadableError(_("sex"), text, reason)
    return found


def parse_sexes(
    texts: Iterable[str | None],
    language: Language = "english",
    ages: NDArray[np.float64] | None = None,
    grown_up_at: int = GROWN_UP_AT,
    missing: Collection[str] = MISSING,
) -> ParsedWords:
    """Read a column of sexes, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        language: whose letters are meant, as in `Sex.parse`.
        ages: official ages, shape (n,), NaN where unknown; without an age a word for male or female alone is
            unreadable.
        grown_up_at: age from which colts are horses and fillies mares.
        missing: tidied texts that mean "not recorded".

    Returns:
        The six words of `Sex`, text of shape (n,), "" where not recorded or unreadable; and the mask of the
        unreadable ones.
    """
    column = read_words(texts, lambda text: _meaning(text, language), missing)
    values, unreadable = column.values.astype("U9"), column.unreadable.copy()
    known = np.full(values.shape, np.nan) if ages is None else np.asarray(ages, dtype=np.float64)
    for plain, young, grown in ((Born.MALE, Sex.COLT, Sex.HORSE), (Born.FEMALE, Sex.FILLY, Sex.MARE)):
        named = values == plain
        values[named] = np.where(known[named] >= grown_up_at, grown.value, young.value)
        unreadable |= named & np.isnan(known)
    values[unreadable] = ""
    return ParsedWords(values, unreadable)


def parse_born(
    texts: Iterable[str | None], language: Language = "english", missing: Collection[str] = MISSING
) -> ParsedWords:
    """Read from a column of sexes what each horse was born, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        language: whose letters are meant, as in `Sex.parse`.
        missing: tidied texts that mean "not recorded".

    Returns:
        "male" or "female", text of shape (n,), "" where not recorded or unreadable; and the mask of the unreadable
        ones.
    """
    return read_words(texts, lambda text: Born.parse(text, language), missing)
