"""Blood samples of a horse, and what each laboratory measured in them."""

from dataclasses import dataclass
from datetime import date

from upsides.books.diary.blood import Analyte
from upsides.books.diary.vet import Bloods
from upsides.books.queries import moments
from upsides.books.queries.diary import Written, open_to, written
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor


@dataclass(frozen=True, slots=True)
class Sample:
    """One sample.

    Args:
        entry: the entry, ready to be read.
        laboratory: who measured it.
        results: what was measured, in the report's order.
        text: what the vet says of it, empty for nothing.
    """

    entry: Written
    laboratory: str
    results: tuple[Analyte, ...]
    text: str

    @property
    def day(self) -> date:
        """Return the day on which it was taken."""
        return self.entry.happened.date()


def samples_of(number: int, moment: Moment, reader: Visitor) -> list[Sample]:
    """Return what stands of a horse's blood samples, the latest first."""
    rows = moments.entries(moment).filter(kind=Bloods.name, horse=number).order_by("-happened_at", "-pk")
    return [_sample(one) for one in written(open_to(reader, rows).select_related("author"), moment, reader)]


def _sample(one: Written) -> Sample:
    kept = Bloods.kept_as(one.entry.values)
    return Sample(one, kept.laboratory, tuple(kept.analytes), kept.text or "")
