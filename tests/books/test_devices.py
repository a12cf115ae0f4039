import hashlib

import pytest

from upsides.books.models import Device, Person
from upsides.books.queries import moments
from upsides.books.queries.devices import barn_phones, devices_of
from upsides.books.services.devices import add_own, add_shared, author_token, device_of, read_author_token, revoke
from upsides.books.services.people import close_sign_in
from upsides.errors import (
    AuthorClosedError,
    AuthorTokenUnreadableError,
    DeviceNamelessError,
    DeviceRevokedError,
    TrustLostError,
)

pytestmark = pytest.mark.django_db


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def test_the_books_hold_no_token() -> None:
    """Of a token only the SHA-256 of FIPS 180-4 (Python's hashlib) is kept, and it leads back to its device."""
    device, token = add_shared("Top barn", someone("trainer"))
    kept = Device.objects.get(pk=device.pk)
    assert kept.token_hash == hashlib.sha256(token.encode()).hexdigest()
    assert token not in str(vars(kept))
    assert device_of(token) == device


def test_a_token_says_what_kind_of_device_it_is_for() -> None:
    """A barn phone's token begins with barn-, somebody's own with own-, and no two tokens are alike."""
    tokens = [add_shared("Top", someone("trainer"))[1], add_shared("Top", someone("trainer"))[1]]
    own = add_own(someone("rider"), "a phone")[1]
    assert all(token.startswith("barn-") for token in tokens)
    assert own.startswith("own-")
    assert len({*tokens, own}) == 3
    assert len(own) > 40


def test_an_ended_device_is_not_known() -> None:
    """An ended device is none, and neither is an unknown or an empty token."""
    device, token = add_own(someone("rider"), "a phone")
    revoke(device)
    assert device_of(token) is None
    assert device_of("") is None
    assert device_of(token + "x") is None


def test_ending_twice_keeps_the_first_time() -> None:
    """A device that was ended stays ended at the moment at which it was."""
    device, _ = add_own(someone("rider"), "a phone")
    revoke(device)
    first = Device.objects.get(pk=device.pk).revoked_at
    revoke(device)
    assert Device.objects.get(pk=device.pk).revoked_at == first is not None


def test_a_device_needs_a_name() -> None:
    """A device of blanks is refused and not entered."""
    before = Device.objects.count()
    with pytest.raises(DeviceNamelessError):
        add_shared("   ", someone("trainer"))
    assert Device.objects.count() == before


def test_an_author_is_read_back() -> None:
    """The mark of an author's entries leads to the device and the person, on a shared phone and on one's own."""
    rider = someone("rider")
    for device in (add_shared("Top", someone("trainer"))[0], add_own(rider, "a phone")[0]):
        assert read_author_token(author_token(device, rider)) == (device, rider)


def test_an_altered_author_is_refused() -> None:
    """A mark with any letter changed, cut short, empty or of another making is refused."""
    device, token = add_own(someone("rider"), "a phone")
    text = author_token(device, someone("rider"))
    for place in range(0, len(text), 7):
        letter = "A" if text[place] != "A" else "B"
        with pytest.raises(AuthorTokenUnreadableError):
            read_author_token(text[:place] + letter + text[place + 1 :])
    for wrong in ("", text[:-1], token, "a:b:c"):
        with pytest.raises(AuthorTokenUnreadableError):
            read_author_token(wrong)


def test_an_own_device_speaks_for_its_owner_only() -> None:
    """A mark that ties somebody's own device to another person is refused."""
    device, _ = add_own(someone("rider"), "a phone")
    with pytest.raises(AuthorTokenUnreadableError):
        read_author_token(author_token(device, someone("carer")))


def test_nothing_is_taken_from_an_ended_device() -> None:
    """A mark given before its device was ended is refused afterwards, by the device's name."""
    device, _ = add_shared("Top barn", someone("trainer"))
    text = author_token(device, someone("rider"))
    revoke(device)
    with pytest.raises(DeviceRevokedError, match="Top barn"):
        read_author_token(text)


def test_nothing_is_taken_from_a_closed_person() -> None:
    """A mark of somebody whose sign-in was closed is refused, on a barn phone and on the person's own."""
    rider = someone("rider")
    shared = author_token(add_shared("Top", someone("trainer"))[0], rider)
    own = author_token(add_own(rider, "a phone")[0], rider)
    close_sign_in(rider, someone("trainer"))
    with pytest.raises(AuthorClosedError):
        read_author_token(shared)
    with pytest.raises(DeviceRevokedError):
        read_author_token(own)


def test_lost_trust_makes_every_mark_worthless() -> None:
    """A mark given before the person was signed out everywhere is refused; a new one holds."""
    rider = someone("rider")
    device, _ = add_shared("Top", someone("trainer"))
    old = author_token(device, rider)
    rider.trust += 1
    rider.save()
    with pytest.raises(TrustLostError):
        read_author_token(old)
    assert read_author_token(author_token(device, rider)) == (device, rider)


def test_lists_hold_what_stands() -> None:
    """Ended devices are on no list now, but on the list of a moment before their end; own ones are their owner's."""
    rider, trainer = someone("rider"), someone("trainer")
    shared, own = add_shared("Top", trainer)[0], add_own(rider, "a phone")[0]
    now = moments.now()
    assert [one.number for one in barn_phones(now)] == [shared.pk]
    assert [one.number for one in devices_of(rider.pk, now)] == [own.pk]
    assert devices_of(trainer.pk, now) == []
    before = Device.objects.get(pk=own.pk).added_at
    revoke(shared)
    revoke(own)
    assert barn_phones(now) == [] == devices_of(rider.pk, now)
    assert [one.number for one in devices_of(rider.pk, moments.as_of(before))] == [own.pk]
