"""Results over time: a row for each thing measured in one unit, a column for each sample."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from upsides.books.diary.blood import Analyte, unit_key
from upsides.books.queries.bloods import Sample


@dataclass(frozen=True, slots=True)
class Cell:
    """One result of one sample.

    Args:
        sample: whose.
        value: as measured, empty where it was not measured.
        interval: the interval that the laboratory prints for it, empty for none.
        side: in words, that it lies outside that interval, or that this cannot be told; empty where neither is so.
    """

    sample: Sample
    value: str = ""
    interval: str = ""
    side: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One thing measured in one unit.

    Args:
        name: as the latest report calls it.
        unit: empty where reports give none.
        apart: whether other samples give the same in another unit, which stands in a row of its own.
        cells: one a sample.
    """

    name: str
    unit: str
    apart: bool
    cells: Sequence[Cell]


def lines(samples: Sequence[Sample]) -> list[Line]:
    """Return the rows of some samples, in the order of the latest report; units that differ are never put together."""
    found: dict[tuple[str, str], dict[int, Analyte]] = {}
    for place, sample in enumerate(samples):
        for one in sample.results:
            found.setdefault((one.name.casefold(), unit_key(one.unit)), {})[place] = one
    names = [name for name, _unit in found]
    rows = [
        Line(
            next(iter(results.values())).name,
            next(iter(results.values())).unit,
            names.count(name) > 1,
            [_cell(sample, results.get(place)) for place, sample in enumerate(samples)],
        )
        for (name, _unit), results in found.items()
    ]
    return sorted(rows, key=lambda row: names.index(row.name.casefold()))  # those of one name stand together


def _cell(sample: Sample, one: Analyte | None) -> Cell:
    if one is None:
        return Cell(sample)
    words = {"below": _("below its interval"), "above": _("above its interval")}
    unsure = _("may be outside its interval") if one.unsure else ""
    return Cell(sample, one.measured(), one.interval(), words.get(one.side, unsure))
