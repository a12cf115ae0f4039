"""Whole wordings with horses in them, worked out by hand: may it run, and off what weight.

The arithmetic stands beside each. Its rules are those of the conditions themselves and of the published ones that
`racing-standards.md` names: a point of the mark is a pound, two above the band may run, below it the weight stops at
the bottom (BHA, which races a rating allows); Hong Kong's handicaps go down from 135 lb (Hong Kong Jockey Club).
"""

from datetime import date
from typing import Any

import pytest

from planned_races import a_horse, a_race, a_run
from upsides.placing.amounts import Money
from upsides.placing.eligible import eligible
from upsides.placing.horse import Horse, Sold
from upsides.placing.weighing import weigh

HANDICAP = "The Sedge Handicap (Class 4) (0-80) for four yrs old and upwards, rated 66-80. Highest weight 9st 9lb."
PENALTY = f"{HANDICAP} Penalties, after June 28th, for each race won 6lb"
NOVICE = (
    "A Novice Stakes (Class 5) for two-year-olds which have not won more than two races. Weights: colts and geldings "
    "9st 5lb; fillies 9st. Penalties: a winner 6lb; of two races 10lb"
)
GROUP = (
    "Group 3. For three-year-olds and upwards, fillies and mares only. Weights: 3yo 8st 13lb, 4yo+ 9st 6lb. Penalties, "
    "after 31 August 2024: a winner of a Group 3 race 3lb, of a Group 1 or Group 2 race 5lb"
)
MAIDEN = "Maiden Stakes for three-year-olds and upwards. Weights: 3yo 9st; 4yo+ 9st 12lb; fillies and mares allowed 5lb"
CLAIMER = (
    "Claiming race for three-year-olds and up. 9st 5lb each; fillies and mares allowed 5lb. Any runner may be claimed "
    "for £12,000"
)
AMERICAN = "FOR MAIDENS, THREE YEARS OLD AND UPWARD. Three Year Olds, 119 lbs.; Older, 124 lbs. Fillies allowed 3 lbs."
FRENCH = (
    "For three-year-olds. Weights: 57 kg. Fillies 1.5 kg less. A winner of a race worth 6000 euros to the winner 2 kg"
)
AUCTION = (
    "For two-year-olds sold at public auction as yearlings for 40,000 guineas or less. 9st 2lb each; fillies "
    "allowed 5lb"
)


def won(*days: str, **more: Any) -> tuple[Any, ...]:
    return tuple(a_run(day, 1, **more) for day in days)


def sold(pounds: float) -> tuple[Sold, ...]:
    return (Sold(date(2024, 10, 8), Money(pounds, "GBP"), "yearling"),)


CASES: list[tuple[str, dict[str, Any], Horse, float | None]] = [
    (HANDICAP, {}, a_horse(5, mark=73), 128),  # 9-9 is 135, less 7
    (HANDICAP, {}, a_horse(5, mark=80), 135),
    (HANDICAP, {}, a_horse(5, mark=82), 137),  # two above the band
    (HANDICAP, {}, a_horse(5, mark=83), None),
    (HANDICAP, {}, a_horse(5, mark=60), 121),  # stops where mark 66 stands
    (HANDICAP, {}, a_horse(3, mark=73), None),
    (f"{HANDICAP} Lowest weight 8st 10lb", {}, a_horse(5, mark=66), 122),
    (PENALTY, {}, a_horse(5, mark=70, runs=won("2025-07-01")), 131),  # 135 less 10, and 6
    (PENALTY, {}, a_horse(5, mark=70, runs=won("2025-06-28")), 125),
    (PENALTY, {}, a_horse(5, mark=70, runs=won("2025-06-30", "2025-07-03")), 137),
    (NOVICE, {}, a_horse(2, "filly", runs=won("2025-06-01")), 132),  # 126 and 6
    (NOVICE, {}, a_horse(2, runs=won("2025-05-20", "2025-06-10")), 141),  # 131 and 10
    (NOVICE, {}, a_horse(2, runs=won("2025-05-01", "2025-05-20", "2025-06-10")), None),
    (GROUP, {}, a_horse(3, "filly", runs=won("2025-05-10", race_class="group 3")), 128),  # 125 and 3
    (GROUP, {}, a_horse(4, "filly", runs=won("2024-08-01", race_class="group 2")), 132),
    (GROUP, {}, a_horse(4, "filly", runs=won("2024-10-01", race_class="group 1")), 137),
    (GROUP, {}, a_horse(4, "gelding"), None),
    (MAIDEN, {}, a_horse(4, "mare", runs=(a_run("2025-06-01", 3),)), 133),  # 138 less 5
    (MAIDEN, {}, a_horse(3, runs=won("2025-06-01")), None),
    (CLAIMER, {}, a_horse(3, "filly"), 126),
    (AMERICAN, {"jurisdiction": "US-IN"}, a_horse(3, "filly"), 116),
    (AMERICAN, {"jurisdiction": "US-IN"}, a_horse(5), 124),
    (FRENCH, {"jurisdiction": "FR"}, a_horse(3, "filly", runs=won("2025-05-01", worth=Money(8000.0, "EUR"))), 57.5),
    (AUCTION, {}, a_horse(2, "filly", sold=sold(42_000.0)), 123),  # 40,000 guineas are 42,000 pounds; 128 less 5
    (AUCTION, {}, a_horse(2, sold=sold(42_001.0)), None),
    ("", {"jurisdiction": "HK", "kinds": frozenset({"handicap"}), "band": (None, 60.0)}, a_horse(4, mark=52), 127),
    ("No horse trained in Ireland may run. 9st each", {}, a_horse(3, trained="IE"), None),
]


@pytest.mark.parametrize(("wording", "more", "horse", "carries"), CASES)
def test_a_whole_race_is_answered_as_by_hand(
    wording: str, more: dict[str, Any], horse: Horse, carries: float | None
) -> None:
    """The race takes the horse off the weight that was added up by hand, or does not take it."""
    race = a_race(wording, **more)
    if "Handicap" in wording:
        race = a_race(wording, kinds=frozenset({"handicap"}), **more)
    found = eligible(horse, race)
    assert found.unread == ()
    assert bool(found.against) is (carries is None)
    if carries is not None:
        assert {one.key for one in found.open} <= {"vaccination not seen", "no rule"}
        carried = weigh(horse, race)
        assert carried.published == carries
        assert not carried.unsure
