"""What the string's list can be narrowed by: for each question the answers that some horse gives."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _

from upsides.books.queries.finding import WITHOUT
from upsides.books.queries.string import Listed, Status
from upsides.web.string.asking import Asked, written_sort
from upsides.web.string.columns import COLUMNS, Column, columns_open
from upsides.web.string.sentences import sex_words

Option = tuple[str, str, bool]
"""Value, words, whether it is chosen."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One question.

    Args:
        name: its name in the address.
        words: the question.
        options: the answers.
    """

    name: str
    words: str | Promise
    options: list[Option]


def choices(listed: Iterable[Listed], asked: Asked) -> list[Choice]:
    """Return the questions for these horses, with what was chosen."""
    horses, wanted = list(listed), asked.wanted
    return [
        Choice("sex", _("Sex"), _answers({one.horse.sex: sex_words(one.horse.sex) for one in horses}, wanted.sex)),
        Choice("age", _("Age"), _answers({str(one.age): str(one.age) for one in horses}, wanted.age)),
        Choice("barn", _("Barn"), _answers(_barns(horses), wanted.barn)),
        Choice("carer", _("Looked after by"), _answers(_carers(horses), wanted.carer)),
        Choice("raced", _("Raced"), _listed([("", _("all")), ("yes", _("raced")), ("no", _("unraced"))], wanted.raced)),
        Choice("status", _("In training"), _listed(_statuses(), asked.status.value)),
        Choice("sort", _("Order"), _listed(_orders(asked), asked.sort)),
    ]


def ticks(asked: Asked) -> list[tuple[Column, bool]]:
    """Return the columns that can be chosen, with whether each is shown."""
    return [(column, column in asked.columns) for column in columns_open(asked.figures)]


def _barns(horses: list[Listed]) -> dict[str, str]:
    barns = {one.barn for one in horses}
    return {barn or WITHOUT: barn or _("no barn") for barn in barns}


def _carers(horses: list[Listed]) -> dict[str, str]:
    carers = {one.horse.carer_id: one.carer for one in horses}
    return {str(number or WITHOUT): name if number else _("nobody") for number, name in carers.items()}


def _statuses() -> list[tuple[str, str]]:
    words = {Status.TRAINING: _("yes"), Status.AWAY: _("away"), Status.LEFT: _("left"), Status.ALL: _("all")}
    return [(status.value, words[status]) for status in Status]


def _orders(asked: Asked) -> list[tuple[str, str]]:
    columns = [COLUMNS["name"], *columns_open(asked.figures)]
    ways = [(column, falling) for column in columns for falling in (False, True)]
    return [(written_sort(column, falling=way), column.order_words(falling=way)) for column, way in ways]


def _answers(given: dict[str, str], chosen: str) -> list[Option]:
    """Return the answers that the horses give, in order, after one that leaves the question open."""
    if chosen and chosen not in given:
        given = given | {chosen: chosen}
    return _listed([("", _("all")), *sorted(given.items(), key=lambda pair: (pair[0] == WITHOUT, pair[1]))], chosen)


def _listed(pairs: list[tuple[str, str]], chosen: str) -> list[Option]:
    return [(value, words, value == chosen) for value, words in pairs]
