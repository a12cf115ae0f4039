"""Reads of one lot: what its list says, and what people of the yard said of it."""

from dataclasses import dataclass

from upsides.books.models import Lot, LotNote, Mark, Person, Sale
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.sales import private
from upsides.books.queries.visitors import Visitor


@dataclass(frozen=True, slots=True)
class Said:
    """A note about a lot.

    Args:
        note: its row.
        author: who wrote it, as that person was called then.
        stands: whether it is neither withdrawn nor superseded.
    """

    note: LotNote
    author: Person
    stands: bool


@dataclass(frozen=True, slots=True)
class Marked:
    """A mark of the shortlist.

    Args:
        mark: its row.
        by: who set it, as that person was called then.
    """

    mark: Mark
    by: Person


@dataclass(frozen=True, slots=True)
class OneLot:
    """One lot as its own page shows it.

    Args:
        lot: its row.
        sale: the sale's.
        open: whether shortlist and notes are open to the visitor here.
        marks: put on the shortlist and taken off, the last first.
        notes: every note, the latest first, those that no longer stand too.
    """

    lot: Lot
    sale: Sale
    open: bool
    marks: list[Marked]
    notes: list[Said]

    @property
    def on(self) -> Marked | None:
        """Return the mark that says that it is on the shortlist, None where it is not."""
        return self.marks[0] if self.marks and self.marks[0].mark.on else None

    @property
    def standing(self) -> list[Said]:
        """Return the notes that stand."""
        return [said for said in self.notes if said.stands]

    @property
    def past(self) -> list[Said]:
        """Return the notes that were corrected or withdrawn, and what withdrew them."""
        return [said for said in self.notes if not said.stands]


def lot(who: Visitor, moment: Moment, number: int) -> OneLot | None:
    """Return one lot by its number in the books, None where there is none."""
    found = moments.rows(Lot, moment).filter(id=number).first()
    sale = moments.rows(Sale, moment).filter(id=found.sale_id).first() if found else None
    if found is None or sale is None:
        return None
    is_open = private(who)
    return OneLot(
        found, sale, is_open, _marks(number, moment) if is_open else [], _notes(number, moment) if is_open else []
    )


def _marks(number: int, moment: Moment) -> list[Marked]:
    rows = Mark.objects.filter(lot=number).select_related("by").order_by("-pk")
    marks = list(rows if moment.at is None else rows.filter(recorded_at__lte=moment.at))
    people = moments.people(moment, (mark.by for mark in marks))
    return [Marked(mark, people[mark.by_id]) for mark in marks]


def _notes(number: int, moment: Moment) -> list[Said]:
    rows = LotNote.objects.filter(lot=number).select_related("author").order_by("-happened_at", "-pk")
    notes = list(rows if moment.at is None else rows.filter(recorded_at__lte=moment.at))
    people = moments.people(moment, (note.author for note in notes))
    past = {note.supersedes_id for note in notes} | {note.pk for note in notes if note.withdrawn}
    return [Said(note, people[note.author_id], note.pk not in past) for note in notes]
