"""The only door to Typst: a template of ours and the values of a sheet become a PDF.

Values travel as JSON and are printed as they stand, never read as markup. Text is set in Libertinus Serif, which the
Typst wheel carries; a letter it lacks comes from whichever font of the machine has it, and prints as an empty box
where none has: then the foot of each page says so.
"""

import json
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import Field, asdict, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Final, Literal, Protocol

from upsides.charts.theme import LIGHT
from upsides.errors import PaperSizeError, SheetRefusedError
from upsides.paper.masthead import Masthead

if TYPE_CHECKING:
    from typst import Fonts

TEMPLATES = Path(__file__).parent / "templates"
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm, upright (ISO 216; ANSI/ASME Y14.1)."""
LOOK = {"ink": LIGHT.ink, "soft": LIGHT.soft_ink, "edge": LIGHT.edge}
RARE = re.compile(r"\\u(?:0[5-9a-f]|1[0-9a-d]|2[c-f]|[3-9a-f])")
"""Letters that not every font of books has, as JSON has them: neither Latin, Greek nor Cyrillic, nor signs."""
ARCHIVED: Final = "a-2b"
MOST_TOLD = 12
LACKING = re.compile(r'the text `"(.+?)"` could not be displayed')
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

    given, head = sys_inputs(sheet, size), sheet.masthead
    try:
        if head.boxes and RARE.search(given["given"]) and (letters := _boxes(template, given, head)):
            said = head.boxes.replace("{letters}", ", ".join(letters))
            note = replace(head, note=f"{head.note} {said}".strip())
            given = sys_inputs(replace(sheet, masthead=note), size)
        return _compiled(template, given, head)
    except typst.TypstError as trouble:
        raise SheetRefusedError(sheet.masthead.title, trouble.message) from trouble


def _compiled(template: str, given: dict[str, str], head: Masthead, standard: Literal["a-2b"] | None = None) -> bytes:
    import typst

    return typst.compile(
        TEMPLATES / f"{template}.typ",
        root=TEMPLATES,
        font_paths=_fonts(),
        format="pdf",
        pdf_standards=standard,
        sys_inputs=given,
        timestamp=head.made.astimezone(UTC),
    )


def _boxes(template: str, given: dict[str, str], head: Masthead) -> list[str]:
    """Return the letters that no font here has, as code points: PDF/A (ISO 19005) allows none, so Typst names them."""
    import typst

    try:
        _compiled(template, given, head, ARCHIVED)
    except typst.TypstError as trouble:
        found = list(dict.fromkeys(f"U+{ord(one):04X}" for told in LACKING.findall(trouble.diagnostic) for one in told))
        return found if len(found) <= MOST_TOLD else [*found[:MOST_TOLD], "…"]
    return []


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
