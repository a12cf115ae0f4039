"""How large an invented world is."""

from dataclasses import dataclass
from datetime import date

from upsides.demo.courses import ALL_COURSES, FIVE_COURSES, Course


@dataclass(frozen=True, slots=True)
class Size:
    """The counts of a world.

    Args:
        first: first day of racing unless another is asked for.
        crops: horses of the country by the age they reach in the year of today.
        string: horses of the invented yard by the same age.
        unready: of the string's two-year-olds, how many cannot be entered before today.
        sires: sires of the country.
        trainers: trainers, the invented yard's among them.
        riders: riders of races.
        carers: people of the yard who look after horses.
        work_riders: people of the yard who ride and do nothing else.
        owners: people who own a part of a horse of the yard.
        courses: where races are run.
        weekdays: days of racing, Monday being 0.
        races: most races a day.
    """

    first: date
    crops: dict[int, int]
    string: dict[int, int]
    unready: int
    sires: int
    trainers: int
    riders: int
    carers: int
    work_riders: int
    owners: int
    courses: tuple[Course, ...]
    weekdays: frozenset[int]
    races: int


SIZES = {
    "usual": Size(
        first=date(2023, 1, 4),
        crops={2: 250, 3: 250, 4: 230, 5: 200, 6: 170, 7: 150, 8: 120, 9: 90, 10: 60},
        string={2: 31, 3: 26, 4: 15, 5: 10, 6: 5, 7: 3},
        unready=9,
        sires=60,
        trainers=40,
        riders=60,
        carers=20,
        work_riders=8,
        owners=40,
        courses=FIVE_COURSES,
        weekdays=frozenset({2, 5}),
        races=7,
    ),
    "full": Size(
        first=date(2021, 1, 6),
        crops={2: 560, 3: 570, 4: 540, 5: 490, 6: 430, 7: 390, 8: 340, 9: 290, 10: 220, 11: 150, 12: 90},
        string={2: 40, 3: 35, 4: 20, 5: 14, 6: 7, 7: 4},
        unready=12,
        sires=120,
        trainers=90,
        riders=130,
        carers=27,
        work_riders=11,
        owners=55,
        courses=ALL_COURSES,
        weekdays=frozenset({1, 2, 4, 5, 6}),
        races=7,
    ),
}
"""By name: the usual world with three full seasons and the one under way, and one about two and a half times as large
with five and the one under way."""
