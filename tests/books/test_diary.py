"""Entering, correcting, withdrawing and settling."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid4

import pytest

from upsides.books import clock
from upsides.books.models import Device, Entry, Horse, Person, Yard
from upsides.books.queries import diary as reads
from upsides.books.queries import moments
from upsides.books.services import devices, diary
from upsides.books.services.diary import Draft
from upsides.errors import (
    ClockWentBackError,
    EntryClashError,
    EntryMissingError,
    EntryNotYoursError,
    EntryRefusedError,
    KindUnknownError,
    NoConflictError,
    NoDiaryError,
)

pytestmark = pytest.mark.django_db
NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)


class Hands:
    """A clock that is moved by hand, in a yard whose own clock does not stand still."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.at = NOON
        patch.setattr(clock, "now", lambda: self.at)
        patch.setattr(clock, "today", lambda: clock.now().date())
        Yard.objects.update(fixed_day=None)

    def wait(self, **by: float) -> datetime:
        self.at += timedelta(**by)
        return self.at


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


def who(login: str) -> Person:
    return Person.objects.get(login=login)


def horse() -> Horse:
    return Horse.objects.order_by("pk")[0]


def draft(kind: str = "temperature", values: dict[str, object] | None = None, **more: object) -> Draft:
    values = {"celsius": "38.0"} if values is None else values
    return Draft(**{"client_id": uuid4(), "kind": kind, "horse": horse().pk, "values": values, "made_at": NOON} | more)


def entered(login: str = "carer", **more: object) -> Entry:
    return diary.record(draft(**more), who(login))


def mend(entry: Entry, celsius: str, login: str = "carer", device: Device | None = None) -> Entry:
    return diary.correct(entry, {"celsius": celsius}, who(login), device, client_id=uuid4(), made_at=clock.now())


def take_back(entry: Entry, login: str = "carer") -> Entry:
    return diary.withdraw(entry, who(login), client_id=uuid4(), made_at=clock.now())


def settle(keep: Entry, drop: Entry, login: str = "head_person") -> Entry:
    return diary.settle(keep, drop, who(login), client_id=uuid4(), made_at=clock.now())


def standing() -> list[str]:
    rows = moments.entries(moments.now()).filter(recorded_at__gte=NOON)
    return [one.words for one in reads.written(rows, moments.now())]


def test_an_entry_keeps_three_times(hands: Hands) -> None:
    """When it was so, what the device's clock said, and when it arrived are kept apart."""
    made, happened = NOON - timedelta(hours=3), NOON - timedelta(hours=4)
    entry = entered(made_at=made, happened_at=happened)
    entry.refresh_from_db()
    assert (entry.happened_at, entry.made_at, entry.recorded_at) == (happened, made, NOON)
    assert entered(made_at=made).happened_at == made


def test_entering_twice_is_entering_once(hands: Hands) -> None:
    """The same entry sent again, later, is the entry that was recorded first."""
    one = draft()
    first = diary.record(one, who("carer"))
    hands.wait(hours=2)
    again = diary.record(one, who("carer"))
    assert (again.pk, again.recorded_at) == (first.pk, NOON)
    assert Entry.objects.filter(client_id=one.client_id).count() == 1


@pytest.mark.parametrize(
    "other",
    [
        {"values": {"celsius": "39.0"}},
        {"kind": "looked_at", "values": {}},
        {"happened_at": NOON - timedelta(days=1)},
        {"horse": "another"},
    ],
)
def test_a_number_is_not_used_for_something_else(other: dict[str, object]) -> None:
    """Another entry under a number that is taken is refused, and the first stays as it was."""
    first = entered()
    if "horse" in other:
        other = {"horse": Horse.objects.order_by("pk")[1].pk}
    with pytest.raises(EntryClashError, match=str(first.client_id)):
        entered(client_id=first.client_id, **other)
    with pytest.raises(EntryClashError):
        entered("rider", client_id=first.client_id)
    assert standing() == ["Temperature 38.0 °C (100.4 °F)."]


@pytest.mark.parametrize(
    ("wrong", "refusal"),
    [
        ({"kind": "furlongs"}, KindUnknownError),
        ({"values": {"celsius": "12"}}, EntryRefusedError),
        ({"horse": None}, EntryRefusedError),
        ({"horse": 10**9}, EntryRefusedError),
        ({"supersedes": UUID(int=1)}, EntryMissingError),
        ({"withdrawn": True}, EntryMissingError),
    ],
)
def test_what_cannot_be_is_refused_whole(wrong: dict[str, object], refusal: type[Exception]) -> None:
    """An entry with something wrong in it leaves nothing behind."""
    before = Entry.objects.count()
    with pytest.raises(refusal):
        entered(**wrong)
    assert Entry.objects.count() == before


def test_a_correction_supersedes_and_both_stay(hands: Hands) -> None:
    """The correction stands, the old row is there still, and the correction keeps when it happened."""
    first = entered(happened_at=NOON - timedelta(hours=1))
    hands.wait(minutes=10)
    second = mend(first, "38,6")
    assert standing() == ["Temperature 38.6 °C (101.5 °F)."]
    assert second.happened_at == first.happened_at
    rows = reads.history(second.pk, moments.now())
    assert [(row.entry.pk, row.stands) for row in rows] == [(first.pk, False), (second.pk, True)]
    assert [row.stands for row in reads.history(first.pk, moments.as_of(NOON))] == [True]


def test_a_withdrawal_leaves_the_row(hands: Hands) -> None:
    """What was withdrawn does not stand, and is still there to be read with who withdrew it."""
    first = entered()
    gone = take_back(first)
    assert standing() == []
    assert [row.words for row in reads.history(first.pk, moments.now())] == ["Temperature 38.0 °C (100.4 °F).", ""]
    with pytest.raises(EntryMissingError):
        mend(gone, "38.1")


def test_others_entries_are_mended_by_those_in_charge() -> None:
    """A carer corrects his own only; those in charge correct any, but on no barn phone."""
    first = entered()
    with pytest.raises(EntryNotYoursError):
        mend(first, "38.2", "rider")
    phone, _ = devices.add_shared("Top barn", who("trainer"))
    with pytest.raises(EntryNotYoursError):
        mend(first, "38.2", "trainer", phone)
    for login, celsius in (("head_person", "38.3"), ("assistant", "38.4"), ("trainer", "38.5")):
        first = mend(first, celsius, login)
    assert standing() == ["Temperature 38.5 °C (101.3 °F)."]


def test_owners_do_not_write_the_diary() -> None:
    """An owner is refused, whatever the page that let him through."""
    with pytest.raises(NoDiaryError):
        entered("owner")


def test_two_corrections_of_one_entry_stand_against_each_other(hands: Hands) -> None:
    """Both are kept and shown as a conflict, until one of those in charge settles it."""
    first = entered()
    mine, yours = mend(first, "38.6"), mend(first, "39.1", "head_person")
    (conflict,) = reads.conflicts(moments.now())
    assert conflict.first.entry == first
    assert {one.entry for one in conflict.rivals} == {mine, yours}
    with pytest.raises(EntryNotYoursError):
        settle(yours, mine, "carer")
    then = clock.now()
    hands.wait(minutes=1)
    settle(yours, mine)
    assert reads.conflicts(moments.now()) == []
    assert len(reads.conflicts(moments.as_of(then))) == 1
    assert standing() == ["Temperature 39.1 °C (102.4 °F)."]
    with pytest.raises(NoConflictError):
        settle(mine, yours)


def test_a_withdrawal_against_a_correction_is_a_conflict_too() -> None:
    """One withdrew it, another corrected it: either can be kept."""
    first, second = entered(), entered()
    for entry, keep in ((first, "withdrawal"), (second, "correction")):
        gone, mended = take_back(entry), mend(entry, "38.8", "head_person")
        assert len(reads.conflicts(moments.now())) == 1
        settle(*((gone, mended) if keep == "withdrawal" else (mended, gone)))
        assert reads.conflicts(moments.now()) == []
    assert standing() == ["Temperature 38.8 °C (101.8 °F)."]


def test_three_ways_are_settled_one_by_one() -> None:
    """Of three corrections each that is dropped leaves, a chain of corrections counts once, and one stands."""
    first = entered()
    one, two, three = mend(first, "38.1"), mend(first, "38.2"), mend(first, "38.3")
    later = mend(three, "38.4")
    with pytest.raises(NoConflictError):
        settle(one, three)
    settle(later, one)
    settle(later, two)
    assert reads.conflicts(moments.now()) == []
    assert standing() == ["Temperature 38.4 °C (101.1 °F)."]


def test_two_withdrawals_agree() -> None:
    """Two who both withdraw an entry do not contradict each other."""
    first = entered()
    take_back(first)
    take_back(first, "head_person")
    assert reads.conflicts(moments.now()) == []
    assert standing() == []


def test_a_clock_that_went_back_records_nothing(hands: Hands) -> None:
    """A small step back is waited out; a large one is refused, until what the wrong clock stamped does not count."""
    first = entered()
    hands.wait(seconds=-90)
    assert entered().recorded_at == first.recorded_at
    hands.wait(hours=-1)
    with pytest.raises(ClockWentBackError):
        entered()
    last = Entry.objects.order_by("-pk")[0]
    Yard.objects.update(clock_from_entry=last.pk)
    assert entered().recorded_at == hands.at
    hands.wait(hours=-1)
    with pytest.raises(ClockWentBackError):
        entered()


def test_odd_clocks_of_devices_are_kept_and_shown() -> None:
    """A device's time is kept however odd; what arrives late, from the future or from long ago says so."""
    ahead, old = entered(made_at=NOON + timedelta(minutes=3)), entered(made_at=NOON - timedelta(days=61))
    late, usual = entered(made_at=NOON - timedelta(hours=3)), entered(made_at=NOON - timedelta(minutes=1))
    shown = {
        row.entry.pk: (row.ahead, row.old, row.late) for row in reads.written([ahead, old, late, usual], moments.now())
    }
    assert shown[ahead.pk] == (True, False, False)
    assert shown[old.pk] == (False, True, False)
    assert shown[late.pk] == (False, False, True)
    assert shown[usual.pk] == (False, False, False)


def test_the_day_holds_what_happened_and_what_arrived(hands: Hands) -> None:
    """Yesterday's entry that arrives today is among today's; one of yesterday that arrived then is not."""
    hands.at = NOON - timedelta(days=1)
    before = entered(made_at=hands.at)
    hands.at = NOON
    late = entered(made_at=NOON - timedelta(days=1))
    now = entered()
    shown = [row.entry.pk for row in reads.of_day(moments.now())]
    assert shown == [now.pk, late.pk]
    assert before.pk in {row.entry.pk for row in reads.of_day(moments.as_of(NOON - timedelta(hours=20)))}
    assert reads.of_horse(horse().pk, moments.now())[0].entry == now
    assert moments.now().day == date(2030, 5, 1)
