"""What is said of plans in the reader's language."""

from datetime import date
from typing import Final

from django.utils.formats import date_format, number_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.planning.work.said import Said, Tongue, in_words
from upsides.planning.work.texts import TEXTS
from upsides.recordings.sentences import Forms


def said_words(one: Said) -> str:
    """Return a sentence in words; one that an earlier version kept stays in English."""
    return in_words(one, READERS)


def text_words(text: str) -> str:
    """Return a text of the routine in words: a shipped one translated, a yard's own as its file has it."""
    return _(text) if text in TEXTS else text


def day_words(day: date) -> str:
    """Return a day in few words: Tue 1 Dec."""
    return date_format(day, "D j M")


def together(parts: list[str]) -> str:
    """Return parts joined by commas and "and"."""
    return get_text_list(parts, _("and"))


def _form(forms: Forms, count: int) -> str:
    return ngettext(forms[0], forms[1], count) if len(forms) > 1 else _(forms[0])


def _number(number: float) -> str:
    return number_format(number if number % 1 else int(number))


READERS: Final = Tongue(_form, text_words, day_words, _number, together)
