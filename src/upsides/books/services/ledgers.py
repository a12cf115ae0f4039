"""Writes of what is kept of a horse in dated lines: moves, official marks, what must be declared, shares, cautions."""

from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from typing import Any, Final

from django.db import IntegrityError, transaction

from upsides.books import clock
from upsides.books.models import Caution, Declarable, Horse, Move, OfficialMark, Person, Share
from upsides.books.services.boxes import AHEAD, empty_from
from upsides.books.services.meanwhile import delete, held, merge, save, unchanged
from upsides.errors import LineRefusedError
from upsides.errors.wording import gettext as _
from upsides.placing import HIGHEST_MARK

Line = Move | OfficialMark | Declarable | Share | Caution
FINEST: Final = 10_000
"""Largest denominator of a share."""
MOST_SKILLED: Final = 4
LIGHTEST, HEAVIEST = 30, 150
"""Kilograms that a rider may weigh."""
KEEP_BOX: Final = frozenset({Move.To.TRAINING, Move.To.HOSPITAL})
"""Where a horse goes without losing its box, unless somebody says so."""


@transaction.atomic
def add_line(model: type[Line], horse: int, values: Mapping[str, Any], by: Person) -> Line:
    """Write a line of a horse's.

    Args:
        model: which kind of line.
        horse: number of the horse.
        values: its fields by their names in the table.
        by: who writes it.

    Raises:
        LineGoneError: there is no such horse.
        LineRefusedError: something of it cannot be right.
    """
    row = held(Horse, horse)
    line = model(horse=row, **CHECKS[model](row, values))
    _save(line, by)
    return line


@transaction.atomic
def change_line(model: type[Line], number: int, seen: int, values: Mapping[str, Any], by: Person) -> Line:
    """Correct a line; what it said before stays in its history.

    Raises:
        LineGoneError: it was taken out.
        LineRefusedError: something of it cannot be right.
        ChangedMeanwhileError: somebody else changed the same fields.
    """
    line = held(model, number)
    if merge(line, seen, CHECKS[model](line.horse, values)):
        CHECKS[model](line.horse, {name: getattr(line, name) for name in values})
        _save(line, by)
    return line


@transaction.atomic
def take_out_line(model: type[Line], number: int, seen: int, by: Person) -> None:
    """Take a line out that should never have been written; its history stays.

    Raises:
        LineGoneError, ChangedMeanwhileError: it is gone, or was changed.
    """
    line = held(model, number)
    unchanged(line, seen)
    delete(line, by)


@transaction.atomic
def move_horse(horse: int, values: Mapping[str, Any], by: Person, *, empty_box: bool) -> Move:
    """Write down where a horse goes, and empty its box from that day on where that is asked.

    Raises what `add_line` raises.
    """
    line = add_line(Move, horse, values, by)
    if empty_box:
        empty_from(horse, values["first_day"], by)
    return line  # type: ignore[return-value]  # it is of the model that was asked for


def gelded_to_declare(horse: Horse) -> date | None:
    """Return the day on which a horse was gelded here where nothing says yet that it must be declared."""
    if horse.gelded_on is None or horse.gelded_on < horse.joined:
        return None
    known = Declarable.objects.filter(horse=horse, what=Declarable.What.GELDED)
    return None if known.exists() else horse.gelded_on


def part_of(text: str) -> Fraction:
    """Read a part of one: 1, 1/3, 25 %, 0.25.

    Raises:
        LineRefusedError: it is no part of one, or finer than ten-thousandths.
    """
    bare = "".join(text.split()).replace(",", ".")
    remedy = _("write it like 1, 1/3, 25% or 0.25")
    try:
        if len(bare) > LONGEST_PART or not bare.isascii() or "e" in bare.casefold():
            raise ValueError(bare)
        part = Fraction(bare[:-1]) / 100 if bare.endswith("%") else Fraction(bare)
    except (ValueError, ZeroDivisionError):
        raise LineRefusedError(_("part"), _("{text!r} is no part of a horse", text=text[:20]), remedy) from None
    if not 0 < part <= 1 or part.denominator > FINEST:
        raise LineRefusedError(_("part"), _("{text!r} is not between nothing and the whole", text=text[:20]), remedy)
    return part


LONGEST_PART: Final = 20


def _save(line: Line, by: Person) -> None:
    try:
        with transaction.atomic():
            save(line, by)
    except IntegrityError:
        raise LineRefusedError("", _("there is a line of that day already"), _("change that one instead")) from None


def _move(horse: Horse, values: Mapping[str, Any]) -> dict[str, Any]:
    _after_foaling(horse, "first_day", values["first_day"], clock.today() + AHEAD)
    if values["first_day"] < horse.joined:
        raise LineRefusedError(
            "first_day",
            _("{name} came on {joined}", name=horse.name, joined=horse.joined),
            _("choose a day from then on"),
        )
    return dict(values)


def _mark(horse: Horse, values: Mapping[str, Any]) -> dict[str, Any]:
    _after_foaling(horse, _("effective"), values["effective"], clock.today() + AHEAD)
    if not 0 <= values["value"] <= HIGHEST_MARK:
        raise LineRefusedError(
            _("value"),
            _("{mark} is no handicap mark", mark=values["value"]),
            _("write 0 to {highest_mark} pounds", highest_mark=HIGHEST_MARK),
        )
    country = values["country"].strip().upper()
    if not (country.isascii() and country.isalpha() and 2 <= len(country) <= 3):
        raise LineRefusedError(
            _("country"),
            _("{country!r} is no country", country=values["country"][:10]),
            _("write its code, like GB or IRE"),
        )
    return dict(values) | {"country": country}


def _declarable(horse: Horse, values: Mapping[str, Any]) -> dict[str, Any]:
    today, declared = clock.today(), values["declared_on"]
    _after_foaling(horse, "happened_on", values["happened_on"], today + AHEAD)
    operation = values["what"] in {Declarable.What.GELDED, Declarable.What.WIND_OPERATION}
    if operation and values["happened_on"] > today:
        raise LineRefusedError("happened_on", _("that day is still to come"), _("write it down when it is done"))
    if values["what"] == Declarable.What.GELDED and horse.sex in {"filly", "mare"}:
        raise LineRefusedError(
            _("what"), _("{name} is a {sex}", name=horse.name, sex=horse.sex), _("choose something else")
        )
    if declared and not values["happened_on"] <= declared <= today:
        raise LineRefusedError(
            "declared_on", _("nothing is declared before it happens, or in days to come"), _("correct it")
        )
    return dict(values)


def _share(horse: Horse, values: Mapping[str, Any]) -> dict[str, Any]:
    whole = values["numerator"] == values["denominator"]
    if values["kind"] == Share.Kind.SOLE and not whole:
        raise LineRefusedError(_("part"), _("a sole owner owns the whole"), _("write 1, or choose another kind"))
    if (values["kind"] == Share.Kind.LEASE) != (values["leased_from_id"] is not None):
        raise LineRefusedError(
            "leased_from", _("a lease is from somebody, and nothing else is"), _("choose both or neither")
        )
    if values["leased_from_id"] == values["owner_id"]:
        raise LineRefusedError("leased_from", _("nobody leases from himself"), _("choose the one who owns it"))
    _after_foaling(horse, "first_day", values["first_day"], clock.today() + AHEAD)
    return _spanned(values)


def _caution(horse: Horse, values: Mapping[str, Any]) -> dict[str, Any]:
    text = " ".join(values["text"].split())
    if not text or not text.isprintable():
        raise LineRefusedError(_("text"), _("a caution says what to take care of"), _("write it in a few words"))
    if not 0 <= values["skill"] <= MOST_SKILLED:
        raise LineRefusedError(_("skill"), _("there is no such skill"), _("choose one of the list"))
    heaviest = values.get("heaviest_kg")
    if heaviest is not None and not LIGHTEST <= heaviest <= HEAVIEST:
        raise LineRefusedError(
            "heaviest_kg",
            _("nobody weighs {heaviest:g} kg", heaviest=heaviest),
            _("write {lightest} to {heaviest} kg", lightest=LIGHTEST, heaviest=HEAVIEST),
        )
    other = values.get("apart_from_id")
    if other is not None and (other == horse.pk or not Horse.objects.filter(pk=other).exists()):
        raise LineRefusedError("apart_from", _("that is not another horse of the yard"), _("choose one of the list"))
    rider = values.get("not_by_id")
    if rider is not None and not Person.objects.filter(pk=rider, erased_at=None).exists():
        raise LineRefusedError("not_by", _("nobody has that number"), _("choose somebody of the list"))
    if values.get("apart") and horse.sex == Horse.Sex.GELDING:
        raise LineRefusedError(
            _("apart"), _("{name} is a gelding", name=horse.name), _("leave it empty; it is for colts and fillies")
        )
    _after_foaling(horse, "first_day", values["first_day"], clock.today() + AHEAD)
    return _spanned(dict(values) | {"text": text})


def _after_foaling(horse: Horse, field: str, day: date, latest: date) -> None:
    first = horse.foaled_on or date(horse.foaled, 1, 1)
    if not first <= day <= latest:
        raise LineRefusedError(
            field,
            _("{day} is not in the life of {name}", day=day, name=horse.name),
            _("choose {first} to {latest}", first=first, latest=latest),
        )


def _spanned(values: Mapping[str, Any]) -> dict[str, Any]:
    if values["last_day"] and values["last_day"] < values["first_day"]:
        raise LineRefusedError("last_day", _("it would end before it begins"), _("correct one of the two days"))
    return dict(values)


CHECKS: Final[Mapping[type[Line], Callable[[Horse, Mapping[str, Any]], dict[str, Any]]]] = {
    Move: _move,
    OfficialMark: _mark,
    Declarable: _declarable,
    Share: _share,
    Caution: _caution,
}
