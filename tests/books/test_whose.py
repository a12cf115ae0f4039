"""Whose a recording is by the time of its lot, and which horses were out with another recording then."""

from datetime import datetime, time, timedelta
from pathlib import Path
from uuid import uuid4

import pytest

from upsides.books import clock
from upsides.books.models import Horse, Outing, Person, Recorded
from upsides.books.queries import moments
from upsides.books.queries.whose import Candidate, candidates, unclaimed_of, whose
from upsides.books.services.diary import Draft, record
from upsides.planning.prices import SHIPPED
from upsides.recordings.measured import Measured, Piece

pytestmark = pytest.mark.django_db

LOT_1, LOT_2 = time(5, 45), time(6, 40)
"""When the shipped lots pull out."""


def at(when: time, days: int = 0) -> datetime:
    """Return a time of a morning of which the diary says nothing."""
    return datetime.combine(clock.today() - timedelta(days=2000 - days), when, clock.place().zone)


def horses(count: int) -> list[Horse]:
    return list(moments.in_training(moments.now()).order_by("pk")[:count])


def order(horse: Horse, lot: str, author: Person, exercise: str = "steady_canter") -> None:
    when = at(LOT_1)
    record(Draft(uuid4(), "ordered", horse.pk, {"exercise": exercise, "lot": lot}, clock.now(), when), author)


def recorded(began: datetime, ended: datetime | None = None) -> Recorded:
    """Enter a recording of three quarters of an hour, or one that ends when it is said to."""
    ended = ended or began + timedelta(minutes=45)
    return Recorded.objects.create(
        sha256=uuid4().hex * 2, file="a.fit", format="fit", size=1, began=began, ended=ended, fixes=1,
        recorded_at=clock.now(),
    )  # fmt: skip


def given(horse: Horse, row: Recorded, *bouts: datetime) -> None:
    """Give a recording to a horse, which went for ten minutes from each of some times on."""
    assert row.began is not None
    kept = [{"kind": "walk", "start": one.timestamp(), "seconds": 600, "metres": 900} for one in bouts]
    Outing.objects.create(
        recorded=row, horse=horse, day=row.began.date(), began=row.began, matched="hand", metres=900, fast_m=0,
        measured={"bouts": kept, "works": []}, recorded_at=clock.now(),
    )  # fmt: skip


def offered(row: Recorded, measured: Measured | None = None) -> list[Candidate]:
    asked = unclaimed_of(row, measured)
    assert asked is not None
    return list(candidates(moments.now(), asked))


def told(row: Recorded) -> int | None:
    asked = unclaimed_of(row, None)
    assert asked is not None
    return whose(moments.now(), asked).horse


def test_the_lot_that_pulled_out_then_is_offered_first(folder: Path, trainer: Person) -> None:
    """Of a recording from when lot 2 pulled out the horses of lot 2 are offered first, then those of lot 1, and of them
    last those that were out with a recording in their own lot."""
    one, two, three, four, five = horses(5)
    for horse, lot in ((one, "1"), (two, "1"), (three, "1"), (four, "2"), (five, "2")):
        order(horse, lot, trainer)
    given(one, recorded(at(LOT_1)))
    row = recorded(at(time(6, 50)))
    found = [each for each in offered(row) if each.order]
    assert [each.horse for each in found[:2]] == sorted((four.pk, five.pk), key=_name)
    assert [each.horse for each in found[2:]] == [*sorted((two.pk, three.pk), key=_name), one.pk]
    assert [each.in_time for each in found] == [True, True, False, False, False]
    assert [each.been for each in found] == [False] * 4 + [True]
    assert told(row) is None


def test_recordings_tell_when_a_lot_pulled_out(folder: Path, trainer: Person) -> None:
    """Where two horses of a lot were recorded from half past nine, a recording of then is of that lot, whatever the
    shipped lots say; one recording alone does not tell it."""
    one, two, three, four = horses(4)
    for horse, lot in ((one, "1"), (two, "1"), (three, "1"), (four, "2")):
        order(horse, lot, trainer)
    row = recorded(at(time(9, 40)))
    given(one, recorded(at(time(9, 30)), at(time(9, 35))))
    assert next(each.horse for each in offered(row) if each.order) == four.pk
    given(two, recorded(at(time(9, 32)), at(time(9, 36))))
    found = [each for each in offered(row) if each.order]
    assert (found[0].horse, found[0].in_time, found[0].told) == (three.pk, True, True)


def test_a_lot_gives_a_recording_only_at_its_time(folder: Path, trainer: Person) -> None:
    """The one horse that was ordered out is given a recording of when its lot pulled out, and none of the afternoon."""
    (one,) = horses(1)
    order(one, "1", trainer)
    assert told(recorded(at(LOT_1))) == one.pk
    assert told(recorded(at(time(15, 0)))) is None


def test_the_yards_own_lots_rule_out_others(folder: Path, trainer: Person) -> None:
    """Where the yard says itself when its lots pull out, the one horse of a lot is given a recording of that time; by
    the shipped times somebody is asked."""
    one, two, three = horses(3)
    for horse, lot in ((one, "1"), (two, "1"), (three, "2")):
        order(horse, lot, trainer)
    row = recorded(at(LOT_2))
    assert told(row) is None
    own = folder / "lots.toml"
    own.write_text(SHIPPED.read_text(encoding="utf-8"), encoding="utf-8")
    try:
        assert told(row) == three.pk
        assert told(recorded(at(LOT_1))) is None
        own.write_text("not a table", encoding="utf-8")
        assert told(row) is None
    finally:
        own.unlink()


def test_a_gap_of_years_hides_no_horse(trainer: Person) -> None:
    """A horse whose recording has a gap of ten years is offered for recordings within it, and not for one of the same
    morning; a recording with a fix of years ago leaves all horses in the offers but the one that was out then."""
    one, two = horses(2)
    order(one, "1", trainer)
    order(two, "1", trainer)
    began = at(LOT_1, days=-3650)
    given(one, recorded(began, at(time(6, 30))), began, at(LOT_1))
    assert one.pk in {each.horse for each in offered(recorded(at(LOT_1, days=-700)))}
    assert one.pk not in {each.horse for each in offered(recorded(at(LOT_1)))}

    given(two, recorded(at(LOT_1, days=-700)))
    bouts = tuple(
        Piece("walk", when.timestamp(), 600, metres, 0, 1.5, 0.1, 2.0)
        for when, metres in ((began, 0), (at(LOT_1), 900))
    )
    odd = recorded(began, at(time(6, 30)))
    found = offered(odd, Measured(bouts=bouts))
    assert two.pk in {each.horse for each in found}
    assert one.pk not in {each.horse for each in found}
    assert [each.lot for each in found if each.horse == two.pk] == [1]


def _name(pk: int) -> str:
    return str(Horse.objects.get(pk=pk).name.casefold())
