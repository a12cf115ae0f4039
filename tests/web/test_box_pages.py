"""How much the page of boxes asks of the books."""

import pytest

import worlds
from upsides.books import clock
from upsides.books.models import Horse, Person, Stand
from upsides.books.services.boxes import add_boxes
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def test_boxes_take_few_questions(
    loaded: worlds.Yard, client_as: ClientAs, django_assert_max_num_queries: object
) -> None:
    """The page of boxes asks the database no more for many horses than for few."""
    office, row = client_as("secretary"), add_boxes("Top", "1-3", Person.objects.get(login="trainer"))
    for place, horse in enumerate(Horse.objects.all()):
        Stand.objects.create(horse=horse, box=row[place % 3], first_day=clock.today())
    with django_assert_max_num_queries(25):
        office.get("/boxes/")
