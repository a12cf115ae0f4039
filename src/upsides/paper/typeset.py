"""The only door to Typst: a template of ours and the values of a sheet become a PDF.

Values travel as JSON and are printed as they stand, never read as markup. Text is set in Libertinus Serif, which the
Typst wheel carries; a letter it lacks comes from whichever font of the machine has it, and prints as an empty box
where none has.
"""

import json
import unicodedata
from collections.abc import Mapping
from dataclasses import Field, asdict
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Protocol

from upsides.charts.theme import LIGHT
from upsides.errors import PaperSizeError, SheetRefusedError
from upsides.paper.masthead import Masthead

if TYPE_CHECKING:
    from typst import Fonts

TEMPLATES = Path(__file__).parent / "templates"
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm, upright (ISO 216; ANSI/ASME Y14.1)."""
LOOK = {"ink": LIGHT.ink, "soft": LIGHT.soft_ink, "edge": LIGHT.edge}
_UNSEEN = {"Cc", "Cs", "Co", "Cn"}
_TURNING = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class Sheet(Protocol):
    """A frozen dataclass of words with a masthead."""

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]

    @property
    def masthead(self) -> Masthead:
        """The head and the foot of its pages."""


def typeset(template: str, sheet: Sheet, size: str) -> bytes:
    """Return a sheet as a PDF; the same sheet gives the same bytes on the same machine.

    Args:
        template: the name of a file in `templates` without its ending.
        sheet: the values.
        size: a key of `SIZES`.

    Raises:
        PaperSizeError: there is no such size.
        SheetRefusedError: Typst refused it.
    """
    import typst

    given = sys_inputs(sheet, size)
    try:
        return typst.compile(
            TEMPLATES / f"{template}.typ",
            root=TEMPLATES,
            font_paths=_fonts(),
            format="pdf",
            sys_inputs=given,
            timestamp=sheet.masthead.made.astimezone(UTC),
        )
    except typst.TypstError as trouble:
        raise SheetRefusedError(sheet.masthead.title, trouble.message) from trouble


def sys_inputs(sheet: Sheet, size: str) -> dict[str, str]:
    """Return what a template reads: the sheet, the colours and the paper, as JSON under the name "given".

    Raises:
        PaperSizeError: there is no such size.
    """
    if size not in SIZES:
        raise PaperSizeError(size, SIZES)
    width, height = SIZES[size]
    paper = {"width": width, "height": height}
    return {"given": json.dumps({"sheet": _plain(asdict(sheet)), "look": LOOK, "paper": paper})}


def seen(text: str) -> str:
    """Return a text without characters that nobody sees: controls become spaces, turns of direction go."""
    kept = (character for character in text if character not in _TURNING)
    return "".join(c if c == "\n" or unicodedata.category(c) not in _UNSEEN else " " for c in kept)


def _plain(value: object) -> object:
    match value:
        case str():
            return seen(value)
        case datetime():
            return value.isoformat()
        case Mapping():
            return {key: _plain(each) for key, each in value.items()}
        case list() | tuple():
            return [_plain(each) for each in value]
    return value


@cache
def _fonts() -> "Fonts":
    import typst

    return typst.Fonts()
