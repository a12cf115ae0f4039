"""A horse's page, ready for its template."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from upsides.books.diary import kind_of
from upsides.books.queries.horse import Shown, Written
from upsides.errors import KindUnknownError
from upsides.web.races.sections import late_words, sections
from upsides.web.string.pictures import curves
from upsides.web.string.sentences import about_horse, who


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the diary.

    Args:
        when: when it was so.
        words: what.
        author: who wrote it.
    """

    when: datetime
    words: str
    author: str


def horse_page(shown: Shown) -> dict[str, Any]:
    """Return what the template needs."""
    return {
        "shown": shown,
        "who": who(shown.age, shown.horse),
        "sentence": about_horse(shown),
        "curves": curves(shown),
        "runs": [run | {"sections": sections(run), "late": late_words(run)} for run in shown.runs],
        "diary": [_line(written) for written in shown.diary],
    }


def _line(written: Written) -> Line:
    entry = written.entry
    try:
        words = kind_of(entry.kind).kept_as(entry.values).words()
    except KindUnknownError:
        words = _("An entry of a kind that this program does not know.")
    return Line(entry.happened_at, words, written.author)
