"""What a rule says, in few words; a rule that cannot be put into words has figures that cannot be used."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final

from upsides.errors.wording import filled
from upsides.rules.age_scale import FEW, age_scale
from upsides.rules.describe_books import BOOKS
from upsides.rules.describe_entering import ENTERING
from upsides.rules.feeding import describe_feeding
from upsides.rules.rule import Entry
from upsides.rules.slowness import SLOWNESS


def describe(entry: Entry) -> str:
    """Return what a rule says, reading each of its figures.

    Raises:
        LookupError, TypeError, ValueError or StopIteration: a figure is missing or is not what it should be.
    """
    return VALUES[entry.rule.topic](entry)


def _scale(entry: Entry) -> str:
    scale = age_scale(entry)
    kind = "weights to carry" if scale.form == "weight" else "allowances"
    if scale.by_age is not None:
        listed = (f"age {age} in a {group} {value:g}" for (age, group), value in scale.by_age.items())
        return f"{'; '.join(listed)} {scale.unit}"
    if len(scale.cells) <= FEW:
        return f"{scale.listed} {scale.unit}"
    return f"{len(scale.cells)} {kind} in {scale.unit}"


def _pairs(figures: Mapping[str, Any]) -> str:
    return ", ".join(f"{name} {value:g}" for name, value in figures.items())


def _figure(entry: Entry) -> str:
    return f"{entry.body['value']:g} {entry.body['unit']}"


def _driving(entry: Entry) -> str:
    after = f" after {float(entry.body['after_hours']):g} hours" if entry.body["kind"] == "break" else ""
    return f"{entry.body['kind']}: {_figure(entry)}{after}"


def _spread(entry: Entry) -> str:
    spread = f" (standard deviation {entry.body['spread']:g})" if "spread" in entry.body else ""
    return f"{entry.body['value']:g}{spread} {entry.body['unit']}"


def _margins(entry: Entry) -> str:
    return f"{_pairs(entry.body['lengths'])} lengths"


def _per_second(entry: Entry) -> str:
    body = entry.body
    by_slowness = sorted(body["values"], key=lambda step: SLOWNESS[step["down_to"]])
    steps = ", ".join(f"{step['value']:g} down to {step['down_to']}" for step in by_slowness)
    return f"{body['code']}, {' or '.join(body['surfaces'])}: {steps}"


def _per_length(entry: Entry) -> str:
    body = entry.body
    if "points" in body:
        points = ", ".join(f"{point['value']:g} at {point['furlongs']:g}f" for point in body["points"])
        return f"{points} {body['unit']}"
    if "numerator" in body:
        return f"{body['numerator']:g} over the furlongs {body['unit']}"
    return _figure(entry)


def _by_sex(entry: Entry) -> str:
    rows = entry.body["values"]
    parts = (
        f"{row['value']:g} from age {row['from_age']}" + (f" before {row['before']}" if "before" in row else "")
        for row in rows
    )
    return f"{', '.join(parts)} {entry.body['unit']}"


def _claim(entry: Entry) -> str:
    steps = ", ".join(f"{step['value']:g} below {step['wins_below']} wins" for step in entry.body["steps"])
    return f"{steps} {entry.body['unit']}"


def _bands(entry: Entry) -> str:
    bands = ", ".join(f"{low} to {high}" if low != "-" else f"up to {high}" for low, high in entry.body["bands"])
    return f"class {entry.body['race_class']}: {bands}"


def _limits(entry: Entry) -> str:
    rows = entry.body["limits"]
    parts = (f"{row['value']:g} from place {row['from_position']}" for row in rows)
    return f"{', '.join(parts)} points"


def _shared(entry: Entry) -> str:
    rows = entry.body.get("split", ())
    parts = (f"{row['of']} races, {row['place']}: {row['owner']:g}" for row in rows)
    return "; ".join([_figure(entry), *parts])


def _birthday(entry: Entry) -> str:
    day = date(2000, entry.body["month"], entry.body["day"])
    return filled("{day:%d %B}", {"day": day})


def _stalls(entry: Entry) -> str:
    body = entry.body
    return f"left-handed: {body['left_handed']}, right-handed: {body['right_handed']}"


def _curve(entry: Entry) -> str:
    return f"peak at {entry.body['peak_age']:g} years"


VALUES: Final[Mapping[str, Callable[[Entry], str]]] = {
    "weight for age": _scale,
    "southern-bred reduction": _scale,
    "margins": _margins,
    "lengths per second": _per_second,
    "pounds per length": _per_length,
    "sex allowance": _by_sex,
    "apprentice claim": _claim,
    "weights": _figure,
    "official birthday": _birthday,
    "rating bands": _bands,
    "rise after a placing": _limits,
    "pattern average": _figure,
    "prize shares": _shared,
    "black type": _figure,
    "driving hours": _driving,
    "stall numbering": _stalls,
    "age curve": _curve,
    "trip": _spread,
    "feeding": describe_feeding,
    **BOOKS,
    **ENTERING,
}
