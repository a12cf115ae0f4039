"""What the diary holds of days, read fast and row by row."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

import worlds
from mornings import Hands, enter
from upsides.books import clock
from upsides.books.models import Horse, Yard
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of, told_in

pytestmark = pytest.mark.django_db
LATE = datetime(2026, 6, 20, 23, 59, tzinfo=UTC)


@pytest.mark.parametrize("zone", ["Europe/London", "Asia/Kathmandu", "Australia/Adelaide", "Pacific/Chatham"])
def test_values_and_days_are_those_of_whole_rows(
    loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch, zone: str
) -> None:
    """Horse, the yard's day, words and numbers are those of whole rows, round midnight in zones that are off by hours
    and by quarters of one, and in the same order; what a row does not hold is None."""
    Yard.objects.update(zone=zone)
    hands, horse = Hands(monkeypatch, LATE), Horse.objects.order_by("pk").first()
    for back in range(0, 60 * 24, 47):
        at = hands.back(minutes=back, microseconds=back * 313)
        enter("mass", horse, at, kg=470 + back % 7, scale="Yard" if back % 2 else "")
    first = (LATE - timedelta(days=3)).date()
    found = entries_of(moments.now(), ["mass"], first, moments.now().day)
    local = clock.place().zone
    assert local == ZoneInfo(zone)
    whole = [
        (one.horse_id, one.happened_at.astimezone(local).date(), one.values["kg"], one.values.get("scale"))
        for one in found
    ]
    told = [(number, day, float(kg), scale) for number, day, (kg, scale) in told_in(found, "kg", "scale")]
    assert told == whole
    assert len({day for _number, day, *_rest in told}) == 2
    assert {scale for *_rest, scale in told} & {None, ""}
