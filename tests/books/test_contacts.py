"""Contacts of horses: held to a plain comparison of every pair of entries, and read from the books."""

from collections.abc import Sequence
from datetime import date, timedelta
from uuid import uuid4

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from medicine_yard import enter, horse, person, stands_in, treat
from upsides.books import clock
from upsides.books.models import Box, Stand
from upsides.books.queries import moments
from upsides.books.queries.contact_traces import (
    Contact,
    How,
    Row,
    Stay,
    box_traces,
    closest,
    row_traces,
    shared,
    stays,
)
from upsides.books.queries.contacts import contacts
from upsides.books.services.diary import correct

DAY = date(2030, 5, 1)
WALK = [(1, "Top", "1"), (2, "Top", "2"), (3, "Top", ""), (4, "Far", "1"), (5, "Far", "2")]
HORSES = st.integers(1, 4)
DAYS = st.integers(0, 5).map(lambda n: DAY + timedelta(days=n))
PEOPLE = st.integers(1, 3)
VALUES = st.one_of(
    st.tuples(
        st.just("exercise"),
        st.fixed_dictionaries(
            {"exercise": st.just("hack_canter")},
            optional={
                "lot": st.integers(1, 2), "rider": PEOPLE, "gallop": st.integers(1, 2),
                "tack": st.sampled_from(["Saddle 1", "saddle 1", "Saddle 2"]), "upsides": st.lists(HORSES, max_size=1),
            },
        ),
    ),
    st.tuples(
        st.just("travel"),
        st.fixed_dictionaries({"lorry": st.sampled_from(["Blue", "blue"]), "to": st.sampled_from(["Moor", "Esk"])}),
    ),
    st.tuples(st.sampled_from(["treatment", "worming"]), st.fixed_dictionaries({}, optional={"giver": PEOPLE})),
    st.tuples(st.just("farrier"), st.just({})),
)  # fmt: skip
ROWS = st.lists(st.tuples(HORSES, DAYS, PEOPLE, VALUES), max_size=12)
STAYS = st.lists(st.tuples(HORSES, st.integers(1, 5), DAYS, st.integers(0, 3)), max_size=6)


def same(one: Row, other: Row) -> set[How]:
    """Return in what ways two entries are a contact: each way written out as it is meant."""
    found: set[How] = set()
    a, b, day = one.values, other.values, one.on == other.on
    medicine = {"treatment", "worming"}
    if one.kind == other.kind == "travel" and day and a["lorry"].lower() == b["lorry"].lower():
        found |= {How.LORRY} | ({How.JOURNEY} if a["to"].lower() == b["to"].lower() else set())
    if one.kind == other.kind == "exercise":
        for how, name in ((How.LOT, "lot"), (How.RIDER, "rider"), (How.GALLOP, "gallop")):
            if day and name in a and a.get(name) == b.get(name):
                found.add(how)
        if "tack" in a and "tack" in b and a["tack"].lower() == b["tack"].lower():
            found.add(How.TACK)
    if one.kind == other.kind == "farrier" and day:
        found.add(How.FARRIER)
    if (
        {one.kind, other.kind} <= medicine
        and day
        and (a.get("giver") or one.author) == (b.get("giver") or other.author)
    ):
        found.add(How.GIVER)
    return found


def same_place(one: Stay, other: Stay) -> set[How]:
    """Return in what ways two stays are a contact."""
    if one.box == other.box:
        return {How.BARN if one.box == 3 else How.BOX}
    beside = {one.box, other.box} in ({1, 2}, {4, 5})
    return {How.NEIGHBOUR} if beside and one.first <= other.last and other.first <= one.last else set()


def by_pairs(rows: Sequence[Row], found: Sequence[Stay], mine: int) -> set[tuple[int, How]]:
    """Return the contacts of a horse by comparing everything with everything."""
    pairs = {
        (other.horse, how)
        for items, alike in ((rows, same), (found, same_place))
        for one in items
        for other in items
        if one.horse == mine != other.horse
        for how in alike(one, other)
    }
    for row in rows:
        if row.kind == "exercise":
            for other in row.values.get("upsides", []):
                pairs |= {(other, How.UPSIDES)} if row.horse == mine != other else set()
                pairs |= {(row.horse, How.UPSIDES)} if other == mine != row.horse else set()
    return pairs


@settings(deadline=None, max_examples=150)
@given(ROWS, STAYS, HORSES)
def test_contacts_are_those_of_every_pair_compared(
    entries: list[tuple[int, date, int, tuple[str, dict[str, object]]]],
    stood: list[tuple[int, int, date, int]],
    mine: int,
) -> None:
    """Whatever was entered, a horse's contacts are just those that comparing every two entries and stays gives."""
    rows = [Row(n, kind, who, author, on, values) for n, (who, on, author, (kind, values)) in enumerate(entries)]
    found = [Stay(who, box, first, first + timedelta(days=more)) for who, box, first, more in stood]
    traces = [*(one for row in rows for one in row_traces(row)), *box_traces(found, WALK)]
    told = shared(traces, mine)
    assert {(one.horse, one.how) for one in told} == by_pairs(rows, found, mine)
    assert all(one.horse != mine and one.days for one in told)
    assert [list(How).index(one.how) for one in told] == sorted(list(How).index(one.how) for one in told)


def test_a_horse_is_in_its_old_box_on_the_day_it_moves() -> None:
    """A stay ends on the day on which the next begins, and is cut to the days that are asked about."""
    moved = [(1, 1, DAY - timedelta(days=90)), (1, 2, DAY + timedelta(days=3)), (2, 1, DAY + timedelta(days=9))]
    found = list(stays(moved, DAY, DAY + timedelta(days=5)))
    assert found == [
        Stay(1, 1, DAY, DAY + timedelta(days=3)),
        Stay(1, 2, DAY + timedelta(days=3), DAY + timedelta(days=5)),
    ]


def test_two_in_one_box_are_not_each_others_neighbours() -> None:
    """Horses that share a box are told as that, not as neighbours of themselves."""
    found = [Stay(1, 1, DAY, DAY), Stay(2, 1, DAY, DAY)]
    assert {one.how for one in shared(box_traces(found, WALK), 1)} == {How.BOX}


def contact(other: int, how: How) -> Contact:
    return Contact(other, how, ((DAY, 1),), (), ())


def test_what_a_closer_way_says_is_not_said_again() -> None:
    """The same journey is not told as the same lorry again; a lorry shared on another day is."""
    later = Contact(2, How.LORRY, ((DAY, 1), (DAY + timedelta(days=1), 2)), (), ())
    assert closest([contact(2, How.JOURNEY), contact(2, How.LORRY)]) == [contact(2, How.JOURNEY)]
    assert closest([contact(2, How.JOURNEY), later]) == [contact(2, How.JOURNEY), later]
    assert closest([contact(2, How.JOURNEY), contact(3, How.LORRY)]) == [contact(2, How.JOURNEY), contact(3, How.LORRY)]


@pytest.mark.django_db
def test_the_books_tell_of_contacts() -> None:
    """From the books: the next box, the same journey and giver within the days asked about, and nothing before them."""
    today, mine = stands_in("GB"), horse()
    boxes = [Box.objects.create(barn="Ash", name=str(n), position=900 + n) for n in range(2)]
    for place, box in enumerate(boxes):
        Stand.objects.create(horse=horse(place), box=box, first_day=today - timedelta(days=60))
    for place, days in ((0, 3), (2, 3), (3, 20)):
        enter("travel", horse(place), {"lorry": "Blue", "to": "Moor"}, today - timedelta(days=days))
    enter("travel", mine, {"lorry": "Blue", "to": "Moor"}, today - timedelta(days=20))
    for place in (0, 4):
        treat(horse(place), today, by="head_person")
    found = {(one.horse, one.how) for one in contacts(moments.now(), mine.pk)}
    assert found == {
        (horse(1).pk, How.NEIGHBOUR), (horse(2).pk, How.JOURNEY), (horse(4).pk, How.GIVER),
    }  # fmt: skip
    assert (horse(3).pk, How.JOURNEY) in {(one.horse, one.how) for one in contacts(moments.now(), mine.pk, 30)}


@pytest.mark.django_db
def test_a_correction_does_not_make_its_author_the_giver() -> None:
    """Who gave a medicine is who entered it first where nobody is named, also after somebody else corrected it."""
    today = stands_in("GB")
    old = treat(horse(), today, by="head_person")
    typed = {"product": "Fernwash", "quantity": "5 ml", "route": "oral", "what": "other", "reason": "Cough"}
    correct(old, typed, person("trainer"), client_id=uuid4(), made_at=clock.now())
    treat(horse(1), today, by="head_person")
    treat(horse(2), today, by="trainer")
    assert {(one.horse, one.how) for one in contacts(moments.now(), horse().pk)} == {(horse(1).pk, How.GIVER)}
