"""The runners of races to come as the card names them, kept with a library; the last card of a race counts.

Cards are published, like programmes, and lie beside them. Each is kept with its moment, so that what was known at one
can be told later.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from upsides.errors import UnreadableError
from upsides.results.lock import writing

FOLDER: Final = "cards"
MOST: Final = 60
LONGEST: Final = 80


@dataclass(frozen=True, slots=True)
class CardRunner:
    """A runner of a card: its name, and its stall where that is drawn."""

    name: str
    stall: int | None = None


def read_lines(text: str) -> tuple[CardRunner, ...]:
    """Read runners as people type them, one a line: a name, and behind it the stall where it is drawn.

    Raises:
        UnreadableError: a line has no name, there are too many, or one stands twice.
    """
    found: list[CardRunner] = []
    for line in (" ".join(each.split()) for each in text.splitlines()):
        if not line:
            continue
        name, _, last = line.rpartition(" ")
        stall = int(last) if name and last.isdecimal() and 1 <= int(last) <= MOST else None
        one = CardRunner(name.rstrip(" ,;") if stall else line, stall)
        if not any(letter.isalpha() for letter in one.name) or len(one.name) > LONGEST:
            raise UnreadableError("runner", line[:40], "a name and its stall, like Marram 4")
        if one.name.casefold() in {each.name.casefold() for each in found}:
            raise UnreadableError("runner", one.name, "each runner once")
        found.append(one)
    if len(found) > MOST:
        raise UnreadableError("runners", str(len(found)), f"at most {MOST} lines")
    return tuple(found)


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
        kept = {"at": at.isoformat(), "runners": [[one.name, one.stall] for one in runners]}
        fresh.write_text(json.dumps(kept, ensure_ascii=False), "utf-8")
        fresh.rename(place)


def read_card(library: Path, code: str, at: datetime | None = None) -> tuple[CardRunner, ...]:
    """Return the runners of the last card of a race that was known at a moment; none where there is no card."""
    for path in sorted((library / FOLDER).glob(f"{code}-*.json"), reverse=True):
        kept = json.loads(path.read_text("utf-8"))
        if at is None or datetime.fromisoformat(kept["at"]) <= at:
            return tuple(CardRunner(name, stall) for name, stall in kept["runners"])
    return ()
