"""One horse's case: every piece of evidence about its trip, and the answer from any of them together."""

from collections.abc import Collection
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from upsides.trip import shape as shapes
from upsides.trip.defaults import Defaults
from upsides.trip.from_word import Word, log_likelihood
from upsides.trip.population import MATURE, OLD, Evidence, Population, entered_log, evidence
from upsides.trip.posterior import Posterior, posterior
from upsides.trip.prior import Relatives, prior
from upsides.trip.runs import Runs
from upsides.trip.scale import GRID

Floats = NDArray[np.float64]

PIECES = ("family", "gene", "shape", "entries", "runs", "sections", "measures")
"""The pieces that can be left out. `entries`: the trips that people chose for it. `sections` tell only with `runs`."""

TRUST = 0.75
"""What the word of those who entered the horse counts for: people's habits differ, so it is read with the spread of
1 / TRUST as many (chosen so that ranges cover what they should under habits that the model does not know)."""


@dataclass(frozen=True, slots=True)
class Measure:
    """Another piece that speaks of trip, such as a stride: its name, the trip it points at and its error, octaves."""

    name: str
    trip: float
    sd: float


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a horse besides its runs.

    Attributes:
        female: filly or mare.
        foaled_in: country of foaling.
        age: years today, None where not known.
        relatives: what its relatives say.
        genotype: (3,) chances by tests of itself or of relatives; None where nobody was tested.
        shape: score of its shape.
        measures: further pieces.
        words: what riders said after races; counted with the measures.
    """

    female: bool = False
    foaled_in: str = ""
    age: float | None = None
    relatives: Relatives | None = None
    genotype: Floats | None = None
    shape: float | None = None
    measures: tuple[Measure, ...] = ()
    words: tuple[Word, ...] = ()


@dataclass(frozen=True)
class Case:
    """One horse with all that speaks of its trip.

    Attributes:
        p, given: the population, and what is taken from rules.
        centre: ability (lb) and trip (octaves) of its group.
        known: what is known besides runs.
        runs: its runs; none for an unraced horse.
        day: the day of the answer, days since 1970.
        reading: how much shape tells.
    """

    p: Population
    given: Defaults
    centre: tuple[float, float]
    known: Known
    runs: Runs
    day: float
    reading: shapes.Reading
    _said: dict[bool, Evidence] = field(default_factory=dict, repr=False)

    @property
    def available(self) -> tuple[str, ...]:
        """The pieces that there are."""
        k = self.known
        has = {
            "family": k.relatives is not None and bool(k.relatives.reliability.max() > 0.0),
            "gene": k.genotype is not None,
            "shape": k.shape is not None,
            "entries": self.runs.y.size > 0,
            "runs": self.runs.y.size > 0,
            "sections": bool(np.isfinite(self.runs.z).any()),
            "measures": bool(k.measures or k.words),
        }
        return tuple(piece for piece in PIECES if has[piece])

    @property
    def moved(self) -> float:
        """Octaves by which age has moved the trip from what it is at four."""
        return 0.0 if self.known.age is None else self.p.drift * (min(max(self.known.age, 2.0), OLD) - MATURE)

    def answer(self, pieces: Collection[str] | None = None) -> Posterior:
        """Return the posterior from some pieces, all there are unless said."""
        used = set(self.available if pieces is None else pieces) & set(self.available)
        k = self.known
        before = prior(
            self.p, self.given, centre=self.centre, relatives=k.relatives if "family" in used else None,
            genotype=k.genotype if "gene" in used else None,
        )  # fmt: skip
        others = np.zeros(GRID.size)
        if "shape" in used and k.shape is not None:
            others = others + shapes.log_likelihood(k.shape, self.reading, self.p, self.centre[1])
        if "entries" in used:
            others = others + TRUST * entered_log(self.runs, self.p)[0]
        if "measures" in used:
            others = others - sum(0.5 * ((GRID - m.trip) / m.sd) ** 2 for m in k.measures)
            others = others + log_likelihood(k.words, GRID)
        if "runs" not in used:
            return posterior(self.p, before, None, 0, others, moved=self.moved)
        said = self._evidence(sections="sections" in used)
        return posterior(self.p, before, said, 0, others, moved=self.moved, runs=self.runs.y.size)

    def _evidence(self, *, sections: bool) -> Evidence:
        if sections not in self._said:
            runs = self.runs if sections else self.runs.without_sections()
            self._said[sections] = evidence(runs, self.p, np.array([self.day]))
        return self._said[sections]
