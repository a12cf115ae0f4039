"""Why cells and lines of tables are not taken: short sentences, plain text in frames, read back for translation.

A sentence without values is marked where it stands; those with values stand here, so that both can be found in a text.
"""

import re
from typing import Final

import polars as pl

from upsides.errors.wording import Words, gettext
from upsides.errors.wording import gettext as _

LEFT_OUT: Final = _("left out by the shape: {reason}")
MISSING: Final = _("{field} is missing")
NOT_THAT_ENCODING: Final = _("not {encoding}")
NOT_OF_THAT_AGE: Final = _("the horse would be younger than {youngest} or older than {oldest} on the day")
ON_PURPOSE: Final = pl.col("reason").str.starts_with(LEFT_OUT.format(reason=""))
"""Whether a line was left out because its shape says so."""
_WITH_VALUES: Final = (LEFT_OUT, NOT_OF_THAT_AGE, MISSING, NOT_THAT_ENCODING)
_ONE_WORD: Final = {MISSING, NOT_THAT_ENCODING}


def worded(reason: str) -> Words:
    """Return a reason out of a frame with the sentence that is gathered for translation, and its values."""
    for sentence in _WITH_VALUES:
        value = r"(?P<\1>\\S+)" if sentence in _ONE_WORD else r"(?P<\1>.*)"
        if match := re.fullmatch(re.sub(r"\\{(\w+)\\}", value, re.escape(sentence)), reason):
            return gettext(sentence, **match.groupdict())
    return gettext(reason)
