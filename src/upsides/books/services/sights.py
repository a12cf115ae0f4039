"""Writes about who was shown inside information."""

from upsides.books import clock
from upsides.books.models import Inside, Sight
from upsides.books.queries.visitors import Visitor


def saw(who: Visitor, what: Inside, page: str, horse_number: int | None = None) -> None:
    """Write down that somebody is shown inside information.

    Args:
        who: to whom.
        what: what.
        page: address of the page.
        horse_number: of which horse, None for more than one.
    """
    longest = Sight._meta.get_field("page").max_length
    Sight.objects.create(person=who.person, at=clock.now(), what=what, page=page[:longest], horse_id=horse_number)
