"""Changing what a morning of the yard takes: horses in fast work, under one rider, on each gallop."""

from collections.abc import Mapping, Sequence
from typing import Final

from django.db import transaction

from upsides.books.models import Gallop, Person, Yard
from upsides.books.services.meanwhile import save
from upsides.errors import YardListError
from upsides.errors.wording import gettext as _

MOST: Final = 500
MOST_EACH: Final = 20


@transaction.atomic
def change_limits(fast: Sequence[int | None], each: int | None, slots: Mapping[int, int | None], by: Person) -> None:
    """Say what a morning takes from now on; what it took before stays in the history.

    Args:
        fast: the most horses in fast work, Monday first; None where it is not said.
        each: horses that one rider rides in a morning, None where it is not said.
        slots: the most horses of a morning on a gallop, by its number.
        by: who says so.

    Raises:
        YardListError: a number cannot be right.
    """
    for day, most in enumerate(fast):
        _check(f"fast_{day}", most, 0, MOST)
    _check(_("each"), each, 1, MOST_EACH)
    yard = Yard.objects.select_for_update().get()
    said = list(fast) if any(most is not None for most in fast) else []
    if (yard.fast_most, yard.rides_each) != (said, each):
        yard.fast_most, yard.rides_each = said, each
        save(yard, by)
    for gallop in Gallop.objects.select_for_update().filter(pk__in=slots):
        _check(f"slots_{gallop.pk}", slots[gallop.pk], 0, MOST)
        if gallop.slots != slots[gallop.pk]:
            gallop.slots = slots[gallop.pk]
            save(gallop, by)


def _check(field: str, most: int | None, least: int, top: int) -> None:
    if most is not None and not least <= most <= top:
        raise YardListError(
            field,
            _("{most} cannot be right; write {least} to {top}, or leave it empty", most=most, least=least, top=top),
        )
