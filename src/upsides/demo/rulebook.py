"""The invented country's own rules, laid out as a yard's rules file."""

from datetime import date

from upsides.demo.country import allowance
from upsides.demo.courses import ALL_COURSES

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
AGES = (2, 3, 4)
_FLU = 'disease = "equine influenza"'
_OTHERS = (
    (
        "vaccination",
        "influenza, first course",
        f'kind = "course"; {_FLU}; second = [21, 60]; third = [120, 180]; unit = "days"',
    ),
    ("vaccination", "influenza, booster", f'kind = "booster"; {_FLU}; longest = 6; unit = "months"'),
    ("vaccination", "record looked at on entry", f'kind = "entry"; {_FLU}'),
    (
        "stand-down",
        "any vaccine",
        'treatment = "vaccine"; applies_to = ["race", "racecourse property"]; count = 7; unit = "days"; '
        'counting = "open"; says = "not on racecourse property within seven days of a dose"',
    ),
    (
        "stand-down",
        "joint corticosteroid",
        'treatment = "intra-articular corticosteroid"; applies_to = ["race"]; count = 14; unit = "days"; '
        'counting = "free"; says = "not on race day or any of the 14 days before"',
    ),
    ("band entry", "handicaps", "above = 0; below = false"),
    ("elimination", "handicaps", 'races = ["handicap"]; by = "weight"; ties = "ballot"'),
    ("elimination", "other races", 'races = ["any"]; by = "ballot"; ties = "ballot"'),
    ("prize shares", "owners' part", 'value = 78.0; unit = "% of prize money"'),
    ("driving hours", "at the wheel a day", 'kind = "at the wheel a day"; value = 9; unit = "hours"'),
    ("driving hours", "break", 'kind = "break"; value = 45; unit = "minutes"; after_hours = 4.5'),
    ("runs for a mark", "three runs", "runs = 3; won_first = 2; won_second = 2"),
    (
        "stand-down",
        "non-runner without a certificate",
        'treatment = "self-certified non-runner"; applies_to = ["race"]; count = 7; unit = "days"; counting = "open"; '
        'says = "not in a race within seven days of one that it was taken out of without a vet\'s certificate"',
    ),
    ("working time", "young workers, day", 'of = "young"; kind = "hours a day"; value = 8; unit = "hours"'),
    ("working time", "young workers, week", 'of = "young"; kind = "hours a week"; value = 40; unit = "hours"'),
    (
        "working time",
        "young workers, rest between days",
        'of = "young"; kind = "daily rest"; value = 12; unit = "hours"',
    ),
    ("working time", "young workers, rest each week", 'of = "young"; kind = "weekly rest"; value = 48; unit = "hours"'),
    (
        "working time",
        "adults, average week",
        'of = "adult"; kind = "average week"; value = 48; unit = "hours"; weeks = 17',
    ),
    ("working time", "adults, rest between days", 'of = "adult"; kind = "daily rest"; value = 11; unit = "hours"'),
    ("working time", "adults, rest each week", 'of = "adult"; kind = "weekly rest"; value = 24; unit = "hours"'),
)
"""What the country has besides weight for age: topic, name, fields of the rule."""


def rulebook() -> str:
    """Return the country's rules as TOML, as `upsides.rules.read_overrides` reads it.

    Weight for age, vaccination, what keeps a horse away after a dose or an injection, and hours of work.
    """
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
            *(line for topic, name, fields in _OTHERS for line in _rule(topic, name, fields)),
        ]
    )


def _rule(topic: str, name: str, fields: str) -> list[str]:
    """Return one rule with the head that all of them have."""
    head = [f'topic = "{topic}"', f'name = "The invented country, {name}"', 'jurisdiction = "XU"']
    source = ['source = "The invented country\'s own rules"', 'confidence = "high"']
    return ["[[rule]]", *head, *source, *(part.strip() for part in fields.split(";")), ""]


def _row(age: int, metres: int) -> str:
    days = [date(2025, month, day) for month in range(1, 13) for day in (8, 23)]
    return ", ".join(f"{allowance(age, day, metres):g}" for day in days)
