"""Lists of sales in the books: taken once, corrected with history, and what people say of their lots."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from sale_lists import ONE, THREE, TWO, listed
from upsides.books import clock
from upsides.books.models import Lot, LotNote, Mark, Person, Role, Sale, Yard
from upsides.books.queries import moments
from upsides.books.queries.lot import lot as one_lot
from upsides.books.queries.sales import Wanted, every_sale, in_order, sale_lots, sales
from upsides.books.queries.visitors import visitor
from upsides.books.services.lot_notes import Noted, correct_note, note, shortlist, withdraw_note
from upsides.books.services.people import add_person
from upsides.books.services.sales import Taken, import_sale
from upsides.errors import EntryClashError, NoteChangedError, NoteNotYoursError, NoteRefusedError

pytestmark = pytest.mark.django_db
BEGIN = datetime(2026, 5, 11, 9, tzinfo=UTC)
Bring = Callable[..., Taken]


class Time:
    """The books' clock, set by hand."""

    def __init__(self) -> None:
        self.at = BEGIN

    def later(self, **by: float) -> datetime:
        self.at += timedelta(**by)
        return self.at


@pytest.fixture
def time(monkeypatch: pytest.MonkeyPatch) -> Time:
    at = Time()
    Yard.objects.update(fixed_day=None)
    monkeypatch.setattr(clock, "now", lambda: at.at)
    return at


@pytest.fixture
def bring(tmp_path: Path) -> Bring:
    """Return a function that brings in the list of one sale."""

    def brought(rows: str, **more: str) -> Taken:
        return import_sale(listed(tmp_path, rows, **more))[0]

    return brought


def noted(text: str, kind: str = "look", **more: object) -> Noted:
    return Noted(uuid4(), kind, text, **more)


def counts(taken: Taken) -> tuple[int, ...]:
    return taken.lots, taken.new, taken.changed, taken.removed, taken.missing


def lot_of(number: str, sale: str = "Moor End") -> Lot:
    return Lot.objects.get(number=number, sale__name=sale)


def test_a_list_is_taken_in(bring: Bring) -> None:
    """Every lot stands as the list has it, with its history, and the sale says which list that was."""
    taken = bring(ONE + TWO)
    assert counts(taken) == (2, 2, 0, 0, 0)
    sale = Sale.objects.get(pk=taken.sale.pk)
    assert (sale.name, sale.year, sale.day.isoformat(), sale.file) == ("Moor End", 2025, "2025-10-07", "list.csv")
    assert len(sale.sha256) == 64
    lot = lot_of("1")
    assert (lot.sire, lot.dam, lot.dam_sire) == ("Quill (IRE)", "Sedge Warbler", "Reed (GB)")
    assert (lot.price, lot.currency, lot.foaled, lot.sex, lot.removed) == (Decimal(12000), "GBP", 2024, "colt", False)
    assert lot_of("12A").price is None
    assert lot.history.count() == lot_of("12A").history.count() == sale.history.count() == 1


def test_the_same_list_again_changes_nothing(bring: Bring, time: Time) -> None:
    """The same file twice leaves every row, and every row's history, as it was."""
    sale = bring(ONE + TWO).sale
    before = list(Lot.objects.values()), list(Sale.objects.values()), Lot.history.count(), Sale.history.count()
    time.later(days=1)
    assert counts(bring(ONE + TWO)) == (2, 0, 0, 0, 0)
    assert before == (
        list(Lot.objects.values()),
        list(Sale.objects.values()),
        Lot.history.count(),
        Sale.history.count(),
    )
    assert Sale.objects.get().pk == sale.pk


def test_a_corrected_list_corrects(bring: Bring, time: Time) -> None:
    """What differs is changed, what is new is added, what is gone is marked, and the earlier state stays to be read."""
    bring(ONE + TWO)
    then = moments.as_of(time.at)
    time.later(days=30)
    taken = bring(ONE.replace("12000", "13000").replace("Bay", "brown") + THREE)
    assert counts(taken) == (2, 1, 1, 1, 0)
    assert (lot_of("1").price, lot_of("1").colour) == (Decimal(13000), "brown")
    assert lot_of("12A").removed
    assert {lot.number: (lot.price, lot.removed) for lot in moments.rows(Lot, then)} == {
        "1": (Decimal(12000), False), "12A": (None, False),
    }  # fmt: skip
    assert taken.sale.imported_at == time.at
    assert moments.rows(Sale, then).get().imported_at == BEGIN


def test_a_lot_can_come_back(bring: Bring) -> None:
    """A lot that a later list has again is no longer marked as removed, and keeps its number in the books."""
    bring(ONE + TWO)
    number = lot_of("12A").pk
    bring(ONE)
    assert counts(bring(ONE + TWO)) == (2, 0, 1, 0, 0)
    assert (lot_of("12A").pk, lot_of("12A").removed) == (number, False)


def test_nothing_is_removed_on_a_doubt(bring: Bring) -> None:
    """Where a row of the list could not be read, lots that are missing from it stay, and are counted."""
    bring(ONE + TWO)
    assert counts(bring(ONE + "Moor End,07/10/2025\n")) == (1, 0, 0, 0, 1)
    assert not lot_of("12A").removed


def test_sales_are_told_apart_by_name_and_year(tmp_path: Path) -> None:
    """One file may hold several sales; the same name in capitals is the same sale, in another year it is another."""
    rows = ONE + TWO.replace("Moor End", "Fell Top") + THREE.replace("2025", "2026")
    taken = import_sale(listed(tmp_path, rows))
    assert [(one.sale.name, one.sale.year, one.lots) for one in taken] == [
        ("Moor End", 2025, 1), ("Fell Top", 2025, 1), ("Moor End", 2026, 1),
    ]  # fmt: skip
    again = import_sale(listed(tmp_path, ONE.replace("Moor End", "MOOR END")))
    assert (again[0].sale.pk, counts(again[0])) == (taken[0].sale.pk, (1, 0, 0, 0, 0))
    assert Sale.objects.count() == 3


def test_a_sale_is_whole_or_not_there(bring: Bring, monkeypatch: pytest.MonkeyPatch) -> None:
    """When writing fails half-way nothing of the sale is left."""

    def fail(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("upsides.books.services.sales._change", fail)
    with pytest.raises(OSError, match="No space"):
        bring(ONE)
    assert (Sale.objects.count(), Lot.objects.count(), Lot.history.count()) == (0, 0, 0)


def test_the_shortlist_is_kept_as_marks(bring: Bring, time: Time, trainer: Person) -> None:
    """On and off are rows that stay; the last counts; a mark that says nothing new is not set again."""
    sale, who = bring(ONE + TWO).sale, visitor(trainer, barn=False)
    lot = lot_of("1")
    first = shortlist(lot, trainer, on=True, reason=" Walks  well ")
    assert (first.reason, first.recorded_at) == ("Walks well", BEGIN)
    assert shortlist(lot, trainer, on=True) == first
    then = moments.as_of(time.at)
    time.later(hours=1)
    shortlist(lot, trainer, on=False, reason="Too dear")
    assert [(mark.on, mark.reason) for mark in Mark.objects.all()] == [(True, "Walks well"), (False, "Too dear")]
    assert [one.shortlisted for one in every_sale(moments.now())] == [0]
    assert [one.shortlisted for one in every_sale(then)] == [1]
    assert list(sale_lots(who, then, sale.pk, Wanted()).marks) == [lot.pk]
    assert one_lot(who, then, lot.pk).on.mark == first
    assert one_lot(who, moments.now(), lot.pk).on is None


def test_what_cannot_be_marked_is_refused(bring: Bring, trainer: Person) -> None:
    """A reason as long as a letter, and taking off what was never on, are refused, and nothing is written."""
    bring(ONE)
    for change in ({"on": True, "reason": "x" * 201}, {"on": False}):
        with pytest.raises(NoteRefusedError):
            shortlist(lot_of("1"), trainer, **change)
    assert not Mark.objects.exists()


def test_notes_are_corrected_and_withdrawn(bring: Bring, time: Time, trainer: Person) -> None:
    """What was noted stays, what corrects it stands, and as of an earlier moment the first still does."""
    who = visitor(trainer, barn=False)
    bring(ONE)
    lot = lot_of("1")
    first = note(lot, noted("Off hock a little full.", "vetting"), trainer)
    then = moments.as_of(time.at)
    time.later(hours=2)
    second = correct_note(first, noted("Near hock a little full.", "vetting"), trainer)
    between = moments.as_of(time.at)
    assert (second.happened_at, second.recorded_at) == (BEGIN, time.at)
    time.later(hours=2)
    withdraw_note(second, trainer, uuid4())
    said = [[one.note.text for one in one_lot(who, at, lot.pk).standing] for at in (then, between, moments.now())]
    assert said == [["Off hock a little full."], ["Near hock a little full."], []]
    assert [one.note.withdrawn for one in one_lot(who, moments.now(), lot.pk).past] == [True, False, False]
    assert LotNote.objects.count() == 3


def test_a_note_sent_twice_is_one(bring: Bring, trainer: Person) -> None:
    """The same note under the same number is written once; another under that number is refused."""
    bring(ONE)
    one = noted("Walks out well.", "walk")
    assert note(lot_of("1"), one, trainer) == note(lot_of("1"), one, trainer)
    with pytest.raises(EntryClashError):
        note(lot_of("1"), Noted(one.client_id, "walk", "Does not."), trainer)
    assert LotNote.objects.count() == 1


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        (noted("  "), "nothing is written"),
        (noted("x" * 2001), "too long"),
        (noted("Seen.", "weighed"), "no such kind"),
        (noted("Seen.", happened_at=BEGIN + timedelta(minutes=1)), "still to come"),
    ],
)
def test_a_note_that_cannot_be_right_is_refused(
    bring: Bring, time: Time, trainer: Person, given: Noted, reason: str
) -> None:
    """A note without words, with too many, of no kind, or of tomorrow is refused in words."""
    bring(ONE)
    with pytest.raises(NoteRefusedError, match=reason):
        note(lot_of("1"), given, trainer)
    assert not LotNote.objects.exists()


def test_who_may_correct_a_note(bring: Bring, trainer: Person) -> None:
    """A vet corrects his own notes and not the trainer's; the trainer corrects any; what is past stays past."""
    bring(ONE)
    vet, lot = Person.objects.get(login="vet"), lot_of("1")
    of_vet, of_trainer = note(lot, noted("Scoped."), vet), note(lot, noted("Liked it."), trainer)
    with pytest.raises(NoteNotYoursError):
        correct_note(of_trainer, noted("No."), vet)
    with pytest.raises(NoteNotYoursError):
        withdraw_note(of_trainer, vet, uuid4())
    correct_note(of_vet, noted("Scoped, film kept."), vet)
    with pytest.raises(NoteChangedError):
        correct_note(of_vet, noted("Otherwise."), trainer)


@pytest.mark.parametrize("table", ["books_mark", "books_lotnote"])
def test_marks_and_notes_refuse_change(bring: Bring, trainer: Person, table: str) -> None:
    """The tables refuse that a mark or a note is changed or removed, whatever speaks to them."""
    bring(ONE)
    shortlist(lot_of("1"), trainer, on=True)
    note(lot_of("1"), noted("Seen."), trainer)
    for statement in (f"UPDATE {table} SET recorded_at = recorded_at", f"DELETE FROM {table}"):  # noqa: S608 (two names)
        with pytest.raises(IntegrityError, match="never changed or removed"), transaction.atomic():
            connection.cursor().execute(statement)
    assert (Mark.objects.count(), LotNote.objects.count()) == (1, 1)


def test_a_barn_phone_sees_the_list_alone(bring: Bring, trainer: Person) -> None:
    """On a phone that lies about neither shortlist nor notes are read, whoever holds it."""
    sale, lot = bring(ONE).sale, lot_of("1")
    shortlist(lot, trainer, on=True)
    note(lot, noted("Seen."), trainer)
    head = visitor(Person.objects.get(login="head_person"), barn=True)
    at = moments.now()
    assert [one.shortlisted for one in sales(head, at)] == [0]
    assert sale_lots(head, at, sale.pk, Wanted()).marks == {}
    shown = one_lot(head, at, lot.pk)
    assert (shown.open, shown.marks, shown.notes) == (False, [], [])


@pytest.mark.parametrize(
    ("wanted", "numbers"),
    [
        (Wanted(), ["1", "2", "12A"]),
        (Wanted(words="quill"), ["1", "12A"]),
        (Wanted(words="QUILL alder"), ["12A"]),
        (Wanted(words="reed gb"), ["1", "2"]),
        (Wanted(words="12a"), ["12A"]),
        (Wanted(sire="Sedge"), ["2"]),
        (Wanted(sex="filly"), ["2", "12A"]),
        (Wanted(shortlisted="yes"), ["2"]),
        (Wanted(shortlisted="no", sex="filly"), ["12A"]),
        (Wanted(words="nobody"), []),
    ],
)
def test_lots_are_found(bring: Bring, trainer: Person, wanted: Wanted, numbers: list[str]) -> None:
    """Lots are found by words, sire, sex and shortlist, in the order of their numbers."""
    sale = bring(TWO + ONE + THREE).sale
    shortlist(lot_of("2"), trainer, on=True)
    found = sale_lots(visitor(trainer, barn=False), moments.now(), sale.pk, wanted)
    assert [lot.number for lot in found.found] == numbers
    assert len(found.lots) == 3


def test_numbers_stand_in_the_order_of_the_ring() -> None:
    """12A follows 12 and comes before 13; what has no figures stands at the end."""
    numbers = ["X", "13", "2", "12B", "12", "12A", "100"]
    assert sorted(numbers, key=lambda number: in_order(Lot(number=number))) == [
        "2",
        "12",
        "12A",
        "12B",
        "13",
        "100",
        "X",
    ]


def test_there_is_no_sale_of_that_number(trainer: Person) -> None:
    """A sale or a lot that is not there is None."""
    who = visitor(trainer, barn=False)
    assert sale_lots(who, moments.now(), 10**6, Wanted()) is None
    assert one_lot(who, moments.now(), 10**6) is None


def test_an_erased_author_stays_erased(bring: Bring, time: Time, trainer: Person) -> None:
    """Somebody who was erased since has no name on an earlier page either; one who was renamed has the earlier one."""
    bring(ONE)
    gone, renamed = add_person("Ann Hazel", [Role.VET]), add_person("Rowan Birch", [Role.VET])
    for author in (gone, renamed):
        note(lot_of("1"), noted("Seen."), author)
    then = moments.as_of(time.at)
    time.later(days=1)
    renamed.name, gone.name, gone.erased_at = "Rowan Ash", "", time.at
    renamed.save()
    gone.save()
    shown = one_lot(visitor(trainer, barn=False), then, lot_of("1").pk)
    assert {one.author.name for one in shown.notes} == {"", "Rowan Birch"}
