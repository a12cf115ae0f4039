"""Drawing the yard's gallops on the ground."""

from collections.abc import Sequence

import numpy as np
from django.db import transaction

from upsides.books.models import Gallop, Person
from upsides.books.queries.gallops import line_of
from upsides.books.services.recordings import read_again
from upsides.errors import GallopLineError
from upsides.errors.wording import gettext as _

Line = Sequence[Sequence[float | None]]
LONGEST_NAME = 60


@transaction.atomic
def draw_gallop(gallop: Gallop, line: Line, marks: Sequence[float] = (), by: Person | None = None) -> Gallop:
    """Say where a gallop runs and where its marks stand; the worker then looks which of the works known were on it.

    Its length is that of the line, and its rise that of the line's heights where both ends have one.

    Args:
        gallop: its row.
        line: latitude, longitude, and height or None, of each point from its start to its end.
        marks: metres from its start, rising; none for every furlong.
        by: who draws it.

    Raises:
        GallopLineError: the line is no gallop, or the marks do not stand along it in order.
    """
    drawn = line_of(gallop.name, line, marks)
    gallop.line, gallop.marks = [list(point) for point in line], list(marks)
    gallop.length_m = round(drawn.length_m)
    if np.isfinite(drawn.rise_m):
        gallop.rise_m = round(drawn.rise_m)
    gallop.save()
    read_again(gallop, by)
    return gallop


def named_gallop(name: str, surface: str | None = None) -> tuple[Gallop, bool]:
    """Return the gallop of a name, not yet saved where it is new, and whether it is.

    Args:
        name: what it is called.
        surface: a value of `Gallop.Surface`; None leaves it, and is "other" for a new one.

    Raises:
        GallopLineError: it has no name, or one that is too long.
    """
    called = " ".join(name.split())
    if not called or len(called) > LONGEST_NAME:
        raise GallopLineError(name, _("a name has 1 to {longest_name} letters", longest_name=LONGEST_NAME))
    row = Gallop.objects.filter(name=called).first()
    fresh = row is None
    row = row or Gallop(name=called, surface=Gallop.Surface.OTHER)
    if surface is not None:
        row.surface = surface
    return row, fresh
