"""Which field a column could be: a score from its name and its values, for every field a shape can fill.

A name alone counts when the values do not speak against it; values alone count only where they are
unmistakable (a date, a distance or margin in the trade's notation, a time with minutes, words of going, sex
or surface).
"""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from upsides.results.profiles import Profile, date_format, is_serial, notation_share, plain_words, time_style

MINIMUM = 1.5
"""A guess below this is not made: it needs a name that says it, or values that do."""
OUTCOME_SHARE = 0.6
SURFACE_WORDS = r"(?i)\b(turf|grass|dirt|sand|all.?weather|synthetic|polytrack|tapeta|gazon|psf)\b"


@dataclass(frozen=True, slots=True)
class Guess:
    """A column taken as a field, with the score and the reason in words."""

    field: str
    column: str
    score: float
    why: str


@cache
def words() -> Mapping[str, Any]:
    """Return the word lists of `guesses.toml`."""
    return tomllib.loads((resources.files("upsides.results") / "guesses.toml").read_text("utf-8"))


def name_score(column: Profile, phrases: list[str]) -> float:
    """Return how well a column's name fits a field's phrases: 0 not at all, 3 exactly."""
    best = 0.0
    own = column.words
    for phrase in phrases:
        wanted = plain_words(phrase)
        if own == wanted or "".join(own) == "".join(wanted):
            return 3.0
        if set(wanted) <= set(own):
            best = max(best, 1.2 + 0.5 * len(wanted) - 0.2 * (len(own) - len(wanted)))
        elif len(phrase) > 1 and phrase.isalpha() and not phrase.isascii() and phrase in column.name:
            best = max(best, 1.5)
    return best


def _number(low: float, high: float) -> Callable[[Profile], float]:
    return lambda column: 0.4 if column.within(low, high) >= 0.9 else -9.0


def _date(column: Profile) -> float:
    if date_format(column)[0]:
        return 1.6
    return 0.3 if is_serial(column) else -9.0


def _distance(column: Profile) -> float:
    if notation_share(column, "m") > 0.8 and column.distinct < 400:
        return 2.0
    return 0.4 if column.numeric > 0.95 and column.distinct < 200 and column.within(1, 9000) > 0.95 else -9.0


def _margin(column: Profile) -> float:
    if notation_share(column, "lengths") + column.numeric > 0.8 and notation_share(column, "lengths") > 0.05:
        return 2.0 if column.share_matching(r"\d[- ]\d/\d|[¼½¾]|(?i)^(nk|n|sh|hd|shd|nose|nse)$") > 0.05 else 0.3
    various = column.distinct > 15 or not column.whole
    return 0.4 if column.numeric > 0.95 and column.within(0, 300) > 0.8 and various else -9.0


def _time(column: Profile) -> float:
    if time_style(column):
        return 1.8
    return 0.4 if column.within(25, 700) > 0.9 and not column.whole else -9.0


def _position(column: Profile) -> float:
    codes = [code.lower() for code in words()["outcomes"]]
    ranks = column.share_matching(r"^\d{1,2}(\.0)?( ?DH)?$")
    if ranks < OUTCOME_SHARE or column.distinct > 120:
        return -9.0
    return 1.6 if column.share_in(codes) > 0.001 and ranks + column.share_in(codes) > 0.98 else 0.3


def _small(high: int) -> Callable[[Profile], float]:
    return lambda column: 0.3 if column.within(1, high) > 0.95 and column.whole and column.distinct <= high else -9.0


def _sex(column: Profile) -> float:
    known = [word for group in words()["sexes"].values() for word in group]
    share = column.share_in(known)
    if share < 0.8 or column.distinct > 25:
        return -9.0
    return 1.6 if column.share_matching(r"^[A-Za-z]$") < 0.5 else 0.6


def _surface(column: Profile) -> float:
    share = column.share_in([word for group in words()["surfaces"].values() for word in group])
    if share > 0.9 or column.share_matching(SURFACE_WORDS) > 0.9:
        return 1.6
    return 0.2 if column.share_in(["0", "1"]) > 0.99 else -9.0


def _going(column: Profile) -> float:
    known = words()["goings"]["words"]
    share = column.share_matching(r"(?i)\b(" + "|".join(known[: known.index("良")]) + r")\b")
    share = max(share, column.share_in(known))
    return 1.6 if share > 0.85 and column.distinct < 80 else 0.1 if column.numeric < 0.5 else -9.0


def _words(column: Profile) -> float:
    return 0.4 if column.numeric < 0.3 else -9.0


def _any(column: Profile) -> float:
    return 0.2 if len(column.texts) else -9.0


def _carried(column: Profile) -> float:
    if notation_share(column, "lb") > 0.8:
        return 1.8 if column.share_matching(r"^\d{1,2}\s?(-|st)\s?\d{1,2}") > 0.5 else 0.5
    return 0.5 if column.within(90, 190) > 0.9 or column.within(43, 85) > 0.9 else -9.0


def _mass(column: Profile) -> float:
    if column.share_matching(r"^\d{3}\([+\-]?\d+\)$") > 0.8:
        return 1.8
    return 0.7 if column.within(330, 650) > 0.9 or column.within(700, 1450) > 0.9 else -9.0


def _band(column: Profile) -> float:
    return 1.6 if column.share_matching(r"^\d{1,3}-\d{1,3}$") > 0.6 else -9.0


def _odds(column: Profile) -> float:
    return 0.5 if column.within(1, 2000) > 0.9 else -9.0


VALUES: Mapping[str, Callable[[Profile], float]] = {
    "race_id": _any,
    "date": _date,
    "course": _any,
    "race_no": _small(30),
    "title": _words,
    "distance_m": _distance,
    "going": _going,
    "surface": _surface,
    "rail": _words,
    "race_class": _any,
    "ages": lambda column: 1.6 if column.share_matching(r"(?i)^\d+(-\d+)?\s?yo?\+?") > 0.8 else -9.0,
    "prize": _number(100, 1e9),
    "currency": _words,
    "country": lambda column: 0.4 if column.share_matching(r"^[A-Za-z]{2,4}$") > 0.9 else -9.0,
    "winning_time_s": _time,
    "rating_high": _band,
    "code": lambda column: 0.3 if column.numeric < 0.3 and column.distinct < 15 else -9.0,
    "horse_id": lambda column: 0.4 if column.distinct > 15 else -9.0,
    "horse_name": lambda column: 0.5 if column.numeric < 0.05 and column.distinct > 15 else -9.0,
    "sire": _words,
    "dam": _words,
    "suffix": lambda column: 0.4 if column.share_matching(r"^[A-Z]{2,4}$") > 0.9 else -9.0,
    "foaled": _number(1800, 2100),
    "age": _small(20),
    "sex": _sex,
    "saddlecloth": _small(40),
    "position": _position,
    "draw": _small(40),
    "carried_lb": _carried,
    "body_mass_kg": _mass,
    "beaten_lengths": _margin,
    "time_s": _time,
    "gear": _words,
    "jockey": _any,
    "trainer": _any,
    "official_rating": _number(0, 180),
    "odds": _odds,
}


def guesses(columns: list[Profile]) -> list[Guess]:
    """Return the best assignment of columns to fields, each of either at most once, best first."""
    scored: list[Guess] = []
    for column in columns:
        if not len(column.texts):
            continue
        for name, value in VALUES.items():
            named = name_score(column, words()["columns"][name])
            shown = value(column) if named or name in UNMISTAKABLE else -9.0
            if shown > -1 and named + shown >= MINIMUM:
                scored.append(Guess(name, column.name, named + shown, _why(named, shown)))
    scored.sort(key=lambda guess: -guess.score)
    chosen: dict[str, Guess] = {}
    taken: set[str] = set()
    for guess in scored:
        if guess.field not in chosen and guess.column not in taken:
            chosen[guess.field] = guess
            taken.add(guess.column)
    return list(chosen.values())


UNMISTAKABLE = frozenset(
    [
        "date",
        "distance_m",
        "going",
        "surface",
        "sex",
        "beaten_lengths",
        "time_s",
        "position",
        "carried_lb",
        "body_mass_kg",
        "rating_high",
        "ages",
    ]
)


def may_be(column: Profile) -> list[str]:
    """Return the measured fields that the values of an unnamed column would do for."""
    measured = ("carried_lb", "body_mass_kg", "time_s", "distance_m")
    return [name for name in measured if VALUES[name](column) >= 0.4]


def _why(named: float, shown: float) -> str:
    if named and shown >= 1:
        return "its name and its values"
    return "its name" if named else "its values"
