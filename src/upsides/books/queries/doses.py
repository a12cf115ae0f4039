"""What was given to a horse today already, so that nobody gives it twice unknowingly."""

from django.utils.translation import gettext as _

from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.diary import written
from upsides.books.queries.moments import Moment


def given_today(kind: str, horse: int, moment: Moment) -> list[str]:
    """Return in sentences what of a kind a horse was given on the moment's day, latest first: when, by whom, what."""
    found = moments.entries(moment).filter(kind=kind, horse=horse, happened_at__range=day_span(moment.day))
    rows = written(found.select_related("author").order_by("-happened_at", "-pk"), moment)
    return [
        _("At %(time)s %(author)s entered: %(words)s")
        % {"time": f"{row.happened:%H:%M}", "author": row.author.name, "words": row.words}
        for row in rows
    ]
