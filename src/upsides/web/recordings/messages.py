"""What was lost or mended in reading a file, in words."""

from django.utils.translation import gettext, ngettext

from upsides.recordings.recording import Message
from upsides.recordings.sentences import SENTENCES


def message_words(one: Message) -> tuple[str, bool]:
    """Return a message as a sentence, and whether it stands in English, as an earlier version wrote it."""
    if "text" in one.values:
        return one.text, True
    forms = SENTENCES[one.code]
    said = ngettext(forms[0], forms[1], one.count) if len(forms) > 1 else gettext(forms[0])
    return said % one.values, False
