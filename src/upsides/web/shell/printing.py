"""What every printed sheet shares: its head and foot, and how it is answered."""

from collections.abc import Mapping

from django.http import HttpResponse
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.models import Yard
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.paper import Masthead


def masthead(moment: Moment, title: str, day: str, note: str = "") -> Masthead:
    """Return head and foot of a sheet.

    Args:
        moment: when its values were looked at from.
        title: what it is.
        day: the day or the period it is for, in words.
        note: a sentence for the foot of every page.
    """
    zone, yard = clock.place().zone, moments.rows(Yard, moment).first()
    made = clock.now().astimezone(zone).replace(microsecond=0)
    past = moment.at.astimezone(zone) if moment.at else None
    return Masthead(
        yard=yard.name if yard else "",
        title=title,
        day=day,
        printed=_("Printed %(when)s") % {"when": date_format(made, "j F Y, H:i")},
        page=_("Page {page} of {pages}"),
        made=made,
        as_of=_("As it was known on %(when)s") % {"when": date_format(past, "j F Y, H:i")} if past else "",
        note=note,
        boxes=_(
            "Some letters print as empty boxes, because no font of the machine that made this sheet has them: "
            "{letters}. Install one that has them on it, such as Noto CJK for Chinese and Japanese."
        ),
        language=(get_language() or "en").partition("-")[0],
    )


def answered(pdf: bytes, name: str) -> HttpResponse:
    """Answer with a PDF that is shown and not downloaded."""
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def size_of(asked: Mapping[str, str]) -> str:
    """Return the size of paper that is asked for."""
    return asked.get("paper", "a4")
