"""Weight for age for many runs at once, in pounds, with a count of what the scale did not cover."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.rules.age_scale import AgeScale, Cell, Place, age_scale
from upsides.rules.jurisdictions import place_named
from upsides.rules.lookup import NONE, Overrides, candidates, spans
from upsides.rules.rule import Rule
from upsides.rules.weight_for_age import TOPIC, check_class, first_value, no_scale
from upsides.trade.units import POUND_KG

MATURE = 99
OLDEST = 30
COVERED, NO_RULE, NOT_PUBLISHED = range(3)


@dataclass(frozen=True, slots=True)
class ScaleReport:
    """How much of an array of runs the scale covered; every run it did not cover was given nothing.

    Attributes:
        rows: number of runs.
        covered: runs to which a rule gave a value (nothing, for a mature horse, is a value).
        unknown: runs without a date, a distance or an age.
        no_rule: runs on days on which no rule was in force, or in a jurisdiction without any scale.
        not_published: runs on which a rule was in force without a value for the distance, month or age.
        rules: the rules that gave a value, or the one that says that there is none.
    """

    rows: int
    covered: int
    unknown: int
    no_rule: int
    not_published: int
    rules: tuple[Rule, ...]

    @property
    def outside(self) -> int:
        """Number of runs that the scale did not cover."""
        return self.rows - self.covered

    def __str__(self) -> str:
        if not self.outside:
            return f"weight for age: all {self.rows} runs are covered"
        return (
            f"weight for age: {self.covered} of {self.rows} runs are covered; nothing was allowed to "
            f"{self.no_rule} without a rule on their day, {self.not_published} whose distance, age or time "
            f"of year has no published value, and {self.unknown} without date, distance or age"
        )


def weight_for_age_lb(
    jurisdiction: str,
    dates: ArrayLike,
    distance_m: ArrayLike,
    age: ArrayLike,
    *,
    race_class: str = "open",
    overrides: Overrides = NONE,
) -> tuple[NDArray[np.float64], ScaleReport]:
    """Return for many runs the pounds that each horse receives from a mature one, and what was not covered.

    A scale of weights to carry is turned into an allowance by taking the weight from that of the oldest
    horses in the same place of the scale. Kilograms become pounds by the exact factor, because they are
    kilograms on a horse. Sex allowances are left out. Each distinct question is asked once of the same scale
    as `weight_for_age` asks.

    Args:
        jurisdiction: a name or country code, the same for all.
        dates: (n,) days (datetime64); NaT where not known.
        distance_m: (n,) metres; NaN where not known.
        age: (n,) official age in whole years; 0 or less where not known.
        race_class: class of race, where the scale distinguishes classes.
        overrides: the yard's own rules.

    Returns:
        (n,) pounds, 0 wherever the scale gives nothing and never NaN, and the report.
    """
    days = np.atleast_1d(np.asarray(dates, dtype="datetime64[D]"))
    metres, years = (np.atleast_1d(np.asarray(a, dtype=np.float64)) for a in (distance_m, age))
    entries = candidates(TOPIC, jurisdiction, overrides)
    if not entries:
        nothing = ScaleReport(days.size, 0, 0, days.size, 0, (no_scale(place_named(jurisdiction, overrides.places)),))
        return np.zeros(days.size), nothing
    heads, span = spans(entries, days)
    in_span = [[age_scale(e) for e in entries if e.rule.in_force(day)] for day in heads]
    for scales in in_span:
        check_class(scales, race_class)
    known = ~np.isnat(days) & np.isfinite(metres) & (metres > 0) & np.isfinite(years) & (years > 0)
    scales = [age_scale(entry) for entry in entries]
    keys = _Keys(days[known], metres[known], years[known], span[known], scales)
    return _answer(in_span, keys, known, race_class)


class _Keys:
    """Each run's question as one whole number: span, half month, distance as the scales see it, and age."""

    def __init__(
        self,
        days: NDArray[np.datetime64],
        metres: NDArray[np.float64],
        years: NDArray[np.float64],
        span: NDArray[np.intp],
        scales: list[AgeScale],
    ) -> None:
        month = days.astype("datetime64[M]")
        half = 2 * (month.astype(np.int64) % 12) + ((days - month).astype(np.int64) >= 15)
        distances, which = np.unique(metres, return_inverse=True)
        alike: dict[tuple[Place, ...], int] = {}
        place = [alike.setdefault(tuple(s.place(m) for s in scales), len(alike)) for m in distances.tolist()]
        self.metres = dict(zip(place, distances.tolist(), strict=True))
        ages = np.clip(years, 0, OLDEST).astype(np.int64)
        at = np.array(place, dtype=np.int64)[which]
        self.of_run = ((span * 24 + half) * max(1, len(alike)) + at) * (OLDEST + 1) + ages
        self.distinct = np.flatnonzero(np.bincount(self.of_run))

    def questions(self, race_class: str) -> Iterator[tuple[int, Cell]]:
        """Yield the span and the question of each distinct key, in order."""
        for key in self.distinct.tolist():
            rest, age = divmod(key, OLDEST + 1)
            rest, place = divmod(rest, len(self.metres))
            span, half = divmod(rest, 24)
            yield span, Cell(half, self.metres[place], age, race_class, "male")


def _answer(
    in_span: list[list[AgeScale]], keys: _Keys, known: NDArray[np.bool_], race_class: str
) -> tuple[NDArray[np.float64], ScaleReport]:
    answers = [_one(in_span[span], cell) for span, cell in keys.questions(race_class)]
    size = int(keys.distinct[-1]) + 1 if keys.distinct.size else 0
    value, state = np.zeros(size), np.zeros(size, dtype=np.int64)
    value[keys.distinct] = [answer[0] for answer in answers]
    state[keys.distinct] = [answer[1] for answer in answers]
    pounds = np.zeros(known.size)
    pounds[known] = value[keys.of_run]
    covered, no_rule, not_published = np.bincount(state[keys.of_run], minlength=3)
    unknown = known.size - int(known.sum())
    rules = tuple(dict.fromkeys(rule for *_, rule in answers if rule))
    return pounds, ScaleReport(known.size, int(covered), unknown, int(no_rule), int(not_published), rules)


def _one(scales: list[AgeScale], cell: Cell) -> tuple[float, int, Rule | None]:
    if not scales:
        return 0.0, NO_RULE, None
    young = first_value(scales, cell)
    if young is None:
        return 0.0, NOT_PUBLISHED, None
    value, scale = young
    if scale.form == "weight":
        mature = first_value(scales, replace(cell, age=MATURE))
        if mature is None or mature[1].form != "weight":
            return 0.0, NOT_PUBLISHED, None
        value = mature[0] - value
    return (value / POUND_KG if scale.unit == "kg" else value), COVERED, scale.rule
