"""Blood samples in words: what was measured, and what lies outside the interval that the laboratory prints."""

from collections.abc import Sequence
from datetime import date

from django.utils.formats import date_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.bloods import Sample


def about_bloods(horse: str, samples: Sequence[Sample]) -> str:
    """Return how many samples there are, and what of the last lies outside its laboratory's own interval."""
    if not samples:
        return _("No blood sample of %(horse)s is in the books.") % {"horse": horse}
    last = samples[0]
    text = ngettext(
        "%(count)s sample, of %(day)s by %(laboratory)s: %(found)s.",
        "%(count)s samples, the last of %(day)s by %(laboratory)s: %(found)s.",
        len(samples),
    )
    told = {"count": len(samples), "day": day_of(last.day), "laboratory": last.laboratory, "found": _found(last)}
    return f"{text % told} {_('What it means is for the vet to say.')}"


def _found(sample: Sample) -> str:
    outside = [one.name for one in sample.results if one.outside]
    number = len(sample.results)
    if outside:
        text = ngettext(
            "of %(number)s measured, %(names)s lies outside the interval that this laboratory prints",
            "of %(number)s measured, %(names)s lie outside the intervals that this laboratory prints",
            len(outside),
        )
        return text % {"number": number, "names": get_text_list(outside, _("and"))}
    if not any(one.interval() for one in sample.results):
        return ngettext(
            "%(number)s measured, without an interval", "%(number)s measured, without intervals", number
        ) % {"number": number}
    text = ngettext(
        "%(number)s measured, not outside the interval that this laboratory prints",
        "%(number)s measured, none outside the intervals that this laboratory prints",
        number,
    )
    return text % {"number": number}


def offering(last: Sample) -> str:
    """Return where what stands in the rows of the form comes from."""
    told = {"laboratory": last.laboratory, "day": day_of(last.day)}
    return (
        _(
            "What stands here is from the report of %(laboratory)s of %(day)s. Change units and intervals where this "
            "report has others; a row without a value is left out."
        )
        % told
    )


def day_of(when: date) -> str:
    """Return a day as 3 May 2026, held together."""
    return date_format(when, "j F Y").replace(" ", "\u00a0")
