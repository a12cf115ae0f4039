"""Who may see what."""

from datetime import timedelta

import pytest

from upsides.books import clock
from upsides.books.models import Horse, Inside, Person, Post, Release, Role, Share
from upsides.books.queries.visitors import Visitor, may_see_horse, opened, own_horses, visitor

pytestmark = pytest.mark.django_db
CLOSED = (Role.CARER, Role.RIDER, Role.VET, Role.OWNER)


def come(login: str, *, barn: bool = False) -> Visitor:
    return visitor(Person.objects.get(login=login), barn=barn)


def release(what: Inside, horse: Horse | None = None, **to: object) -> Release:
    trainer = Person.objects.get(login="trainer")
    return Release.objects.create(what=what, horse=horse, given_by=trainer, given_at=clock.now(), **to)


@pytest.mark.parametrize("role", list(Role))
def test_inside_information_by_role(role: Role) -> None:
    """Trainer, assistant, head person and secretary see it; riders, carers, vets and owners do not."""
    assert bool(opened(come(role.value), Inside.FIGURES)) == (role not in CLOSED)


@pytest.mark.parametrize("role", list(Role))
def test_nothing_is_open_on_a_barn_phone(role: Role) -> None:
    """A barn phone shows no inside information, whoever holds it, and counts barn roles only."""
    release(Inside.FIGURES, role=role)
    who = come(role.value, barn=True)
    assert not opened(who, Inside.FIGURES)
    assert who.roles <= {Role.HEAD_PERSON, Role.CARER, Role.RIDER}
    assert who.roles


def test_a_release_opens_what_it_says() -> None:
    """One horse's figures released to one person open that and nothing else, until it is ended."""
    horse, other = Horse.objects.order_by("pk")[5:7]
    given = release(Inside.FIGURES, horse, person=Person.objects.get(login="rider"))
    seen = opened(come("rider"), Inside.FIGURES)
    assert horse.pk in seen
    assert other.pk not in seen
    assert not opened(come("rider"), Inside.CHANCES)
    assert not opened(come("vet"), Inside.FIGURES)
    given.ended_at = clock.now()
    given.save()
    assert not opened(come("rider"), Inside.FIGURES)


def test_what_is_released_to_owners_is_their_own() -> None:
    """Figures released to all owners are open to each for his own horses, also to one who rides as well."""
    mine = Share.objects.get(owner__login="owner").horse_id
    others = Share.objects.get(owner__login="owner2").horse_id
    release(Inside.FIGURES, role=Role.OWNER)
    Post.objects.create(person=Person.objects.get(login="owner"), role=Role.RIDER)
    seen = opened(come("owner"), Inside.FIGURES)
    assert mine in seen
    assert others not in seen
    assert not seen.everything


def test_owners_see_their_own_horses() -> None:
    """An owner sees horses that he owns a share of today; a share that ended or has not begun counts for nothing."""
    share = Share.objects.get(owner__login="owner")
    assert own_horses(come("owner")) == {share.horse_id}
    assert may_see_horse(come("owner"), share.horse_id)
    assert not may_see_horse(come("owner2"), share.horse_id)
    assert own_horses(come("rider")) is None
    share.last_day = clock.today()
    share.save()
    assert own_horses(come("owner")) == {share.horse_id}
    share.last_day = clock.today() - timedelta(days=1)
    share.save()
    assert own_horses(come("owner")) == frozenset()
    share.first_day, share.last_day = clock.today() + timedelta(days=1), None
    share.save()
    assert own_horses(come("owner")) == frozenset()


def test_nobody_sees_a_horse_that_is_not_there() -> None:
    """A number that no horse has is open to nobody."""
    assert not may_see_horse(come("trainer"), 10**9)
