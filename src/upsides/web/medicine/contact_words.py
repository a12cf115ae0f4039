"""Contacts in words: what was shared, and how sure it is that the horses met by it."""

from collections.abc import Mapping
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from upsides.books.queries.contact_traces import How

HEADINGS: Final[Mapping[How, Promise]] = {
    How.BOX: gettext_lazy("The same box"),
    How.NEIGHBOUR: gettext_lazy("The next box"),
    How.BARN: gettext_lazy("The same barn, box not known"),
    How.JOURNEY: gettext_lazy("The same journey"),
    How.LORRY: gettext_lazy("The same lorry, another journey"),
    How.UPSIDES: gettext_lazy("Worked upsides"),
    How.TACK: gettext_lazy("The same tack"),
    How.LOT: gettext_lazy("The same lot"),
    How.RIDER: gettext_lazy("The same rider"),
    How.GIVER: gettext_lazy("Given something by the same person"),
    How.FARRIER: gettext_lazy("Shod on the same day"),
    How.GALLOP: gettext_lazy("The same gallop"),
}
SURE: Final[Mapping[How, Promise]] = {
    How.BOX: gettext_lazy(
        "Sure, as far as boxes are entered: they stood in the same box, one after the other or together."
    ),
    How.NEIGHBOUR: gettext_lazy(
        "Neighbours: boxes beside each other in walking order, on the same days. Whether they could touch is not known "
        "here."
    ),
    How.BARN: gettext_lazy("Not sure: the books know the barn and not the box."),
    How.JOURNEY: gettext_lazy("Sure: the same lorry to the same place on the same day."),
    How.LORRY: gettext_lazy("Likely less: the same lorry on the same day, but not together."),
    How.UPSIDES: gettext_lazy("Sure: they worked beside each other."),
    How.TACK: gettext_lazy("Sure that both wore it; not on the same day in every case."),
    How.LOT: gettext_lazy("They went out together; how near they came nobody wrote."),
    How.RIDER: gettext_lazy("By way of a person: the same rider on the same day."),
    How.GIVER: gettext_lazy("By way of a person: who gave both of them something on the same day."),
    How.FARRIER: gettext_lazy("Perhaps by way of the farrier: the entries do not say who shod."),
    How.GALLOP: gettext_lazy("The least: the same gallop on the same day, in different lots."),
}
"""How sure each is."""
