"""The horses in training, as pages that show all of them read them."""

from collections.abc import Mapping
from types import MappingProxyType

from upsides.books.models import Horse, Move
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered


def in_training(moment: Moment) -> Mapping[int, Horse]:
    """Return the horses that were in training on the moment's day by number; their rows are not to be changed."""
    return remembered("in training", moment, (), (Horse, Move), lambda: _read(moment))


def _read(moment: Moment) -> Mapping[int, Horse]:
    return MappingProxyType({horse.pk: horse for horse in moments.in_training(moment)})
