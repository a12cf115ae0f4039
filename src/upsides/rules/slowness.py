"""How slow a turf going is, as far as the rules on lengths and seconds need it."""

import re
from typing import Final

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _

SLOWNESS: Final = {
    "good to firm": 2,
    "good to soft": 4,
    "good to yielding": 4,
    "yielding to soft": 5,
    "soft to heavy": 6,
    "hard": 0,
    "firm": 1,
    "good": 3,
    "yielding": 4,
    "soft": 5,
    "heavy": 6,
}
"""How slow a turf going is; longer names first, because they are looked for in this order."""

_WORDS: Final = re.compile(r"\b(" + "|".join(SLOWNESS) + r")\b")


def slowness(going: str, judged_by: str) -> int:
    """Return how slow a going is, 0 hard to 6 heavy.

    Args:
        going: the going as written, e.g. "good, good to soft in places".
        judged_by: "main" for the first word of it, "slowest" for the slowest one mentioned.

    Raises:
        UnreadableError: it has no known word.
    """
    found = [SLOWNESS[word] for word in _WORDS.findall(going.lower())]
    if not found:
        raise UnreadableError("going", going, _("good to soft, or good (soft in places)"))
    return max(found) if judged_by == "slowest" else found[0]
