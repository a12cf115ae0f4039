"""The medicine register: what it holds, that nothing leaves it, and what a line lacks."""

from datetime import datetime, time, timedelta
from uuid import uuid4

import pytest

from medicine_yard import enter, horse, person, stands_in, treat
from upsides.books import clock
from upsides.books.queries import moments
from upsides.books.queries.medicine_register import RegisterLine, Rulebook, register
from upsides.books.queries.moments import Moment, as_of
from upsides.books.services.diary import correct, withdraw
from upsides.rules import MedicineEvent, RegisterField

pytestmark = pytest.mark.django_db
HELD = {"batch": "A1", "withdrawal_days": "7"}


def lines(place: str = "Britain", moment: Moment | None = None, number: int | None = None) -> tuple[RegisterLine, ...]:
    today = clock.today()
    return register(moment or moments.now(), today - timedelta(days=29), today, Rulebook(place), number)


def lacking(line: RegisterLine) -> set[RegisterField]:
    return {one.field for one in line.lacks}


def test_a_corrected_line_stays_struck_beside_what_took_its_place() -> None:
    """A correction is a new line; the old one stays, says by which it was replaced and by whom, and lacks nothing."""
    today, vet = stands_in("GB"), person("vet")
    old = treat(horse(), today, by="head_person", quantity="1 sachet", batch="A1")
    values = {"product": "Fernwash", "quantity": "2 sachets", "route": "oral", "what": "other", "reason": "Cough",
              "prescriber": str(vet.pk)}  # fmt: skip
    correct(old, values, person("trainer"), client_id=uuid4(), made_at=clock.now())
    first, second = lines()
    assert (first.struck, second.struck) == (True, False)
    assert [(after.number, after.author.login) for after in first.after] == [(second.number, "trainer")]
    assert second.corrects == first.number
    assert (first.medicine.quantity, second.medicine.quantity) == ("1 sachet", "2 sachets")
    assert (first.giver.login, second.giver.login) == ("head_person", "head_person")
    assert second.author.login == "trainer"
    assert second.prescriber == vet
    assert not first.lacks


def test_a_withdrawn_line_stays_struck_and_its_number_is_not_given_again() -> None:
    """What was withdrawn is still read, struck; numbers count every line that was ever written down, one by one."""
    today = stands_in("GB")
    old = treat(horse(), today)
    withdraw(old, person("trainer"), client_id=uuid4(), made_at=clock.now())
    treat(horse(1), today)
    first, second = lines()
    assert [(after.number, after.author.login) for after in first.after] == [(None, "trainer")]
    assert (first.number, second.number) == (1, 2)


def test_numbers_stay_whatever_is_asked_for() -> None:
    """A line has the same number in the register of one horse, of a later period, and of the whole yard."""
    today = stands_in("GB")
    treat(horse(), today - timedelta(days=40))
    treat(horse(1), today)
    enter("worming", horse(2), {"product": "Marshpaste", "quantity": "one syringe"}, today)
    assert [line.number for line in lines()] == [2, 3]
    assert [line.number for line in lines(number=horse(2).pk)] == [3]


def test_a_period_has_both_its_days() -> None:
    """The first and the last day asked for belong to the period, in the yard's own time; the days beside do not."""
    today = stands_in("GB")
    for days in (30, 29, 0):
        treat(horse(), today - timedelta(days=days))
    assert [(today - line.given.date()).days for line in lines()] == [29, 0]


def test_the_register_as_it_stood(monkeypatch: pytest.MonkeyPatch) -> None:
    """As of a moment before a withdrawal the line stands unstruck; nothing that was recorded later is in it."""
    today = stands_in("GB")
    old = treat(horse(), today)
    monkeypatch.setattr(clock, "now", lambda: old.recorded_at + timedelta(hours=1))
    withdraw(old, person("trainer"), client_id=uuid4(), made_at=clock.now())
    treat(horse(1), today)
    assert [line.struck for line in lines()] == [True, False]
    assert [(line.struck, line.horse) for line in lines(moment=as_of(old.recorded_at))] == [(False, horse())]


def test_what_a_line_lacks_in_britain() -> None:
    """Any giving asks for a withdrawal period; a vet's giving for the batch besides (SI 2013/2033, regs 18 and 19)."""
    today, vet = stands_in("GB"), person("vet")
    treat(horse(), today)
    treat(horse(), today, giver=str(vet.pk))
    treat(horse(), today, giver=str(vet.pk), **HELD)
    treat(horse(), today, food="out")
    mine, by_vet, whole, out = lines()
    assert (mine.event, by_vet.event) == (MedicineEvent.GIVEN, MedicineEvent.GIVEN_BY_VET)
    assert lacking(mine) == {RegisterField.WITHDRAWAL_PERIOD}
    assert lacking(by_vet) == {RegisterField.WITHDRAWAL_PERIOD, RegisterField.BATCH}
    assert lacking(whole) == set()
    assert lacking(out) == set()
    assert all(
        rule.source.startswith("Veterinary Medicines Regulations 2013") for one in by_vet.lacks for rule in one.rules
    )


def test_a_wormer_has_its_withdrawal_period_too() -> None:
    """A wormer lacks a withdrawal period until one is written, or the horse is declared not for food (regs 18, 19)."""
    today, paste = stands_in("GB"), {"product": "Marshpaste", "quantity": "one syringe"}
    enter("worming", horse(), paste, today)
    enter("worming", horse(1), paste | {"withdrawal_days": "42"}, today)
    enter("worming", horse(2), paste | {"food": "out"}, today)
    without, with_days, out = lines()
    assert lacking(without) == {RegisterField.WITHDRAWAL_PERIOD}
    assert lacking(with_days) == lacking(out) == set()


def test_what_a_line_lacks_in_ireland() -> None:
    """The European Union asks for the prescribing vet; suppliers stand on invoices (Regulation 2019/6, article 108)."""
    today, vet = stands_in("IE"), person("vet")
    treat(horse(), today, **HELD)
    treat(horse(), today, prescriber=str(vet.pk), **HELD)
    without, with_vet = lines("Ireland")
    assert lacking(without) == {RegisterField.VET}
    assert lacking(with_vet) == set()


def test_a_place_without_a_rule_says_nothing_lacks() -> None:
    """Where no rule on registers is known nothing is said to be lacking."""
    today = stands_in("XU")
    treat(horse(), today)
    assert [line.lacks for line in lines("XU")] == [()]


def test_a_late_evening_belongs_to_its_own_day() -> None:
    """What was given at eleven at night of the last day, in the yard's own time, is in the register of that day."""
    today = stands_in("GB")
    entry = enter("worming", horse(), {"product": "Marshpaste", "quantity": "one syringe"}, today, hour=23)
    (line,) = lines()
    assert line.given == datetime.combine(today, time(23), clock.place().zone)
    assert line.entry == entry
