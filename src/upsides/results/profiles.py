"""What the values of a column of text look like: the evidence of a proposal, beside the column's name."""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

import polars as pl

from upsides.results.cells import timed
from upsides.results.notation import written
from upsides.results.shape import MISSING

DATE_FORMATS = (
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%Y%m%d",
    "%d/%m/%Y",
    "%m/%d/%Y",
    "%d.%m.%Y",
    "%d-%m-%Y",
    "%d/%m/%y",
    "%m/%d/%y",
    "%y/%m/%d",
    "%d.%m.%y",
    "%d %b %Y",
    "%d %B %Y",
    "%d-%b-%Y",
    "%b %d, %Y",
    "%Y年%m月%d日",
)
INSTANT_FORMATS = (
    "%Y-%m-%dT%H:%M:%SZ",
    "%Y-%m-%d %H:%M:%S",
    "%Y-%m-%dT%H:%M:%S",
    "%Y-%m-%d %H:%M",
    "%d/%m/%Y %H:%M",
    "%Y-%m-%dT%H:%M:%S%.f%z",
    "%Y-%m-%d %H:%M:%S%.f",
)
TIME_STYLES = ("m.ss.cc", "m:ss.cc", "m:ss,cc", "m'ss\"cc", "m.ss,cc", "m:ss f")
WORD_SPLIT = re.compile(r"[^0-9a-z\u0080-\uffff]+")


@dataclass(frozen=True, slots=True)
class Profile:
    """A column of text.

    Args:
        name: the column.
        words: its name in plain lower-case words.
        texts: the filled cells of the sample.
        filled: share of the cells that are filled.
        numbers: the cells that are plain numbers.
        numeric: share of the filled cells that are plain numbers.
        whole: all of those are whole.
        distinct: number of different filled cells.
    """

    name: str
    words: tuple[str, ...]
    texts: pl.Series
    filled: float
    numbers: pl.Series
    numeric: float
    whole: bool
    distinct: int

    def within(self, low: float, high: float) -> float:
        """Return the share of the filled cells that are numbers from `low` to `high`."""
        if not len(self.texts):
            return 0.0
        return float(self.numbers.is_between(low, high).sum()) / len(self.texts)

    def share_in(self, words: Iterable[str]) -> float:
        """Return the share of the filled cells that are one of `words`, case aside."""
        if not len(self.texts):
            return 0.0
        return float(self.texts.str.to_lowercase().is_in(list(words)).sum()) / len(self.texts)

    def share_matching(self, pattern: str) -> float:
        """Return the share of the filled cells that match a regular expression."""
        if not len(self.texts):
            return 0.0
        return float(self.texts.str.contains(pattern).sum()) / len(self.texts)


def plain_words(name: str) -> tuple[str, ...]:
    """Return the words of a column's name: lower case, no accents, split at signs, capitals and digits."""
    spaced = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", name)
    spaced = re.sub(r"(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])", " ", spaced)
    folded = unicodedata.normalize("NFKC", spaced).casefold()
    bare = "".join(c for c in unicodedata.normalize("NFD", folded) if not "\u0300" <= c <= "\u036f")
    return tuple(word for word in WORD_SPLIT.split(unicodedata.normalize("NFC", bare)) if word)


def profile(name: str, cells: pl.Series) -> Profile:
    """Look at a column."""
    texts = cells.str.strip_chars()
    texts = texts.filter(~texts.is_in(list(MISSING)).fill_null(True))
    numbers = texts.cast(pl.Float64, strict=False).drop_nulls()
    numbers = numbers.filter(numbers.is_finite())
    return Profile(
        name=name,
        words=plain_words(name),
        texts=texts,
        filled=len(texts) / max(len(cells), 1),
        numbers=numbers,
        numeric=len(numbers) / max(len(texts), 1),
        whole=bool((numbers == numbers.round(0)).all()),
        distinct=texts.n_unique(),
    )


def date_format(column: Profile) -> tuple[str, bool]:
    """Return the format in which a column writes dates, "" for none, and whether another would do as well.

    Where several formats read every cell (01/02/03), the one whose dates lie closest together is taken.
    """
    spans: dict[str, float] = {}
    sample = column.texts.head(3000)
    if not len(sample) or (column.distinct == 1 and column.numeric == 1):
        return "", False
    for style in (*DATE_FORMATS, *INSTANT_FORMATS):
        timed_style = "%H" in style
        if "%.f" in style and spans:
            break
        read = sample.str.to_datetime(style, strict=False) if timed_style else sample.str.to_date(style, strict=False)
        if read.null_count() <= 0.02 * len(sample):
            days = read.drop_nulls().cast(pl.Datetime("us")).dt.epoch("d")
            years = read.drop_nulls().dt.year()
            if years.is_between(1750, 2100).all():
                spans[style] = float(days.max() - days.min())  # type: ignore[operator, arg-type]  # both are whole days
    if not spans:
        return "", False
    best = min(spans, key=lambda style: spans[style])
    return best, len(spans) > 1


def is_serial(column: Profile) -> bool:
    """Say whether a column could hold dates as spreadsheets count them: whole numbers from 20000 to 60000.

    Those are the days from October 1954 to April 2064.
    """
    return column.whole and column.within(20_000, 60_000) == 1.0


def time_style(column: Profile) -> str:
    """Return the style in which a column writes times with minutes, "" for none."""
    sample = column.texts.head(2000)
    for style in TIME_STYLES:
        sign = re.escape(style.lstrip("m")[0])
        read = timed(sample, (style,))
        split = float(sample.str.contains(rf"^\d+{sign}\d\d[^\d]\d").sum())
        if len(sample) and read.null_count() <= 0.1 * len(sample) and split >= 0.5 * len(sample):
            return style
    return ""


def notation_share(column: Profile, unit: str) -> float:
    """Return the share of filled cells in the trade's notation that are more than a bare number."""
    distinct = column.texts.unique().head(400)
    bare = distinct.cast(pl.Float64, strict=False).is_not_null()
    worded = distinct.filter(~bare)
    if not len(worded):
        return 0.0
    _, wrong = written(unit, worded, dict.fromkeys(("nose", "short head", "head", "neck"), 0.1))
    read = worded.filter(~wrong)
    return float(column.texts.is_in(read.to_list()).sum()) / max(len(column.texts), 1)
