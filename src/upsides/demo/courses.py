"""The courses of the invented country and where races start on them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Trip:
    """One start of a course.

    Args:
        distance_m: distance in metres.
        bend: straight, left or right.
    """

    distance_m: int
    bend: str


@dataclass(frozen=True, slots=True)
class Course:
    """One course.

    Args:
        name: its name.
        surface: turf or synthetic.
        seconds_per_km: how much slower than the country's par it rides, in s per 1000 m.
        trips: its starts.
    """

    name: str
    surface: str
    seconds_per_km: float
    trips: tuple[Trip, ...]


def _course(name: str, surface: str, slower: float, hand: str, straight: str, round_: str) -> Course:
    starts = [Trip(int(m), "straight") for m in straight.split()] + [Trip(int(m), hand) for m in round_.split()]
    return Course(name, surface, slower, tuple(starts))


FIVE_COURSES = (
    _course("Harrowmere", "turf", 0.0, "left", "1000 1200 1400", "1600 2000 2400 3200"),
    _course("Stannock Down", "turf", 1.1, "right", "1200 1400", "1600 1800 2200 2800"),
    _course("Quillbrook", "turf", -0.4, "left", "1000", "1200 1400 1800 2200"),
    _course("Merrow Sands", "synthetic", -0.2, "left", "1000", "1200 1400 1600 2000 2400 3200"),
    _course("Vessingdale", "synthetic", 0.3, "right", "", "1200 1400 1600 1800 2000 2400"),
)

ALL_COURSES = (
    *FIVE_COURSES,
    _course("Ossenby", "turf", 0.5, "left", "1000 1200", "1400 1600 2000 2400"),
    _course("Lathmoor", "turf", 0.8, "right", "1000", "1400 1600 1800 2200 2800"),
    _course("Underhallow", "synthetic", 0.1, "left", "1000", "1200 1600 1800 2000 2800"),
    _course("Fennerick", "turf", -0.2, "right", "", "1200 1400 1600 2000 2800"),
    _course("Gorsedyke", "turf", 0.3, "right", "1000 1200 1400 1600", "2000 2400 3200"),
    _course("Haddlesea Sands", "synthetic", -0.1, "right", "1000 1200", "1400 1600 2000 2400"),
    _course("Skellowdene", "turf", 1.4, "left", "1200", "1600 1800 2200 3200"),
    _course("Cawstock Park", "turf", 0.2, "left", "1000 1200", "1400 1600 2000 2400"),
)
