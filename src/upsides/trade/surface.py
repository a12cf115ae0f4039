"""What a race is run on. A table's own codes (0 and 1) are a matter for the description of that table."""

from collections.abc import Collection, Iterable
from enum import StrEnum
from typing import Final, Self

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import MISSING, ParsedWords, read_words, tidy


class Surface(StrEnum):
    """A racing surface."""

    TURF = "turf"
    DIRT = "dirt"
    SYNTHETIC = "synthetic"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a surface, in English, French or Japanese words.

        Raises:
            UnreadableError: the word is not a surface's.
        """
        found = _READ.get(tidy(text))
        if found is None:
            raise UnreadableError(_("surface"), text, _("turf, dirt, synthetic, all-weather or AW"))
        return cls(found)


_WORDS: Final = {
    Surface.TURF: "turf, t, grass, gazon, herbe, 芝, 草地",
    Surface.DIRT: "dirt, d, ダート, ダ, 泥地",
    Surface.SYNTHETIC: (
        "synthetic, aw, a.w., awt, a.w.t., all weather, all-weather, all weather track, all-weather track, "
        "polytrack, artificial, psf, p.s.f., piste en sable fibré, sable fibré"
    ),
}
_READ: Final = {tidy(word): surface for surface, words in _WORDS.items() for word in words.split(", ")}


def parse_surfaces(texts: Iterable[str | None], missing: Collection[str] = MISSING) -> ParsedWords:
    """Read a column of surfaces, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        missing: tidied texts that mean "not recorded".

    Returns:
        "turf", "dirt" or "synthetic", text of shape (n,), "" where not recorded or unreadable; and the mask
        of the unreadable ones.
    """
    return read_words(texts, lambda text: Surface.parse(text).value, missing)
