from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

import worlds
from upsides.books import clock
from upsides.books.models import Device, Person, PinTry
from upsides.books.services import pins
from upsides.books.services.devices import add_shared
from upsides.books.services.people import add_person, clear_pin, close_sign_in, set_pin
from upsides.books.services.pins import try_pin
from upsides.errors import PinUnusableError, PinWaitError, PinWrongError

pytestmark = pytest.mark.django_db

Ahead = Callable[[timedelta], None]
WRONG = "8305"


@pytest.fixture
def ahead(monkeypatch: pytest.MonkeyPatch) -> Ahead:
    """Set the clock to a morning, and from there ahead."""
    start = datetime.combine(clock.today(), datetime.min.time(), clock.place().zone) + timedelta(hours=5)

    def go(by: timedelta) -> None:
        monkeypatch.setattr(clock, "now", lambda: start + by)

    go(timedelta())
    return go


@pytest.fixture
def phone() -> Device:
    return add_shared("Top barn", someone("trainer"))[0]


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def guess(phone: Device, person: Person, times: int) -> None:
    for _ in range(times):
        with pytest.raises((PinWrongError, PinWaitError)):
            try_pin(phone, person, WRONG)


@pytest.mark.parametrize(
    "pin",
    ["0000", "1111", "1234", "4321", "2345", "6789", "7890", "0987", "1212", "696969", "12", "123", "", "123456789"],
)
def test_easy_pins_are_refused(pin: str) -> None:
    """A PIN of one digit, of two over and over, counting up or down, too short or too long is refused; none is kept.

    Common practice, no source.
    """
    rider = someone("rider")
    with pytest.raises(PinUnusableError):
        set_pin(rider, pin, someone("trainer"))
    assert someone("rider").pin == rider.pin


@pytest.mark.parametrize("pin", ["12a4", "12 34", "-123", "１２３５", "٢٥٨٠", "1²34"])
def test_a_pin_is_of_digits(pin: str) -> None:
    """Letters, blanks, signs and digits that no keypad has are refused, and no person is entered with one."""
    with pytest.raises(PinUnusableError):
        add_person("B. New", ["rider"], pin=pin)
    assert not Person.objects.filter(name="B. New").exists()


def test_a_pin_is_kept_as_a_hash_only() -> None:
    """The PIN itself stands nowhere in the person's row, and the history does not hold even its hash."""
    set_pin(someone("rider"), "830517", someone("trainer"))
    assert "830517" not in str(Person.objects.filter(login="rider").values().get())
    assert "pin" not in Person.history.filter(login="rider").values()[0]


def test_the_right_pin_lets_in(phone: Device) -> None:
    """The right PIN passes and is entered as right; a wrong one says how many tries are left."""
    rider = someone("rider")
    with pytest.raises(PinWrongError) as wrong:
        try_pin(phone, rider, WRONG)
    assert wrong.value.left == 4
    try_pin(phone, rider, worlds.PIN)
    assert list(PinTry.objects.values_list("right", flat=True)) == [False, True]


def test_five_wrong_tries_make_a_person_wait(phone: Device, ahead: Ahead) -> None:
    """After 5 wrong tries within 15 minutes even the right PIN is not looked at, on any phone, until they are over."""
    rider, other = someone("rider"), add_shared("Low barn", someone("trainer"))[0]
    guess(phone, rider, 3)
    ahead(timedelta(minutes=10))
    guess(other, rider, 2)
    for device in (phone, other):
        with pytest.raises(PinWaitError) as wait:
            try_pin(device, rider, worlds.PIN)
        assert wait.value.until == "05:15"
        assert wait.value.who == rider.name
    ahead(timedelta(minutes=14, seconds=59))
    with pytest.raises(PinWaitError):
        try_pin(phone, rider, worlds.PIN)
    ahead(timedelta(minutes=15, seconds=1))
    try_pin(phone, rider, worlds.PIN)


def test_the_fifth_wrong_try_says_until_when(phone: Device, ahead: Ahead) -> None:
    """Four wrong tries count down, the fifth names the time of day at which the first is 15 minutes old."""
    rider = someone("rider")
    for left in (4, 3, 2, 1):
        with pytest.raises(PinWrongError) as wrong:
            try_pin(phone, rider, WRONG)
        assert wrong.value.left == left
    with pytest.raises(PinWaitError) as wait:
        try_pin(phone, rider, WRONG)
    assert wait.value.until == "05:15"


def test_waiting_adds_no_tries(phone: Device, ahead: Ahead) -> None:
    """Tries while one must wait are not counted, so that the wait ends when it was said to."""
    rider = someone("rider")
    guess(phone, rider, 12)
    assert PinTry.objects.count() == 5
    ahead(timedelta(minutes=15, seconds=1))
    try_pin(phone, rider, worlds.PIN)


def test_one_person_waits_alone(phone: Device, ahead: Ahead) -> None:
    """While one person must wait another comes in on the same phone."""
    guess(phone, someone("rider"), 5)
    try_pin(phone, someone("carer"), worlds.PIN)


def test_twenty_wrong_tries_make_a_phone_wait(phone: Device, ahead: Ahead) -> None:
    """After 20 wrong tries for several people nobody comes in on that phone; on another those with tries left do."""
    people = [add_person(f"P{number}", ["rider"], pin=worlds.PIN) for number in range(6)]
    for person in people[:4]:
        guess(phone, person, 4)
    guess(phone, people[4], 4)
    with pytest.raises(PinWaitError) as wait:
        try_pin(phone, people[5], worlds.PIN)
    assert wait.value.who == "Top barn"
    try_pin(add_shared("Low barn", someone("trainer"))[0], people[5], worlds.PIN)


def test_a_try_counts_before_it_is_looked_at(phone: Device, monkeypatch: pytest.MonkeyPatch) -> None:
    """When a PIN is compared its try is in the books as wrong already, so that many at once cannot be one."""
    seen = []

    def looked(*_: object) -> bool:
        seen.append(list(PinTry.objects.values_list("right", flat=True)))
        return True

    monkeypatch.setattr(pins, "check_password", looked)
    try_pin(phone, someone("rider"), WRONG)
    assert seen == [[False]]


def test_a_new_pin_lifts_the_wait(phone: Device, ahead: Ahead) -> None:
    """Somebody who must wait comes in with a new PIN, and with the old one no more."""
    rider = someone("rider")
    guess(phone, rider, 5)
    set_pin(rider, "830517", someone("trainer"))
    with pytest.raises(PinWrongError):
        try_pin(phone, rider, worlds.PIN)
    try_pin(phone, rider, "830517")


def test_no_pin_and_a_closed_sign_in_let_nobody_in(phone: Device) -> None:
    """The PIN of a closed person, an empty one and that of somebody without one are wrong."""
    rider, carer, trainer = someone("rider"), someone("carer"), someone("trainer")
    close_sign_in(rider, trainer)
    clear_pin(carer, trainer)
    for person, pin in ((rider, worlds.PIN), (carer, worlds.PIN), (carer, "")):
        with pytest.raises(PinWrongError):
            try_pin(phone, person, pin)
