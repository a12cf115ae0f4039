"""Saying what black type is worth: every word of it stays, with who said it and when."""

import re
from collections.abc import Mapping
from typing import Final

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Person, Role, Yard
from upsides.books.models.answer import BLACK_TYPE
from upsides.books.queries import moments
from upsides.books.queries.black_type import BUILDS, Worth, black_type_said
from upsides.books.services.answers import store
from upsides.books.services.jobs import ask
from upsides.errors import FigureRefusedError
from upsides.errors.wording import gettext as _

MOST: Final = 100_000_000.0


@transaction.atomic
def say_black_type(currency: str, worth: Mapping[str, float | None], by: Person) -> Worth:
    """Say what a place among the first three of a group or listed race is worth, in a currency, from now on.

    Args:
        currency: ISO 4217 code of the prizes for which it holds; other currencies stay as they are.
        worth: by build of `BUILDS`; all None takes the word back, one None is nought.
        by: the trainer.

    Raises:
        FigureRefusedError: somebody else says it, or a number or the currency cannot be right.
    """
    if not by.posts.filter(role=Role.TRAINER).exists():
        raise FigureRefusedError(
            _("black type"), by.name, _("its worth is the trainer's own number"), _("let the trainer say it")
        )
    code = currency.strip().upper()
    if not re.fullmatch("[A-Z]{3}", code):
        raise FigureRefusedError(_("currency"), currency, _("it is none"), _("write its three letters, like GBP"))
    for build, value in worth.items():
        if build not in BUILDS or (value is not None and not 0.0 <= value <= MOST):
            reason = _("a worth is nought or more")
            raise FigureRefusedError(_("black type"), value, reason, _("write a number, or leave it empty"))
    Yard.objects.select_for_update().first()
    said = dict(black_type_said(moments.now()))
    told = {build: float(worth.get(build) or 0.0) for build in BUILDS}
    if all(worth.get(build) is None for build in BUILDS):
        said.pop(code, None)
    else:
        said[code] = told
    if said != black_type_said(moments.now()):
        store(BLACK_TYPE, clock.today(), said, {"by": by.pk})
        ask("chances", afresh=True)
    return said
