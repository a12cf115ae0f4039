"""Wordings that mean races spoken of before, bands from the top, a meeting, and kinds of race by their short names."""

from datetime import date
from typing import Final

import pytest

from race_wordings import lb
from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.card import IsHandicap, Noted, OfClass, OfKind, Over, Pays, Room
from upsides.placing.conditions.reading import Value, read_conditions
from upsides.placing.conditions.weights import Allowed, LeastWeight, Penalty, TopWeight
from upsides.placing.conditions.who import Ages, Benchmark, BredIn, Builds, Claimable, Rated, Record, RiddenBy
from upsides.placing.kinds import PastRun, RunKind
from upsides.placing.race import Build
from upsides.trade.age import AgeRange

ON: Final = date(2026, 6, 26)
FEMALE: Final = Builds(frozenset({Build.FEMALE}))
GROUP_1: Final = RunKind(classes=frozenset({"group 1"}))
HERE: Final = RunKind(here=True, this_meeting=True)


def read(text: str) -> tuple[Value, ...]:
    """Read a wording to its end."""
    found = read_conditions(text, on=ON, currency="GBP")
    assert not found.unread, found.unread
    return found.values


def since(day: date) -> RunKind:
    return RunKind(first=day)


WORDINGS: Final[list[tuple[str, tuple[Value, ...]]]] = [
    ("Penalties: a winner of a Group 1 race 7lb; two such races 10lb",
     (Penalty(lb(7), Record("won", 1, kind=GROUP_1)), Penalty(lb(10), Record("won", 2, kind=GROUP_1)))),
    ("Winners of two Group 1 races 6lb extra; winners of one such race 3lb extra",
     (Penalty(lb(6), Record("won", 2, kind=GROUP_1)), Penalty(lb(3), Record("won", 1, kind=GROUP_1)))),
    ("Class 5 handicap rated 56-70, for three-year-olds and upwards",
     (OfClass("5"), IsHandicap(), Rated(56.0, 70.0), Ages(AgeRange(3)))),
    ("Lady riders' handicap rated 0-70", (RiddenBy("lady"), IsHandicap(), Rated(None, 70.0))),
    ("Fillies' handicap rated 0-85", (IsHandicap(), FEMALE, Rated(None, 85.0))),
    ("CLASS 4 (0-80) HANDICAP of £10,000 for three yrs old and upwards",
     (OfClass("4"), Rated(None, 80.0), IsHandicap(), Pays(0, Money(10000.0, "GBP")), Ages(AgeRange(3)))),
    ("Class 4 handicap for horses rated 60-40", (OfClass("4"), IsHandicap(), Rated(40.0, 60.0))),
    ("Class 3 (80-60), 1200m", (OfClass("3"), Rated(60.0, 80.0), Over(1200.0))),
    ("Horses rated 60 or below are not eligible", (Rated(61.0),)),
    ("Horses rated above 85 are ineligible", (Rated(None, 85.0),)),
    ("for horses rated above 85", (Rated(86.0),)),
    ("Rating 58 handicap", (Benchmark(58.0), IsHandicap())),
    ("A winner at this meeting 5lb extra", (Penalty(lb(5), Record("won", 1, kind=HERE)),)),
    ("which have not won at this meeting", (Record("won", most=0, kind=HERE),)),
    ("Maiden special weight. Purse $42,000. For fillies two years old",
     (Record("won", most=0), Pays(0, Money(42000.0, "USD")), FEMALE, Ages(AgeRange(2, 2)))),
    ("Allowance. Purse $42,000. For fillies which have never won a race other than maiden, claiming, starter, or "
     "restricted",
     (OfKind(frozenset({"allowance"})), Pays(0, Money(42000.0, "USD")), FEMALE,
      Record("won", most=0, kind=RunKind(without=frozenset({"maiden", "claiming", "starter", "restricted"}))))),
    ("Claiming stakes. Every horse entered to be claimed for £10,000; for each £1,000 less, allowed 1lb; lowest "
     "claiming price £4,000",
     (OfKind(frozenset({"claiming"})),
      Claimable(Money(10000.0, "GBP"), Money(4000.0, "GBP"), Money(1000.0, "GBP"), lb(1)))),
    ("The winner to be sold by auction for £3,000. All other horses may be claimed for £5,000",
     (Noted("winner sold"), Claimable(Money(5000.0, "GBP")))),
    ("Minimum 53kg, maximum 60kg", (LeastWeight(Amount(53.0, "kg")), TopWeight(Amount(60.0, "kg")))),
    ("which have not won a race since 31 August last", (Record("won", most=0, kind=since(date(2025, 8, 31))),)),
    ("which have not won a race since 1 June last year", (Record("won", most=0, kind=since(date(2025, 6, 1))),)),
    ("Penalties: for each race won (excluding apprentice and amateur races) 3lb",
     (Penalty(lb(3), Record("won", 1, kind=RunKind(without=frozenset({"apprentice", "amateur"}))), each=True),)),
    ("For three-year-olds, not having won a race of 20,000 euros to the winner this year",
     (Ages(AgeRange(3, 3)), Record("won", most=0, kind=RunKind(first=date(2026, 1, 1), worth=Money(20000.0, "EUR"))))),
    ("For fillies of two years having never run", (FEMALE, Ages(AgeRange(2, 2)), Record("ran", most=0))),
    ("Horses not having been placed in the first three this year shall receive 1.5 kg",
     (Allowed(Amount(1.5, "kg"), record=Record("placed", most=0, kind=since(date(2026, 1, 1)))),)),
    ("which have not run in the 60 days before the race", (Record("ran", most=0, kind=since(date(2026, 4, 27))),)),
    ("A maximum of 16 runners", (Room(16),)),
    ("Irish-bred only", (BredIn(frozenset({"Ireland"})),)),
]  # fmt: skip


@pytest.mark.parametrize(("wording", "meant"), WORDINGS, ids=[wording[:40] for wording, _ in WORDINGS])
def test_a_wording_is_read_to_its_end(wording: str, meant: tuple[Value, ...]) -> None:
    """Each wording becomes the rules that it means, and no word of it stays unread."""
    assert read(wording) == meant


@pytest.mark.parametrize(
    "wording",
    [
        "Penalties: a winner of two such races 7lb",
        "Penalties: a winner of a Group 1 race or of a race worth £50,000 5lb; of two such races 7lb",
        "Jockeys not having won 70 races shall receive 2 kg",
        "No penalty for a race won at this meeting",
    ],
)
def test_such_races_as_nothing_says_count_for_nobody(wording: str) -> None:
    """Where no one kind of race was spoken of before "such races", where riders and not horses are meant, and where a
    win is let off, no rule without a doubt comes of it: the words are shown as not read."""
    found = read_conditions(wording, on=ON, currency="GBP")
    assert found.unread
    last = found.unread[-1]
    assert "such" in last or "Jockeys" in found.unread[0] or "No penalty" in last
    assert all(isinstance(value, Penalty) and value.record.least == 1 for value in found.settled)


def test_a_meeting_is_at_the_course_and_of_the_days_before() -> None:
    """A win at the course two days before was at the meeting, one elsewhere was not; of one at the course three weeks
    before it is not known, for a meeting may go on for weeks, and one of half a year before was at another."""
    meant = HERE.at_race(ON, "Larkmoor", 1600.0, None)
    asked = [(date(2026, 6, 24), "Larkmoor"), (date(2026, 6, 24), "Quillbrook"), (date(2026, 6, 5), "LARKMOOR"),
             (date(2025, 12, 26), "Larkmoor")]  # fmt: skip
    assert [meant.counts(PastRun(day, 1, course=course)) for day, course in asked] == [True, False, None, False]
    assert HERE.counts(PastRun(ON, 1, course="Larkmoor")) is None
