"""What is taken from rules: means by genotype, heritabilities, what ground and pace ask for, the kinds of horses.

They are data with sources (`rules/data/trip.toml`); a yard's own rules go before them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from upsides.rules import NONE, Overrides
from upsides.rules.jurisdictions import ANYWHERE
from upsides.rules.lookup import in_force

GENOTYPES = ("C/C", "C/T", "T/T")
KINDS = ("sprinter", "seven-furlong-to-miler", "middle distance", "stayer")


@dataclass(frozen=True, slots=True)
class Defaults:
    """What is thought before a library or a yard's own horses speak.

    Attributes:
        gene_mean, gene_spread: furlongs, mean and standard deviation of the best distance by genotype.
        gene_share: share of C among alleles.
        gene_error: share of wrong tests.
        heritability_trip, heritability_ability: shares of the variance between horses.
        going, pace, climb: what each adds to a race's demand (see `demand`).
        shape, shape_sd: correlation of shape's score and trip, and its standard deviation.
        bounds: furlongs up to which a horse is of a kind; KINDS has one more.
    """

    gene_mean: tuple[float, float, float]
    gene_spread: tuple[float, float, float]
    gene_share: float
    gene_error: float
    heritability_trip: float
    heritability_ability: float
    going: float
    pace: float
    climb: float
    shape: float
    shape_sd: float
    bounds: tuple[float, float, float]


def defaults(on: date, overrides: Overrides = NONE) -> Defaults:
    """Return the values in force on a day."""
    found: dict[tuple[str, str], Mapping[str, Any]] = {}
    for entry in in_force("trip", ANYWHERE, on, overrides):
        found.setdefault((entry.body["kind"], entry.body.get("of", "")), entry.body)

    def value(kind: str, of: str = "", field: str = "value") -> float:
        return float(found[kind, of][field])

    means = [(value("gene mean", g), value("gene mean", g, "spread")) for g in GENOTYPES]
    low, middle, high = (value("upper end", kind) for kind in KINDS[:3])
    return Defaults(
        gene_mean=(means[0][0], means[1][0], means[2][0]),
        gene_spread=(means[0][1], means[1][1], means[2][1]),
        gene_share=value("gene share"),
        gene_error=value("gene error"),
        heritability_trip=value("heritability", "trip"),
        heritability_ability=value("heritability", "ability"),
        going=value("demand", "going"),
        pace=value("demand", "pace"),
        climb=value("demand", "climb"),
        shape=value("shape"),
        shape_sd=value("shape", field="spread"),
        bounds=(low, middle, high),
    )
