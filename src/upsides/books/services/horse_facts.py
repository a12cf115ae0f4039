"""What is filled in of a horse itself, read and refused where it cannot be so; nothing is written here."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from upsides.books.models import Horse, Person
from upsides.errors import HorseRefusedError, HorseTwiceError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.identity import plain_name
from upsides.rules.birthdays import foaling_season
from upsides.trade.life_number import LifeNumber, Microchip
from upsides.trade.sex import Sex

OLDEST: Final = 30
AHEAD: Final = timedelta(days=366)
_COUNTRY: Final = re.compile(r"\s*\([A-Za-z]{2,3}\)$")
LONGEST: Final = {"name": 100, "sire": 100, "dam": 100, "colour": 40, "markings": 400, "passport": 40}
"""Most letters of each line, as the table has room for."""
_UNSEEN: Final = _("there are signs in it that cannot be seen; type it again")


@dataclass(frozen=True, slots=True)
class Facts:
    """A horse as it is filled in.

    Args:
        name: empty for one that is not named yet, which goes by its dam and year.
        foaled: year of foaling.
        sex: a value of `Horse.Sex`.
        joined: day it came to the yard.
        foaled_on: day of foaling where that is known.
        gelded_on: day it was gelded; it makes a colt, horse or ridgling a gelding.
        sire, dam, colour, markings, passport, microchip, life_number: empty where unknown.
        carer: number of who looks after it, None for nobody.
        left: day it left the yard for good, None while it is here.
    """

    name: str
    foaled: int
    sex: str
    joined: date
    foaled_on: date | None = None
    gelded_on: date | None = None
    sire: str = ""
    dam: str = ""
    colour: str = ""
    markings: str = ""
    passport: str = ""
    microchip: str = ""
    life_number: str = ""
    carer: int | None = None
    left: date | None = None


def checked(facts: Facts, today: date, jurisdiction: str) -> dict[str, Any]:
    """Return what the row of the horse must hold.

    Raises:
        HorseRefusedError: a field cannot be right; it is named, with the reason.
    """
    season = foaling_season(0, today, jurisdiction)
    if not season - OLDEST <= facts.foaled <= today.year:
        raise _refused(
            _("foaled"),
            facts.foaled,
            _("write the year of foaling, {season} to {year}", season=season - OLDEST, year=today.year),
        )
    lines = {name: _line(getattr(facts, name), name) for name in ("sire", "dam", "colour", "markings", "passport")}
    called = _line(facts.name, _("name"))
    told = lines | {
        "name": called or unnamed(lines["dam"], facts.foaled),
        "named": bool(called),
        "foaled": facts.foaled,
        "sex": _sex(facts, season),
        "microchip": _number(facts.microchip, _("microchip")),
        "life_number": _number(facts.life_number, "life_number"),
        "carer_id": _carer(facts.carer),
    }
    if not plain_name(str(told["name"])):
        raise _refused(_("name"), facts.name, _("write its name, or its dam's name where it has none yet"))
    _days(facts, today, jurisdiction)
    return told | {name: getattr(facts, name) for name in ("foaled_on", "gelded_on", "joined", "left")}


def unnamed(dam: str, foaled: int) -> str:
    """Return what a horse without a name goes by: "Fallow Bugle 2024"; empty where the dam is unknown too."""
    bare = _COUNTRY.sub("", dam)
    return f"{bare} {foaled}" if bare else ""


def refuse_twin(told: Mapping[str, Any], number: int | None) -> None:
    """Refuse a horse that looks like another: the same microchip or life number, or the same name and year.

    Raises:
        HorseTwiceError: it does; the other is named.
    """
    others = Horse.objects.exclude(pk=number or 0)
    for field in ("microchip", "life_number"):
        other = others.filter(**{field: told[field]}).first() if told[field] else None
        if other is not None:
            raise HorseTwiceError(field.replace("_", " "), told[field], other.name, other.pk)
    for other in others.filter(foaled=told["foaled"]):
        if plain_name(other.name) == plain_name(told["name"]):
            raise HorseTwiceError(_("name"), told["name"], other.name, other.pk)


def _sex(facts: Facts, season: int) -> str:
    if facts.sex not in Horse.Sex.values:
        raise _refused(_("sex"), facts.sex, _("choose one of the list"))
    sex = Sex(facts.sex)
    if facts.gelded_on and sex.is_female:
        raise _refused(
            "gelded_on", facts.gelded_on, _("a {sex} cannot be gelded; leave it out, or correct the sex", sex=sex)
        )
    if facts.gelded_on:
        return Sex.GELDING.value
    return sex.at(max(season - facts.foaled, 0)).value


def _days(facts: Facts, today: date, jurisdiction: str) -> None:
    born, gelded = facts.foaled_on, facts.gelded_on
    if born and facts.foaled not in {born.year, foaling_season(0, born, jurisdiction)}:
        raise _refused(
            "foaled_on", born, _("that day is not of {foaled}; correct the day or the year", foaled=facts.foaled)
        )
    if born and born > today:
        raise _refused("foaled_on", born, _("that day is still to come"))
    earliest = born or date(facts.foaled, 1, 1)
    if gelded and not earliest <= gelded <= today:
        raise _refused("gelded_on", gelded, _("write a day after it was foaled, and not one to come"))
    if not earliest <= facts.joined <= today + AHEAD:
        raise _refused(_("joined"), facts.joined, _("write a day after it was foaled, at most a year ahead"))
    if facts.left and not facts.joined <= facts.left <= today + AHEAD:
        raise _refused(_("left"), facts.left, _("write a day on which it had come already, at most a year ahead"))


def _line(text: str, field: str) -> str:
    line = " ".join(text.split())
    longest = LONGEST[field]
    if len(line) > longest:
        raise _refused(field, f"{line[:20]}...", _("use at most {longest} letters", longest=longest))
    if not line.isprintable():
        raise _refused(field, line.encode("ascii", "backslashreplace").decode()[:40], _UNSEEN)
    return line


def _number(text: str, field: str) -> str:
    """Return a number that identifies a horse as it is kept, without what separates its digits."""
    if not text.strip():
        return ""
    try:
        return Microchip.parse(text).digits if field == "microchip" else LifeNumber.parse(text).characters
    except UnreadableError as error:
        raise _refused(field, text[:40], _("write {expected}", expected=error.expected)) from None


def _carer(number: int | None) -> int | None:
    if number is not None and not Person.objects.filter(pk=number, erased_at=None).exists():
        raise _refused(_("carer"), number, _("nobody has that number; choose somebody of the list"))
    return number


def _refused(field: str, typed: object, remedy: str) -> HorseRefusedError:
    return HorseRefusedError(field, str(typed), remedy)
