"""A row of a table of horses: a horse as the books would hold it, or why it cannot be taken."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.utils.translation import gettext as _

from upsides.books.intake.days import day_and_time
from upsides.books.intake.rows import Faults, Reading, Wrong
from upsides.books.models import Horse
from upsides.books.services.horse_facts import Facts, checked
from upsides.books.services.horses import BY_HAND, Described
from upsides.errors import CellRefusedError, HorseRefusedError, UnreadableError
from upsides.errors.wording import gettext
from upsides.results.identity import plain_name
from upsides.trade.sex import Sex

DAYS: Final = ("foaled_on", "joined")
MORE: Final = ("named", "foaled_on", "colour", "passport", "microchip", "life_number")


@dataclass(frozen=True, slots=True)
class NewHorse:
    """A horse that a table describes.

    Args:
        told: what its row of the books will hold.
    """

    told: Mapping[str, Any]

    @property
    def described(self) -> Described:
        """Return by what it is looked for in the results."""
        told = self.told
        return Described(told["name"], told["foaled"], Sex(told["sex"]), told["sire"], told["dam"])

    @property
    def joined(self) -> date:
        """Return the day on which it came."""
        day: date = self.told["joined"]
        return day

    @property
    def more(self) -> dict[str, Any]:
        """Return what else the books hold of it, by the name of the field."""
        return {name: self.told[name] for name in MORE if self.told[name] not in {None, ""}}

    def words(self) -> str:
        """Return the horse on a line."""
        told = {name: self.told[name] or "?" for name in ("name", "sire", "dam")} | {
            "sex": Horse.Sex(self.told["sex"]).label,
            "year": self.told["foaled"],
        }
        if self.told["sire"] or self.told["dam"]:
            return _("%(name)s, %(sex)s, foaled %(year)s, by %(sire)s out of %(dam)s") % told
        return _("%(name)s, %(sex)s, foaled %(year)s") % told


def read_horse(reading: Reading, line: int, cells: Mapping[str, str | None]) -> tuple[NewHorse | None, list[Wrong]]:
    """Return the horse that a row describes, or all that is wrong with it."""
    said, faults = reading.said(cells), Faults(line)
    days = {name: _day(reading, said, name, faults) for name in DAYS if name in said}
    if "joined" not in said:
        remedy = gettext("write the day, or say one for every row")
        faults.add(CellRefusedError(reading.heading("joined"), "", gettext("no day is written"), remedy))
    year = _year(reading, said, days.get("foaled_on"), faults)
    sex = _sex(reading, said, year, faults)
    if faults.found:
        return None, faults.found
    facts = Facts(
        name=said.get("horse", ""),
        foaled=year,
        sex=sex,
        joined=days["joined"] or reading.today,
        foaled_on=days.get("foaled_on"),
        sire=said.get("sire", ""),
        dam=said.get("dam", ""),
        colour=said.get("colour", ""),
        passport=said.get("passport", ""),
        microchip=said.get("microchip", ""),
        life_number=said.get("life_number", ""),
    )
    try:
        return NewHorse(checked(facts, reading.today, reading.jurisdiction)), []
    except HorseRefusedError as error:
        column = {"name": "horse"}.get(error.field, error.field)
        faults.add(CellRefusedError(reading.heading(column), error.value, gettext("it cannot be right"), error.remedy))
    return None, faults.found


def _day(reading: Reading, said: Mapping[str, str], name: str, faults: Faults) -> date | None:
    try:
        return day_and_time(said[name], reading.chosen.order, reading.heading(name))[0]
    except CellRefusedError as error:
        faults.add(error)
    return None


def _year(reading: Reading, said: Mapping[str, str], born: date | None, faults: Faults) -> int:
    """Return the year of foaling; nought where it cannot be read, of which the faults tell."""
    typed = said.get("foaled", "").removesuffix(".0")
    if typed.isdecimal() and len(typed) == 4:
        return int(typed)
    if not typed and born:
        return born.year
    remedy = gettext("write the year, like 2023")
    faults.add(CellRefusedError(reading.heading("foaled"), typed, gettext("it is no year of foaling"), remedy))
    return 0


def _sex(reading: Reading, said: Mapping[str, str], year: int, faults: Faults) -> str:
    typed = said.get("sex", "")
    try:
        return Sex.parse(typed, age=max(0, reading.today.year - year) if year else None).value
    except UnreadableError as error:
        reason = gettext("it is no word for the sex of a horse") if typed else gettext("no sex is written")
        faults.add(
            CellRefusedError(
                reading.heading("sex"), typed, reason, gettext("write {expected}", expected=error.expected)
            )
        )
    return ""


def in_the_books(one: NewHorse, reading: Reading) -> Horse | None:
    """Return the horse of the books that a row describes again, None for a new one.

    Raises:
        CellRefusedError: its number is that of another horse.
    """
    name, foaled = plain_name(one.told["name"]), one.told["foaled"]
    same = [horse for horse in reading.known.by_name.get(name, ()) if horse.foaled == foaled]
    for field in ("microchip", "passport", "life_number"):
        number = plain_name(one.told[field])
        kind = "microchip" if field == "microchip" else "passport"
        for horse in reading.known.by_number.get((kind, number), ()) if number else ():
            if horse not in same:
                reason = gettext("it is that of {name}, foaled {foaled}", name=horse.name, foaled=horse.foaled)
                raise CellRefusedError(
                    reading.heading(field), one.told[field], reason, gettext("see which horse it is")
                )
    return same[0] if same else None


def key_of(one: NewHorse) -> str:
    """Return what makes two rows the same horse."""
    return f"{BY_HAND}:{plain_name(one.told['name'])}-{one.told['foaled']}"
