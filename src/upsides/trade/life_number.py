"""The numbers that identify a horse, as people type them: the microchip's and the life number.

A microchip carries 15 digits (ISO 11784/11785): three that are a country's ISO 3166-1 number, or 900 to 998 for a
manufacturer, and twelve that are below 2 to the 38th, the room that the chip has for them; 999 is for tests. A
universal equine life number has 15 characters (rules of attribution at ueln.net): three digits of the country, three
characters of the database, nine of the horse there.

python-stdnum has neither number, nor the list of country numbers; its cleaning of typed separators is used. That a
country's number is really assigned is not looked at. A passport's own number has no common form and is free text.
"""

import re
from dataclasses import dataclass
from typing import Final

from stdnum.util import clean

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import tidy

SEPARATORS: Final = " -./"
LENGTH: Final = 15
LARGEST: Final = 2**38 - 1
"""The largest number within a country or manufacturer that 38 bits hold: 274877906943."""
FIRST_MAKER: Final = 900
FOR_TESTS: Final = 999
CHIP: Final = _("15 digits, like 826 098100012345")
LIFE: Final = _("15 letters and digits, of which the first three are a country's number, like 250001 00155928M")


@dataclass(frozen=True, slots=True, order=True)
class Microchip:
    """The number of a microchip: 15 digits."""

    digits: str

    @classmethod
    def parse(cls, text: str) -> "Microchip":
        """Read a microchip's number, with or without blanks and dashes.

        Raises:
            UnreadableError: it is not 15 digits, or no chip of a horse can carry it; what is wrong is named.
        """
        digits = _bare(text)
        if not re.fullmatch(r"[0-9]+", digits):
            raise UnreadableError(
                _("microchip"), text, _("{chip} (there is something else than digits in it)", chip=CHIP)
            )
        if len(digits) != LENGTH:
            raise UnreadableError(_("microchip"), text, _("{chip} (it has {count})", chip=CHIP, count=len(digits)))
        prefix = int(digits[:3])
        if prefix in {0, FOR_TESTS}:
            raise UnreadableError(
                _("microchip"),
                text,
                _("{chip} ({digits} is no country and no manufacturer)", chip=CHIP, digits=digits[:3]),
            )
        if int(digits[3:]) > LARGEST:
            raise UnreadableError(
                _("microchip"),
                text,
                _("{chip} (no chip holds more than {largest} after the first three)", chip=CHIP, largest=LARGEST),
            )
        return cls(digits)

    @property
    def country(self) -> str | None:
        """The ISO 3166-1 number of the country; None on a chip with a manufacturer's code."""
        return self.digits[:3] if int(self.digits[:3]) < FIRST_MAKER else None

    @property
    def maker(self) -> str | None:
        """The manufacturer's code, 900 to 998 (900 is shared by several); None on a chip with a country's."""
        return None if self.country else self.digits[:3]

    def __str__(self) -> str:
        return f"{self.digits[:3]} {self.digits[3:]}"


@dataclass(frozen=True, slots=True, order=True)
class LifeNumber:
    """A universal equine life number: 15 letters and digits."""

    characters: str

    @classmethod
    def parse(cls, text: str) -> "LifeNumber":
        """Read a life number, in any case, with or without blanks and dashes.

        Raises:
            UnreadableError: it is not 15 letters and digits, or does not begin with a country; what is wrong is named.
        """
        characters = _bare(text)
        if not re.fullmatch(r"[0-9A-Z]+", characters):
            raise UnreadableError(_("life number"), text, _("{life} (there is something else in it)", life=LIFE))
        if len(characters) != LENGTH:
            raise UnreadableError(
                _("life number"), text, _("{life} (it has {count})", life=LIFE, count=len(characters))
            )
        if not characters[:3].isdigit() or not 0 < int(characters[:3]) < FIRST_MAKER:
            raise UnreadableError(
                _("life number"),
                text,
                _("{life} ({code} is no country's number)", life=LIFE, code=characters[:3]),
            )
        return cls(characters)

    @property
    def country(self) -> str:
        """The ISO 3166-1 number of the country whose database registered the horse first."""
        return self.characters[:3]

    @property
    def database(self) -> str:
        """The code of that database: the country's number and three characters."""
        return self.characters[:6]

    def __str__(self) -> str:
        return f"{self.database} {self.characters[6:]}"


def _bare(text: str) -> str:
    return str(clean(tidy(text).upper(), SEPARATORS))
