"""The runners of races to come as the card names them, kept with a library; the last card of a race counts.

Cards are published, like programmes, and lie beside them. Each is kept with its moment, so that what was known at one
can be told later.
"""

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from upsides.errors import FigureRefusedError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.lock import writing
from upsides.results.naming import key_of, may_be_one
from upsides.trade.weight import Weight

FOLDER: Final = "cards"
MOST: Final = 60
LONGEST: Final = 80
LIGHTEST_LB, HEAVIEST_LB = 70.0, 200.0
"""Between these a weight of a card lies; what ends a line and lies outside belongs to the name."""
_NO_NAME: Final = re.compile(r"-\d+|\d+-\d+")
"""What no name ends with: a stall or a weight that cannot be."""
LINE: Final = _("the card's line")
QUOTE: Final = '"'
_QUOTED: Final = re.compile(r'"([^"]+)"(?: ([1-9]|[1-5][0-9]|60))?')
"""A name in quotes, for one that ends with a number, and a stall."""
_NO_STALL: Final = re.compile(r" \d+$")
_WEIGHED: Final = re.compile(r"\d{1,2}-\d{1,2}|\d+(?:\.\d+)?\s?(?:lb|kg)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class CardRunner:
    """A runner of a card: its name, its stall where that is drawn, its weight on the card (lb) where that is told."""

    name: str
    stall: int | None = None
    weight_lb: float | None = None

    def __str__(self) -> str:
        """Return it as people type it; `read_lines` reads it back."""
        weight = "" if self.weight_lb is None else f"{self.weight_lb:g}lb"
        if self.weight_lb is not None and self.weight_lb == int(self.weight_lb):
            weight = Weight.from_stones(*divmod(int(self.weight_lb), 14)).text("british")
        bare = self.stall is None and _NO_STALL.search(self.name)
        name = f"{QUOTE}{self.name}{QUOTE}" if bare else self.name
        return " ".join(part for part in (name, str(self.stall or ""), weight) if part)


def read_lines(text: str) -> tuple[CardRunner, ...]:
    """Read runners as people type them, one a line: a name, then the stall where it is drawn, then the weight.

    A weight is written with its unit or in stones, like 9-7, 133lb or 60.5kg, so no bare number is taken for one. A
    name that ends with a number stands in quotes, or before its stall.

    Raises:
        FigureRefusedError: a line has no name or no stall that can be, or a runner or a stall stands twice.
        UnreadableError: there are too many.
    """
    found: list[CardRunner] = []
    for line in (" ".join(each.split()) for each in text.splitlines()):
        if not line:
            continue
        one = _runner(line)
        named = any(letter.isalpha() for letter in one.name) and not _NO_NAME.fullmatch(one.name.split()[-1])
        if not named or len(one.name) > LONGEST:
            raise FigureRefusedError(
                LINE, line[:40], _("it is not read"), _("write a name, its stall and its weight, like Marram 4 9-7")
            )
        if one.stall is None and _NO_STALL.search(one.name) and not line.startswith(QUOTE):
            raise FigureRefusedError(
                LINE,
                line[:40],
                _("its last number is no stall: they go from 1 to {most}", most=MOST),
                _('correct it, or put a name that ends with a number in quotes, like "Marram 66" 4 9-7'),
            )
        if runner_called(found, one.name):
            raise FigureRefusedError(
                LINE, line[:40], _("{name} stands in it twice", name=one.name), _("write each runner once")
            )
        if one.stall is not None and one.stall in {each.stall for each in found}:
            raise FigureRefusedError(
                LINE,
                line[:40],
                _("another runner has stall {stall}", stall=one.stall),
                _("correct one of them: each has a stall of its own"),
            )
        found.append(one)
    if len(found) > MOST:
        raise UnreadableError(_("runners"), str(len(found)), _("at most {most} lines", most=MOST))
    return tuple(found)


def _runner(line: str) -> CardRunner:
    weight, line = _weight(line)
    if quoted := _QUOTED.fullmatch(line):
        return CardRunner(quoted[1].strip(), int(quoted[2]) if quoted[2] else None, weight)
    name, _, last = line.rpartition(" ")
    stall = int(last) if name and last.isdecimal() and 1 <= int(last) <= MOST else None
    return CardRunner(name.rstrip(" ,;") if stall else line, stall, weight)


def _weight(line: str) -> tuple[float | None, str]:
    """Return the weight that a line ends with, lb, and the line without it."""
    name, _, last = line.rpartition(" ")
    if not name or not _WEIGHED.fullmatch(last):
        return None, line
    try:
        pounds = Weight.parse(last).pounds
    except UnreadableError:
        return None, line
    return (round(pounds, 2), name.rstrip(" ,;")) if LIGHTEST_LB <= pounds <= HEAVIEST_LB else (None, line)


def runner_called(card: Iterable[CardRunner], name: str) -> CardRunner | None:
    """Return the runner of a card that a horse is, however the card writes it: in capitals, with its country or not.

    Args:
        card: the runners.
        name: of the horse, as the books or the library have it.
    """
    key = key_of(name)
    listed = [one for one in card if key and may_be_one(key, key_of(one.name))]
    return next((one for one in listed if key_of(one.name) == key), listed[0] if listed else None)


def keep_card(library: Path, code: str, runners: Sequence[CardRunner], at: datetime) -> None:
    """Keep a card of a race, whole or not at all.

    Args:
        library: the library's folder.
        code: of the race.
        runners: all that the card names.
        at: when it was written down.

    Raises:
        LibraryBusyError: another process is writing to the library.
    """
    folder = library / FOLDER
    with writing(library):
        folder.mkdir(exist_ok=True)
        number = 1 + max((int(path.stem.split("-")[1]) for path in folder.glob(f"{code}-*.json")), default=0)
        place = folder / f"{code}-{number:04d}.json"
        fresh = place.with_suffix(".new")
        kept = {"at": at.isoformat(), "runners": [[one.name, one.stall, one.weight_lb] for one in runners]}
        fresh.write_text(json.dumps(kept, ensure_ascii=False), "utf-8")
        fresh.rename(place)


def read_card(library: Path, code: str, at: datetime | None = None) -> tuple[CardRunner, ...]:
    """Return the runners of the last card of a race that was known at a moment; none where there is no card."""
    for path in sorted((library / FOLDER).glob(f"{code}-*.json"), reverse=True):
        kept = json.loads(path.read_text("utf-8"))
        if at is None or datetime.fromisoformat(kept["at"]) <= at:
            return tuple(CardRunner(*told) for told in kept["runners"])
    return ()
