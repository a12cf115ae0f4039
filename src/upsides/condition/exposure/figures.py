"""The published figures on exercise and injury that a yard can hold its own sums against, as they were published."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final, Literal

Quantity = Literal[
    "metres", "metres a day", "days since lay-up", "days since run", "days since first run", "loss of mass",
]  # fmt: skip
Relation = Literal["more than", "about", "within", "none", "no border"]
Kind = Literal["association", "no association", "practice"]
Grade = Literal["read", "secondary"]
GIVEN: Final = ("loss of mass",)
"""Quantities that come from scales, not from what was done."""


@dataclass(frozen=True, slots=True)
class Part:
    """One number that a figure is about.

    Attributes:
        quantity: what is counted.
        relation: how a horse's own number has to stand to the published one for the figure to be reached.
        value: the published number, in metres, metres a day, days or kg; None where none was published.
        most: where the figure ends again; None where it has no end.
        from_ms, to_ms: speeds between which metres count; `to_ms` is infinite where there is no upper one.
        days: window in days; None for since it entered training.
        unit: in which the study tells it: "m", "furlongs", "days" or "kg".
    """

    quantity: Quantity
    relation: Relation
    value: float | None
    most: float | None
    from_ms: float
    to_ms: float
    days: int | None
    unit: str


@dataclass(frozen=True, slots=True)
class Effect:
    """A published ratio of odds, hazards or rates, with its interval where that could be read.

    Attributes:
        ratio: the ratio.
        low, high: ends of its 95 % interval; None where it could not be read.
    """

    ratio: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Figure:
    """A published figure.

    Attributes:
        key: its name here.
        kind: an association, one that was looked for and not found, or what trainers do.
        says, population, outcome, effect_words, speeds, source, note: in sentences.
        effect: as numbers; None where no ratio could be read.
        grade: "read" in the paper's abstract or a reference page, "secondary" as another work gives it.
        ages: ages of the horses that it was found in; none for all.
        parts: the numbers that it is about; all must be reached together.
        disagrees: keys of the figures that go against it.
        disagreement: how, in sentences.
    """

    key: str
    kind: Kind
    says: str
    population: str
    outcome: str
    effect_words: str
    effect: Effect | None
    speeds: str
    source: str
    grade: Grade
    note: str
    ages: tuple[int, ...]
    parts: tuple[Part, ...]
    disagrees: tuple[str, ...]
    disagreement: str


@lru_cache(maxsize=1)
def figures() -> tuple[Figure, ...]:
    """Return every figure of the package, in the order of its file."""
    text = files("upsides.condition").joinpath("data", "exposure.toml").read_text(encoding="utf-8")
    return tuple(_figure(one) for one in tomllib.loads(text)["figure"])


def _figure(one: Mapping[str, Any]) -> Figure:
    effect = Effect(one["ratio"], one.get("low"), one.get("high")) if "ratio" in one else None
    return Figure(
        one["key"], one["kind"], one["says"], one["population"], one["outcome"], one["effect"], effect, one["speeds"],
        one["source"], one["grade"], one.get("note", ""), tuple(one.get("ages", ())),
        tuple(_part(part) for part in one["part"]), tuple(one["disagrees"]), one["disagreement"],
    )  # fmt: skip


def _part(part: Mapping[str, Any]) -> Part:
    days = part.get("days")
    return Part(
        part["quantity"], part["relation"], part.get("value"), part.get("most"), part.get("from_ms", 0.0),
        part.get("to_ms", float("inf")), None if days == "entry" else days, part.get("unit", "m"),
    )  # fmt: skip
