from datetime import timedelta

import pytest

from upsides.books import clock
from upsides.books.models import Horse, Inside, Person, Post, Release, Role, Share, Sight
from upsides.books.queries import moments
from upsides.books.queries.releases import looked, standing
from upsides.books.queries.visitors import Open, opened, visitor
from upsides.books.services.people import close_sign_in
from upsides.books.services.releases import end_release, release
from upsides.errors import ReleaseRefusedError, TrainersOnlyError

pytestmark = pytest.mark.django_db


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def sees(login: str, what: Inside = Inside.FIGURES) -> Open:
    return opened(visitor(someone(login), barn=False), what)


def horse_of(login: str) -> Horse:
    return Share.objects.get(owner=someone(login)).horse


def test_a_release_opens_what_it_names() -> None:
    """What is released to a person is open to that person alone, that thing alone, until it is ended."""
    given = release(someone("trainer"), Inside.FIGURES, person=someone("rider"))
    assert sees("rider").everything
    assert not sees("rider", Inside.PLANS)
    assert not sees("vet")
    end_release(given, someone("trainer"))
    assert not sees("rider")


def test_a_release_may_be_for_one_horse_or_one_role() -> None:
    """For one horse only that horse is open; for a role everybody of it sees, owners each their own horses."""
    trainer, first = someone("trainer"), horse_of("owner")
    release(trainer, Inside.CHANCES, person=someone("rider"), horse=first)
    assert sees("rider", Inside.CHANCES) == Open(everything=False, horses=frozenset({first.pk}))
    release(trainer, Inside.FIGURES, role=Role.OWNER)
    for login in ("owner", "owner2"):
        assert sees(login) == Open(everything=False, horses=frozenset({horse_of(login).pk}))
    assert not sees("vet")


def test_an_owner_never_sees_more_than_his_own_horses() -> None:
    """Even all horses released to one owner by name, or another's horse, open no more than his own."""
    trainer, mine, other = someone("trainer"), horse_of("owner"), horse_of("owner2")
    release(trainer, Inside.FIGURES, person=someone("owner"))
    assert sees("owner") == Open(everything=False, horses=frozenset({mine.pk}))
    Release.objects.create(
        what=Inside.PLANS, person=someone("owner"), horse=other, given_by=trainer, given_at=clock.now()
    )
    assert not sees("owner", Inside.PLANS)
    Post.objects.create(person=someone("owner"), role=Role.RIDER)
    assert sees("owner").everything


def test_nothing_is_open_on_a_barn_phone() -> None:
    """On a barn phone neither a role nor a release opens inside information, a trainer's included."""
    release(someone("trainer"), Inside.FIGURES, person=someone("rider"))
    for login in ("trainer", "head_person", "rider"):
        for what in Inside:
            assert not opened(visitor(someone(login), barn=True), what)


def test_only_a_trainer_releases() -> None:
    """Nobody but a trainer gives or ends a release."""
    given = release(someone("trainer"), Inside.FIGURES, role=Role.RIDER)
    for login in ("assistant", "secretary", "head_person", "rider"):
        with pytest.raises(TrainersOnlyError):
            release(someone(login), Inside.PLANS, role=Role.RIDER)
        with pytest.raises(TrainersOnlyError):
            end_release(given, someone(login))
    assert [one.pk for one in standing(moments.now())] == [given.pk]


def test_a_release_of_nothing_is_refused() -> None:
    """Refused: to nobody, to two, to those who see it anyway, to closed people, of horses not shown, and twice."""
    trainer = someone("trainer")
    close_sign_in(someone("vet"), trainer)
    release(trainer, Inside.PLANS, role=Role.RIDER)
    refused = (
        {},
        {"person": someone("rider"), "role": Role.RIDER},
        {"role": Role.SECRETARY},
        {"person": someone("assistant")},
        {"person": someone("vet")},
        {"person": someone("owner"), "horse": horse_of("owner2")},
        {"role": Role.RIDER},
    )
    for to in refused:
        with pytest.raises(ReleaseRefusedError):
            release(trainer, Inside.PLANS, **to)
    assert Release.objects.count() == 1


def test_releases_are_read_as_they_stood() -> None:
    """As of a moment before its end a release stands; before it was given it does not."""
    trainer = someone("trainer")
    given = release(trainer, Inside.FIGURES, person=someone("rider"))
    at = Release.history.filter(id=given.pk).latest().history_date
    end_release(given, trainer)
    assert standing(moments.now()) == []
    assert [one.pk for one in standing(moments.as_of(at))] == [given.pk]
    assert standing(moments.as_of(at - timedelta(seconds=1))) == []


def test_who_looked_is_found() -> None:
    """Sights are found by who, what, horse and the yard's days, both ends counted, latest first."""
    horse, rider, vet = horse_of("owner"), someone("rider"), someone("vet")
    zone, day = clock.place().zone, clock.today()
    midnight = clock.datetime.combine(day, clock.datetime.min.time(), zone)
    rows = [
        Sight.objects.create(person=person, at=at, what=what, page="/horse/", horse=one)
        for person, at, what, one in (
            (rider, midnight - timedelta(seconds=1), Inside.FIGURES, None),
            (rider, midnight, Inside.PLANS, horse),
            (vet, midnight + timedelta(hours=23, minutes=59), Inside.FIGURES, horse),
        )
    ]
    assert list(looked()) == rows[::-1]
    assert list(looked(person=rider.pk)) == [rows[1], rows[0]]
    assert list(looked(what="figures")) == [rows[2], rows[0]]
    assert list(looked(horse=horse.pk)) == [rows[2], rows[1]]
    assert list(looked(first_day=day, last_day=day)) == [rows[2], rows[1]]
    assert list(looked(last_day=day - timedelta(days=1))) == [rows[0]]
