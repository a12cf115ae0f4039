"""Horses in boxes: who stands where on which day, swaps overnight, and the walk."""

from contextlib import suppress
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from upsides.books import clock
from upsides.books.models import Box, Horse, Person, Stand
from upsides.books.queries import moments
from upsides.books.queries.boxes import boxes
from upsides.books.queries.moments import Moment
from upsides.books.queries.walk import walk
from upsides.books.services.boxes import (
    Put,
    Taken,
    add_boxes,
    change_box,
    put,
    remove_box,
    set_walk,
    take_out_stand,
)
from upsides.books.services.horse_entry import change_horse
from upsides.books.services.horse_facts import Facts
from upsides.books.services.meanwhile import last_change
from upsides.errors import (
    BoxRefusedError,
    BoxTakenError,
    ChangedMeanwhileError,
    LineGoneError,
    LineRefusedError,
    MovedMeanwhileError,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def by() -> Person:
    return Person.objects.get(login="head_person")


@pytest.fixture
def row(by: Person) -> list[Box]:
    """Four boxes in which nobody stands."""
    return add_boxes("Top", "1-4", by)


@pytest.fixture
def horses() -> list[Horse]:
    return list(Horse.objects.order_by("pk")[:4])


def where(horse: Horse, day: date) -> str:
    stood = boxes(Moment(day)).get(horse.pk)
    return stood.name if stood else "-"


def go(horse: Horse, box: Box | None, day: date, by: Person, **more: object) -> None:
    """Put a horse into a box as a page does that shows where it stands."""
    stood = boxes(Moment(day)).get(horse.pk)
    put(Put(horse.pk, box.pk if box else None, day, stood.box if stood else None, **more), by)


def test_a_swap_overnight_is_right_on_both_days(row: list[Box], horses: list[Horse], by: Person) -> None:
    """Two horses that change places from tomorrow on stand in the old boxes today and in each other's tomorrow."""
    today = clock.today()
    one, two, *_ = horses
    go(one, row[0], today, by)
    go(two, row[1], today, by)
    go(one, row[1], today + DAY, by, taken=Taken.SWAP, other=two.pk)
    assert [where(one, today), where(two, today)] == ["1", "2"]
    assert [where(one, today + DAY), where(two, today + DAY)] == ["2", "1"]
    assert [where(one, today - DAY), where(two, today - DAY)] == ["-", "-"]


def test_swapping_back_leaves_nothing(row: list[Box], horses: list[Horse], by: Person) -> None:
    """Two horses swapped and swapped back on the same day have no line of that day."""
    today = clock.today()
    one, two, *_ = horses
    go(one, row[0], today, by)
    go(two, row[1], today, by)
    for _turn in range(2):
        target = row[1] if where(one, today + DAY) == "1" else row[0]
        go(one, target, today + DAY, by, taken=Taken.SWAP, other=two.pk)
    assert not Stand.objects.filter(first_day=today + DAY).exists()
    assert [where(one, today + DAY), where(two, today + DAY)] == ["1", "2"]


def test_a_box_that_is_taken_asks(row: list[Box], horses: list[Horse], by: Person) -> None:
    """A horse is not put to another in silence: the other is named, nothing is moved; said so, both stand there."""
    today = clock.today()
    one, two, *_ = horses
    go(one, row[0], today, by)
    with pytest.raises(BoxTakenError) as refused:
        go(two, row[0], today, by)
    assert (refused.value.number, refused.value.day) == (one.pk, today)
    assert where(two, today) == "-"
    go(two, row[0], today, by, taken=Taken.BOTH)
    crowded = [place for place in walk(moments.now()).places if place.crowded]
    assert [{inmate.horse.pk for inmate in place.horses} for place in crowded] == [{one.pk, two.pk}]


def test_a_box_that_will_be_taken_is_told(row: list[Box], horses: list[Horse], by: Person) -> None:
    """A horse cannot be put into a box for good into which another comes next week; until that day it is free."""
    today = clock.today()
    one, two, *_ = horses
    go(one, row[0], today, by)
    go(one, row[1], today + 7 * DAY, by)
    with pytest.raises(BoxTakenError) as refused:
        go(two, row[1], today, by)
    assert refused.value.day == today + 7 * DAY
    go(two, row[2], today + 3 * DAY, by)
    go(two, row[1], today, by)
    assert [where(two, today + day * DAY) for day in (0, 2, 3, 7)] == ["2", "2", "3", "3"]


def test_nobody_moves_a_horse_that_was_moved(row: list[Box], horses: list[Horse], by: Person) -> None:
    """Of two who move one horse at once the second is told where it stands by now, and nothing is lost."""
    today, one = clock.today(), horses[0]
    put(Put(one.pk, row[0].pk, today, None), by)
    with pytest.raises(MovedMeanwhileError, match="Top 1"):
        put(Put(one.pk, row[1].pk, today, None), by)
    assert where(one, today) == "1"


def test_a_swap_with_one_that_went_is_no_swap(row: list[Box], horses: list[Horse], by: Person) -> None:
    """If another horse came into the box since the page asked, that one is not sent away: it is asked about anew."""
    today = clock.today()
    one, two, three, *_ = horses
    go(one, row[0], today, by)
    go(two, row[1], today, by)
    go(two, row[2], today, by)
    go(three, row[1], today, by)
    with pytest.raises(BoxTakenError) as refused:
        go(one, row[1], today, by, taken=Taken.SWAP, other=two.pk)
    assert refused.value.number == three.pk
    assert [where(horse, today) for horse in (one, two, three)] == ["1", "3", "2"]


@pytest.mark.parametrize(("days", "why"), [(-4000, "came on"), (400, "a year ahead")])
def test_days_that_cannot_be(row: list[Box], horses: list[Horse], by: Person, days: int, why: str) -> None:
    """A horse stands in no box before it came, nor more than a year from now."""
    with pytest.raises(LineRefusedError, match=why):
        go(horses[0], row[0], clock.today() + days * DAY, by)
    assert not Stand.objects.exists()


def test_a_horse_that_leaves_leaves_its_box(row: list[Box], horses: list[Horse], by: Person, tmp_path) -> None:
    """From the day on which a horse leaves, its box is free and another can be put there; until then it is not."""
    today = clock.today()
    one, two, *_ = horses
    go(one, row[0], today, by)
    one.refresh_from_db()
    facts = Facts(one.name, one.foaled, one.sex, one.joined, sire=one.sire, dam=one.dam, left=today + 5 * DAY)
    change_horse(one.pk, last_change(one), facts, by, tmp_path)
    assert [where(one, today + day * DAY) for day in (4, 5)] == ["1", "-"]
    with pytest.raises(BoxTakenError):
        go(two, row[0], today + 4 * DAY, by)
    go(two, row[0], today + 5 * DAY, by)
    with pytest.raises(LineRefusedError, match="left on"):
        go(one, row[1], today + 6 * DAY, by)


def test_a_line_taken_out_must_not_crowd(row: list[Box], horses: list[Horse], by: Person) -> None:
    """Taking out a move by which a box became free is refused once another stands there."""
    today = clock.today()
    one, two, *_ = horses
    go(one, row[0], today, by)
    go(one, row[1], today + DAY, by)
    go(two, row[0], today + 2 * DAY, by)
    line = Stand.objects.get(horse=one, first_day=today + DAY)
    with pytest.raises(BoxTakenError):
        take_out_stand(line.pk, last_change(line), by)
    assert where(one, today + DAY) == "2"
    other = Stand.objects.get(horse=two)
    with pytest.raises(ChangedMeanwhileError):
        take_out_stand(other.pk, last_change(other) - 1, by)
    take_out_stand(other.pk, last_change(other), by)
    take_out_stand(line.pk, last_change(line), by)
    assert where(one, today + DAY) == "1"
    with pytest.raises(LineGoneError):
        take_out_stand(line.pk, 0, by)


def test_as_of_a_moment_plans_are_as_they_were(
    row: list[Box], horses: list[Horse], by: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was planned for tomorrow at noon is what the books of noon say of tomorrow, whatever is planned later."""
    at, today, one = clock.now(), clock.today(), horses[0]
    for hours, box in ((1, row[0]), (3, row[1])):
        monkeypatch.setattr(clock, "now", lambda hours=hours: at + timedelta(hours=hours))
        go(one, box, today + DAY, by)
    then = Moment(today + DAY, at + timedelta(hours=2))
    assert boxes(then)[one.pk].name == "1"
    assert where(one, today + DAY) == "2"


MOVES = st.lists(st.tuples(st.integers(0, 3), st.integers(-1, 3), st.integers(0, 4)), max_size=12)


@given(MOVES)
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
def test_no_two_horses_ever_share_a_box(
    row: list[Box], horses: list[Horse], by: Person, moves: list[tuple[int, int, int]]
) -> None:
    """However horses are moved and swapped on whatever days, on no day two of them stand in one box."""
    Stand.objects.all().delete()
    today = clock.today()
    for horse, box, days in moves:
        day = today + days * DAY
        try:
            go(horses[horse], row[box] if box >= 0 else None, day, by)
        except BoxTakenError as error:
            if error.day == day:
                with suppress(BoxTakenError):
                    go(horses[horse], row[box], day, by, taken=Taken.SWAP, other=error.number)
    for days in range(-1, 8):
        stood = [one.box for one in boxes(Moment(today + days * DAY)).values()]
        assert len(stood) == len(set(stood))


def test_boxes_are_added_in_their_barn(by: Person) -> None:
    """New boxes of a barn come after its last one, a new barn after all; ranges and names can be mixed."""
    add_boxes("Top", "1-2", by)
    add_boxes("Low", "1, Foaling box", by, isolation=True)
    add_boxes("Top", "3", by)
    add_boxes("Field", "", by)
    assert [(box.barn, box.name) for box in Box.objects.order_by("position")] == [
        ("Top", "1"), ("Top", "2"), ("Top", "3"), ("Low", "1"), ("Low", "Foaling box"), ("Field", ""),
    ]  # fmt: skip
    assert [box.isolation for box in Box.objects.order_by("position")] == [False] * 3 + [True] * 2 + [False]


@pytest.mark.parametrize("names", ["1, 1", "9-1", "1-900", "A, a", "x" * 21, "1\u200b2", "2"])
def test_names_that_cannot_be(by: Person, names: str) -> None:
    """Boxes named twice, too many, named too long or with signs that cannot be seen are refused, and none is added."""
    add_boxes("Top", "2", by)
    with pytest.raises(BoxRefusedError):
        add_boxes("Top", names, by)
    assert Box.objects.count() == 1


def test_any_number_stand_somewhere_in_a_barn(horses: list[Horse], by: Person) -> None:
    """A box without a name takes every horse, and is never called crowded."""
    barn = add_boxes("Field", "", by)[0]
    for horse in horses:
        go(horse, barn, clock.today(), by)
    (place,) = walk(moments.now()).places
    assert len(place.horses) == len(horses)
    assert not place.crowded


def test_the_walk_is_put_in_order(row: list[Box], by: Person) -> None:
    """Boxes stand in the order that was set; an order made from a page of before is refused."""
    numbers = [box.pk for box in row]
    set_walk(numbers, numbers[::-1], by)
    assert [place.box.name for place in walk(moments.now()).places] == ["4", "3", "2", "1"]
    with pytest.raises(ChangedMeanwhileError):
        set_walk(numbers, numbers, by)
    with pytest.raises(BoxRefusedError):
        set_walk(numbers[::-1], numbers[:2], by)


def test_a_box_that_was_used_stays(row: list[Box], horses: list[Horse], by: Person) -> None:
    """A box in which a horse stood cannot be taken away; one that was never used can."""
    go(horses[0], row[0], clock.today(), by)
    with pytest.raises(BoxRefusedError, match="have stood"):
        remove_box(row[0].pk, last_change(row[0]), by)
    remove_box(row[1].pk, last_change(row[1]), by)
    assert not Box.objects.filter(pk=row[1].pk).exists()


def test_two_change_a_box_at_once(row: list[Box], by: Person) -> None:
    """Of two who rename one box the second is told; one who renames and one who sets it apart both have their way."""
    box, seen = row[0], last_change(row[0])
    change_box(box.pk, seen, by, barn="Top", name="1", isolation=True)
    change_box(box.pk, seen, by, barn="Top", name="Corner", isolation=False)
    box.refresh_from_db()
    assert (box.name, box.isolation) == ("Corner", True)
    with pytest.raises(ChangedMeanwhileError, match="name"):
        change_box(box.pk, seen, by, barn="Top", name="Other", isolation=False)
    with pytest.raises(BoxRefusedError):
        change_box(box.pk, last_change(box), by, barn="Top", name="2", isolation=False)
