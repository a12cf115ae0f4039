"""What a rule of the yard's books says, in few words: doses, stand-downs, published times, registers, hours of work."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Final

from upsides.rules.book_words import Limit, MedicineEvent, RegisterField, listed
from upsides.rules.counting import Counting, first_day, later
from upsides.rules.rule import Entry

ANY_DAY: Final = date(2000, 1, 1)


def _range(ends: list[int], unit: str) -> str:
    low, high = ends
    later(ANY_DAY, high, unit)
    return f"{low} to {high} {unit}" if low else f"at most {high} {unit}"


def _vaccination(entry: Entry) -> str:
    body = entry.body
    what = f"{body['disease']}: "
    match body["kind"]:
        case "course":
            second = _range(body["second"], body["unit"])
            third = _range(body["third"], body.get("third_unit", body["unit"]))
            return f"{what}second dose {second} after the first, third {third} after the second"
        case "booster" | "before the race" as kind:
            later(ANY_DAY, body["longest"], body["unit"])
            grace = f" and {body['grace_days']:d} days" if "grace_days" in body else ""
            where = "from dose to dose" if kind == "booster" else "from the last dose"
            return f"{what}at most {body['longest']} {body['unit']}{grace} {where}"
        case "entry":
            return f"{what}looked at when the horse is entered"
        case kind:
            raise ValueError(f"kind {kind!r} is none of course, booster, before the race, entry")


def _stand_down(entry: Entry) -> str:
    body = entry.body
    first = first_day(ANY_DAY, body["count"], body["unit"], Counting(body["counting"]))
    what = f"{', '.join(listed(body['treatment']))}" + (f" ({body['of']})" if "of" in body else "")
    told = f"{what}, {', '.join(listed(body['applies_to']))}: {body['says']}"
    if first is None:
        return told
    if body["unit"] == "days":
        told += f" (first day D+{(first - ANY_DAY).days})"
    return told + (", the text leaves the count open, the later is taken" if body["counting"] == "open" else "")


def _published(entry: Entry) -> str:
    body = entry.body
    how = ", ".join(str(body[key]) for key in ("route", "dose", "sample") if key in body)
    return f"{body['substance']}{f' ({how})' if how else ''}: {float(body['hours']):g} hours, edition {body['edition']}"


def _register(entry: Entry) -> str:
    body = entry.body
    fields = ", ".join(RegisterField(field) for field in body["fields"])
    return f"{MedicineEvent(body['event'])}: {fields}; kept {body['keep_months']:d} months"


PHRASES: Final[Mapping[Limit, str]] = {
    Limit.DAY: "at most {value:g} hours a day",
    Limit.WEEK: "at most {value:g} hours a week",
    Limit.AVERAGE: "at most {value:g} hours a week on average over {weeks:d} weeks",
    Limit.DAILY_REST: "{value:g} hours free in a row in each 24",
    Limit.WEEKLY_REST: "{value:g} hours free in a row in each seven days",
    Limit.BREAK: "a break of {value:g} minutes in more than {after_hours:g} hours of work",
    Limit.NIGHT: "no work from {from:02d}:00 to {to:02d}:00",
}
"""Limits of working time, in words."""


def _working_time(entry: Entry) -> str:
    body = entry.body
    if body["of"] not in {"young", "adult"}:
        raise ValueError("of is young or adult")
    return f"{body['of']}: {PHRASES[Limit(body['kind'])].format_map(body)}"


def _vital_sign(entry: Entry) -> str:
    body = entry.body
    call = f"; one source asks for the vet above {body['call_above']:g}" if "call_above" in body else ""
    return f"{body['kind']} {body['low']:g} to {body['high']:g} {body['unit']}{call}"


def _looking(entry: Entry) -> str:
    return f"{entry.body['kind']} {entry.body['value']:g} {entry.body['unit']}"


def _declared(entry: Entry) -> str:
    body = entry.body
    if body["by"] not in {"entry", "declaration"}:
        raise ValueError("by is entry or declaration")
    told = f"{', '.join(what.replace('_', ' ') for what in listed(body['what']))}: told with the {body['by']}"
    return f"{told}, where it has run before" if body.get("raced_only") else told


def _heat(entry: Entry) -> str:
    body = entry.body
    if body["reading"] not in {"wet bulb globe", "shade"}:
        raise ValueError("reading is wet bulb globe or shade")
    other = f", or wet bulb globe {body['or_wet_bulb_globe']:g}" if "or_wet_bulb_globe" in body else ""
    return f"{body['reading']} {body['value']:g} {body['unit']}{other}: {body['says']}"


PUBLISHED: Final = ("detection time", "withdrawal guideline", "withdrawal time", "detection in horses")
"""The four kinds of published times, each a topic of its own; none is ever worked out from another."""

BOOKS: Final[Mapping[str, Callable[[Entry], str]]] = {
    "vaccination": _vaccination,
    "stand-down": _stand_down,
    **dict.fromkeys(PUBLISHED, _published),
    "medicine register": _register,
    "working time": _working_time,
    "looking first": _looking,
    "vital signs": _vital_sign,
    "declared facts": _declared,
    "heat": _heat,
}
