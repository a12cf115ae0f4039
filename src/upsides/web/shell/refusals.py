"""Refusals in the reader's language."""

from django.utils.translation import gettext as _

from upsides.errors import UpsidesError
from upsides.errors.wording import Words, filled


def in_words(text: str) -> str:
    """Return a text of a refusal in the reader's language; one that keeps nothing of its making stays as it is."""
    if not isinstance(text, Words):
        return text
    values = {name: in_words(value) if isinstance(value, str) else value for name, value in text.values.items()}
    return filled(_(text.sentence), values)


def refused(error: UpsidesError) -> str:
    """Return a refusal in the reader's language, to stand in a sentence."""
    return in_words(str(error))


def told(error: UpsidesError) -> str:
    """Return a refusal as a sentence of its own."""
    return as_sentence(str(error))


def as_sentence(text: str) -> str:
    """Return a text of a refusal as a sentence of its own."""
    words = in_words(text)
    return f"{words[:1].upper()}{words[1:].removesuffix('.')}."
