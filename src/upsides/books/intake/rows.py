"""What one row of a table says: entries of the diary, or a horse; or why it cannot be taken, cell by cell."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Final, Self
from zoneinfo import ZoneInfo

from upsides.books.diary import Field, Kind
from upsides.books.diary.fields import Choice, Number, Row, Several, Tick
from upsides.books.intake.days import day_and_time, moment, time_of
from upsides.books.intake.finding import Known
from upsides.books.intake.proposing import Chosen
from upsides.books.intake.specs import ALIASES, HORSE, Spec
from upsides.books.models import Horse
from upsides.errors import CellRefusedError, EntryRefusedError
from upsides.errors.wording import as_kept, of_kept
from upsides.errors.wording import gettext as _
from upsides.results.shape import MISSING

_HORSE: Final = frozenset(column.name for column in HORSE)
_NOTHING: Final = frozenset(word.casefold() for word in MISSING) | {"–", "—", "n/a"}
_UNIT: Final = re.compile(r"[(\[,]\s*(?P<unit>[^)\]]+?)\s*[)\]]?\s*$")


@dataclass(frozen=True, slots=True)
class Wrong:
    """A cell that keeps its row from being taken.

    Args:
        line: in the file.
        column: its heading, or what is missing.
        typed: what stands in it.
        reason: why it cannot be.
        remedy: what to do.
    """

    line: int
    column: str
    typed: str
    reason: str
    remedy: str

    def as_kept(self) -> dict[str, Any]:
        """Return it as JSON can hold it."""
        reason, remedy = as_kept(self.reason), as_kept(self.remedy)
        return {"line": self.line, "column": self.column, "typed": self.typed, "reason": reason, "remedy": remedy}

    @classmethod
    def of_kept(cls, kept: Mapping[str, Any]) -> Self:
        """Return it out of what was kept."""
        reason, remedy = of_kept(kept["reason"]), of_kept(kept["remedy"])
        return cls(kept["line"], kept["column"], kept["typed"], reason, remedy)


@dataclass(frozen=True, slots=True)
class Said:
    """One entry that a row says.

    Args:
        kind: the diary's kind.
        horse: which.
        at: when it was so.
        timed: whether the table says the time of day.
        values: as somebody would type them.
        read: what the kind made of them.
    """

    kind: str
    horse: Horse
    at: datetime
    timed: bool
    values: Mapping[str, str]
    read: Kind


@dataclass(frozen=True, slots=True)
class Reading:
    """How rows are read.

    Args:
        spec: what they are.
        chosen: which column says what.
        known: what they can name.
        headings: heading of what says something, or what it would be called.
        zone: the yard's.
        today: the yard's day.
        jurisdiction: the yard's.
    """

    spec: Spec
    chosen: Chosen
    known: Known
    headings: Mapping[str, str]
    zone: ZoneInfo
    today: date
    jurisdiction: str = ""

    def heading(self, name: str) -> str:
        """Return the heading of what says something, or what it would be called."""
        return self.headings[name]

    def said(self, cells: Mapping[str, str | None]) -> dict[str, str]:
        """Return what a row says, by name; nothing of what it does not say."""
        found = {name: _plain(cells.get(heading)) for name, heading in self.chosen.columns.items()}
        found |= {name: typed.strip() for name, typed in self.chosen.every.items() if not found.get(name)}
        return {name: text for name, text in found.items() if text}


@dataclass(slots=True)
class Faults:
    """Gathers what is wrong with a row."""

    line: int
    found: list[Wrong] = field(default_factory=list)

    def add(self, error: CellRefusedError) -> None:
        """Add a cell."""
        self.found.append(Wrong(self.line, error.column, error.typed, error.reason, error.remedy))


def read_row(reading: Reading, line: int, cells: Mapping[str, str | None]) -> tuple[list[Said], list[Wrong]]:
    """Return the entries that a row says, or all that is wrong with it."""
    said, faults = reading.said(cells), Faults(line)
    kind = reading.spec.kind
    if kind is None:
        raise TypeError("a row of horses says no entries")
    horse = _tried(faults, lambda: reading.known.horse({k: said[k] for k in _HORSE & said.keys()}, reading.headings))
    at = _tried(faults, lambda: _when(reading, said))
    if horse and at and at[0].year < horse.foaled:
        reason = _("{name} was foaled in {foaled}", name=horse.name, foaled=horse.foaled)
        faults.add(CellRefusedError(reading.heading("day"), said["day"], reason, _("see the day and the horse")))
    before = len(faults.found)
    typed = _several(reading, kind, said, cells, faults)
    told = {wrong.column for wrong in faults.found[before:]}
    made = [(values, _kind(reading, kind, values, faults, told)) for values in typed]
    if faults.found or horse is None or at is None:
        return [], faults.found
    return [Said(kind.name, horse, at[0], at[1], values, read) for values, read in made if read], []


def _tried(faults: Faults, act: Any) -> Any:
    """Do something; what it refuses is one of the faults, and None comes back."""
    try:
        return act()
    except CellRefusedError as error:
        faults.add(error)
    return None


def _when(reading: Reading, said: Mapping[str, str]) -> tuple[datetime, bool]:
    """Return when it was so, and whether the time of day is known."""
    heading = reading.heading("day")
    if "day" not in said:
        raise CellRefusedError(heading, "", _("no day is written"), _("write the day on which it was"))
    day, at, utc = day_and_time(said["day"], reading.chosen.order, heading)
    if "time" in said:
        at, utc = time_of(said["time"], reading.heading("time")), None
    when = moment(day, at, utc or reading.zone, heading)
    if when.astimezone(reading.zone).date() > reading.today:
        raise CellRefusedError(
            heading, said["day"], _("that day has not come yet"), _("see the year, and day and month")
        )
    return when, at is not None


def _several(
    reading: Reading, kind: type[Kind], said: Mapping[str, str], cells: Mapping[str, str | None], faults: Faults
) -> list[dict[str, str]]:
    """Return the values of each entry that a row says: one, but for vaccinations against several diseases."""
    values: dict[str, str] = {}
    for one in kind.fields:
        if typed := said.get(one.name):
            read = _tried(faults, lambda one=one, typed=typed: _typed(reading, one, typed))
            values[one.name] = read or typed
    if reading.chosen.results:
        values["results"] = _results(reading, cells)
    if kind.name != "vaccination" or not said.get("disease"):
        return [values]
    found = [word for word in re.split(r"\s*(?:[/+&,;]|\band\b)\s*", said["disease"]) if word]
    against = reading.spec.by_name["disease"].field
    if not isinstance(against, Choice) or _choice(against, said["disease"]) in against.options or len(found) < 2:
        return [values]
    faults.found = [wrong for wrong in faults.found if wrong.column != reading.heading("disease")]
    return [values | {"disease": _choice(against, word)} for word in found]


def _typed(reading: Reading, one: Field, typed: str) -> str:  # noqa: PLR0911 -- one return a kind of field
    """Return a cell as somebody would type it in the diary: its unit added, its words those of the choice."""
    heading = reading.heading(one.name)
    if isinstance(one, Row):
        return reading.known.row(one, typed, heading)
    if isinstance(one, Choice):
        return _choice(one, typed)
    if isinstance(one, Several):
        return ",".join(_choice(one, part) for part in re.split(r"\s*[,;/&+]\s*", typed))
    if isinstance(one, Tick):
        return {"y": "yes", "x": "yes", "✓": "yes", "n": "no", "ja": "yes"}.get(typed.casefold(), typed)
    if isinstance(one, Number):
        return _with_unit(one, typed, heading)
    if one.control == "day":
        return day_and_time(typed, reading.chosen.order, heading)[0].isoformat()
    return typed


def _choice(one: Choice | Several, typed: str) -> str:
    """Return the word that is kept for what somebody wrote; what is not known stays as it is, to be refused."""
    wanted = " ".join(typed.casefold().split())
    for key, words in one.options.items():
        if wanted in {key.casefold(), str(words).casefold()}:
            return key
    return ALIASES.get(one.name, {}).get(wanted, typed)


def _with_unit(one: Number, typed: str, heading: str) -> str:
    """Return a number with the unit that its heading names, where it has none of its own."""
    if not re.fullmatch(r"[\d.,]+", typed):
        return typed
    words = set(re.split(r"[^\w°/]+", heading.casefold()))
    for span in one.spans:
        if span.unit and words & {span.unit.casefold(), *span.aliases}:
            return f"{typed} {span.unit}"
    return typed


def _results(reading: Reading, cells: Mapping[str, str | None]) -> str:
    """Return the results of a sample as lines of a report; what was not measured is not there."""
    lines = []
    for heading in reading.chosen.results:
        if value := _plain(cells.get(heading)):
            unit = found["unit"] if (found := _UNIT.search(heading)) else ""
            lines.append(f"{_UNIT.sub('', heading).strip()} {value} {unit}".strip())
    return "\n".join(lines)


def _kind(reading: Reading, kind: type[Kind], values: Mapping[str, str], faults: Faults, told: set[str]) -> Kind | None:
    """Return what the diary's kind makes of a row; all that it refuses is a fault, but for columns told of before."""
    try:
        return kind.parse(values)
    except EntryRefusedError as error:
        whole = error
    before = len(faults.found)
    for one in kind.fields:
        heading = reading.heading(one.name)
        try:
            one.read(values.get(one.name))
        except EntryRefusedError as error:
            if heading not in told:
                faults.add(CellRefusedError(heading, error.typed, error.reason, error.remedy))
    if len(faults.found) == before and not told:
        named = {str(one.label).lower(): reading.heading(one.name) for one in kind.fields}
        faults.add(CellRefusedError(named.get(whole.field, whole.field), whole.typed, whole.reason, whole.remedy))
    return None


def _plain(cell: str | None) -> str:
    text = " ".join((cell or "").split())
    return "" if text.casefold() in _NOTHING else text


def blank(cells: Mapping[str, str | None]) -> bool:
    """Return whether a row says nothing at all."""
    return not any(_plain(cell) for cell in cells.values())


def words_of(said: Sequence[Said], known: Known) -> list[str]:
    """Return what a row would be read as, an entry a sentence."""
    return [one.read.words(known.names) for one in said]
