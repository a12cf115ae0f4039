"""Invented horses and races for the tests of placing, each with little said that a test does not ask for."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from upsides.placing.amounts import Money
from upsides.placing.horse import Horse, Mark
from upsides.placing.kinds import PastRun
from upsides.placing.race import Race
from upsides.trade.sex import Born

DAY = date(2025, 7, 5)


def a_horse(age: int = 3, sex: str = "colt", mark: float | None = None, **more: Any) -> Horse:
    """Return a horse of an age in 2025, with a mark from that year's first day on."""
    born = Born.FEMALE if sex in {"filly", "mare"} else Born.MALE
    gelded = date(2024, 1, 1) if sex == "gelding" else None
    marks = () if mark is None else (Mark(mark, date(2025, 1, 1)),)
    return Horse("Fennel Wharf", date(2025 - age, 3, 1), born, **({"gelded": gelded, "marks": marks} | more))


def a_race(wording: str = "", **more: Any) -> Race:
    """Return a race of a Saturday in July 2025 under British rules, unless said otherwise."""
    given = {"day": DAY, "course": "Larkmoor", "jurisdiction": "GB", "distance_m": 2011.68, "wording": wording}
    return Race("invented", **(given | more))


def a_run(day: str, position: int | None = 1, **more: Any) -> PastRun:
    """Return a run of which everything that conditions ask for is known."""
    known: dict[str, Any] = {
        "race_class": "5",
        "kinds": frozenset(),
        "worth": Money(4000.0, "GBP"),
        "earned": Money(4000.0 if position == 1 else 0.0, "GBP"),
        "distance_m": 1609.344,
        "surface": "turf",
        "country": "GB",
    }
    return PastRun(date.fromisoformat(day), position, **(known | more))


def london(text: str) -> datetime:
    """Return a moment by British clocks."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo("Europe/London"))
