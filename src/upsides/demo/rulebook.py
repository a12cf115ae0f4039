"""The invented country's own rules, laid out as a yard's rules file."""

from datetime import date

from upsides.demo.country import allowance
from upsides.demo.courses import ALL_COURSES

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
AGES = (2, 3, 4)


def rulebook() -> str:
    """Return the country's weight for age as TOML, as `upsides.rules.read_overrides` reads it."""
    columns = [f'"{month}{half}"' for month in MONTHS for half in (1, 2)]
    distances = sorted({trip.distance_m for course in ALL_COURSES for trip in course.trips})
    rows = [
        f"  {{ metres = {metres}, age = {age}, values = [{_row(age, metres)}] }},"
        for metres in distances
        for age in AGES
    ]
    return "\n".join(
        [
            "# Weight for age of the invented country.",
            'topic = "weight for age"',
            "",
            "[[rule]]",
            'name = "The invented country"',
            'jurisdiction = "XU"',
            'source = "The invented country\'s own rules"',
            'confidence = "high"',
            'shape = "grid"',
            'form = "allowance"',
            'unit = "lb"',
            'step = "half-month"',
            f"mature_age = {AGES[-1] + 1}",
            f"columns = [{', '.join(columns)}]",
            "rows = [",
            *rows,
            "]",
            "",
        ]
    )


def _row(age: int, metres: int) -> str:
    days = [date(2025, month, day) for month in range(1, 13) for day in (8, 23)]
    return ", ".join(f"{allowance(age, day, metres):g}" for day in days)
