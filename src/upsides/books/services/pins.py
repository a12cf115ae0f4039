"""PINs of barn phones: setting one, and trying one so that guessing is slow."""

from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.db.models import QuerySet

from upsides.books import clock
from upsides.books.models import Device, Person, PinTry
from upsides.errors import PinUnusableError, PinWaitError, PinWrongError
from upsides.errors.wording import gettext as _

SHORTEST, LONGEST = 4, 8
WINDOW = timedelta(minutes=15)
"""How far back wrong tries count."""

TRIES_A_PERSON, TRIES_A_DEVICE = 5, 20
"""How many wrong tries in that time make a person, or a whole phone, wait."""

_RUN = "01234567890"


def hashed_pin(pin: str) -> str:
    """Return a PIN as it is kept.

    Raises:
        PinUnusableError: it is too short, too long, not of digits, or one of the first that anybody would try.
    """
    if not (pin.isascii() and pin.isdigit()):
        raise PinUnusableError(_("is not made of digits alone"))
    if not SHORTEST <= len(pin) <= LONGEST:
        raise PinUnusableError(_("has {count} digits", count=len(pin)))
    if len(set(pin)) == 1:
        raise PinUnusableError(_("is one digit over and over"))
    if pin in _RUN or pin in _RUN[::-1]:
        raise PinUnusableError(_("counts up or down"))
    if pin[:2] * (len(pin) // 2) == pin:
        raise PinUnusableError(_("is two digits over and over"))
    return make_password(pin)


def try_pin(device: Device, person: Person, pin: str) -> None:
    """Check a PIN on a barn phone. A try counts as wrong before it is looked at, so that many at once gain nothing.

    Raises:
        PinWaitError: too many wrong tries for this person, or on this phone; the PIN was not looked at.
        PinWrongError: it is not the PIN.
    """
    made, held = _counted(device, person)
    if check_password(pin, held.pin) and held.is_active:
        PinTry.objects.filter(pk=made.pk).update(right=True)
        return
    left = min(_left(device, held))
    if left == 0:
        _refuse_to_hurry(device, held)
    raise PinWrongError(left)


@transaction.atomic
def _counted(device: Device, person: Person) -> tuple[PinTry, Person]:
    """Enter a try, unless it must wait; phone and person are held, so that tries are counted one by one."""
    Device.objects.select_for_update().get(pk=device.pk)
    held = Person.objects.select_for_update().get(pk=person.pk)
    _refuse_to_hurry(device, held)
    return PinTry.objects.create(person=held, device=device, at=clock.now(), right=False), held


def _refuse_to_hurry(device: Device, person: Person) -> None:
    for tries, most, who in (
        (_wrong().filter(person=person), TRIES_A_PERSON, person.name),
        (_wrong().filter(device=device), TRIES_A_DEVICE, device.name),
    ):
        latest = list(tries.order_by("-at").values_list("at", flat=True)[:most])
        if len(latest) == most:
            raise PinWaitError(who, _time_of_day(latest[-1] + WINDOW))


def _left(device: Device, person: Person) -> tuple[int, int]:
    wrong = _wrong()
    of_person, of_device = wrong.filter(person=person).count(), wrong.filter(device=device).count()
    return max(TRIES_A_PERSON - of_person, 0), max(TRIES_A_DEVICE - of_device, 0)


def _wrong() -> QuerySet[PinTry]:
    """Return the wrong tries that still count."""
    moment = clock.now()
    return PinTry.objects.filter(right=False, at__gt=moment - WINDOW, at__lte=moment)


def _time_of_day(moment: datetime) -> str:
    """Return a time of day at the yard, to the minute after."""
    return f"{(moment + timedelta(seconds=59)).astimezone(clock.place().zone):%H:%M}"
