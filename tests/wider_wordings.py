"""More wordings on which horses a race takes, with the rules that each means.

Ordinary idioms of British, Irish and American conditions; sentences, names and figures are our own.
"""

from datetime import date
from typing import Final

from race_wordings import FEMALE, MALE
from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.card import IsHandicap
from upsides.placing.conditions.origins import Novices, SiresFee, TrainedIn
from upsides.placing.conditions.reading import Value
from upsides.placing.conditions.weights import LeastWeight, TopWeight
from upsides.placing.conditions.who import (
    Ages,
    Benchmark,
    BredIn,
    Builds,
    Claimable,
    Rated,
    Record,
    RiddenBy,
    SiresPrice,
    SoldFor,
)
from upsides.placing.kinds import RunKind
from upsides.placing.race import Build
from upsides.trade.age import AgeRange

GROUPS = frozenset({"group 1", "group 2", "group 3"})
ON_HORSES_TOO: Final[list[tuple[str, tuple[Value, ...]]]] = [
    ("Open to fillies and mares of four years old and upwards", (Builds(FEMALE), Ages(AgeRange(4)))),
    (
        "For horses which have not won a race of Group 3 or better class since 1 September 2024",
        (Record("won", most=0, kind=RunKind(date(2024, 9, 1), classes=frozenset({"group 1", "group 2", "group 3"}))),),
    ),
    (
        "Not open to horses which have won a Class 2 race",
        (Record("won", most=0, kind=RunKind(classes=frozenset({"2"}))),),
    ),
    ("Horses which have won three races or more are not eligible", (Record("won", most=2),)),
    ("for novice two-year-old fillies only", (Novices(), Ages(AgeRange(2, 2)), Builds(FEMALE))),
    ("for novice three-year-olds and upwards", (Novices(), Ages(AgeRange(3)))),
    ("for 2yo novices only", (Ages(AgeRange(2, 2)), Novices())),
    ("for 3yo and upwards, novice, fillies and mares", (Ages(AgeRange(3)), Novices(), Builds(FEMALE))),
    ("whose sires' median stallion fee does not exceed £15,000", (SiresFee(Money(15000.0, "GBP")),)),
    (
        "by stallions whose advertised stud fee was £8,000 or less in the year of conception",
        (SiresFee(Money(8000.0, "GBP")),),
    ),
    (
        "whose sires had a median price of 25,000 gns or less at the yearling sales",
        (SiresPrice(Money(25000.0, "guineas")),),
    ),
    ("the progeny of stallions that stood at a fee not exceeding €10,000", (SiresFee(Money(10000.0, "EUR")),)),
    ("whose sire's yearling median price did not exceed 30,000 guineas", (SiresPrice(Money(30000.0, "guineas")),)),
    (
        "which cost no more than 20,000 guineas at public auction as a yearling",
        (SoldFor(Money(20000.0, "guineas"), frozenset({"yearling"})),),
    ),
    ("bought at public auction for 15,000 gns or less", (SoldFor(Money(15000.0, "guineas")),)),
    (
        "sold or bought in at public auction as yearlings or two-year-olds for 24,000 guineas or less",
        (SoldFor(Money(24000.0, "guineas"), frozenset({"two-year-old", "yearling"})),),
    ),
    (
        "offered for sale at a public auction as a yearling and sold for not more than £30,000",
        (SoldFor(Money(30000.0, "GBP"), frozenset({"yearling"})),),
    ),
    ("No horse trained in Ireland may run", (TrainedIn(frozenset({"Ireland"}), out=True),)),
    ("for horses trained in Great Britain only", (TrainedIn(frozenset({"Britain"})),)),
    ("horses not trained in Great Britain are not eligible", (TrainedIn(frozenset({"Britain"})),)),
    (
        "which have not won a race worth 6000 euros to the winner",
        (Record("won", most=0, kind=RunKind(worth=Money(6000.0, "EUR"))),),
    ),
    (
        "which have not won a race with a first prize of €12,000 or more",
        (Record("won", most=0, kind=RunKind(worth=Money(12000.0, "EUR"))),),
    ),
    ("that have not won a race value £5,000", (Record("won", most=0, kind=RunKind(worth=Money(5000.0, "GBP"))),)),
    ("for maidens at starting", (Record("won", most=0),)),
    ("for horses that have run at least twice but have not won", (Record("ran", 2), Record("won", most=0))),
    ("for maiden colts and geldings aged three", (Record("won", most=0), Builds(MALE), Ages(AgeRange(3, 3)))),
    (
        "for maiden fillies and mares, four years old and upwards",
        (Record("won", most=0), Builds(FEMALE), Ages(AgeRange(4))),
    ),
    ("for horses which have started at least once and have not won a race", (Record("ran", 1), Record("won", most=0))),
    ("which have run on at least two occasions", (Record("ran", 2),)),
    ("which have run at least three times on the Flat", (Record("ran", 3, kind=RunKind(codes=frozenset({"flat"}))),)),
    ("which have had at least three runs", (Record("ran", 3),)),
    ("which have started in a handicap", (Record("ran", 1, kind=RunKind(only=frozenset({"handicap"}))),)),
    ("which have not run in a handicap", (Record("ran", most=0, kind=RunKind(only=frozenset({"handicap"}))),)),
    ("who have not won a race since 1st April 2025", (Record("won", most=0, kind=RunKind(date(2025, 4, 1))),)),
    (
        "who have not won a race during 2025",
        (Record("won", most=0, kind=RunKind(date(2025, 1, 1), date(2025, 12, 31))),),
    ),
    ("who have not won within the last twelve months", (Record("won", most=0, kind=RunKind(date(2024, 8, 1))),)),
    ("which have not won a race in the last six months", (Record("won", most=0, kind=RunKind(date(2025, 2, 1))),)),
    ("that have not won since 31 March", (Record("won", most=0, kind=RunKind(date(2025, 3, 31))),)),
    ("winners of one race only", (Record("won", 1, 1),)),
    ("winners of no more than one race", (Record("won", most=1),)),
    ("for horses which have won not more than one race", (Record("won", most=1),)),
    ("which, before 15 July, have not won a race", (Record("won", most=0, kind=RunKind(last=date(2025, 7, 14))),)),
    ("for apprentice jockeys", (RiddenBy("apprentice"),)),
    ("to be ridden by apprentice jockeys that have not ridden 25 winners", (RiddenBy("apprentice", 24),)),
    ("confined to amateur riders", (RiddenBy("amateur"),)),
    ("to be ridden by amateur riders only", (RiddenBy("amateur"),)),
    ("for lady amateur riders", (RiddenBy("lady amateur"),)),
    ("to be ridden by lady jockeys", (RiddenBy("lady"),)),
    ("Lady riders' handicap", (RiddenBy("lady"), IsHandicap())),
    ("rated above 85 are ineligible", (Rated(None, 85.0),)),
    ("Rating 58 handicap", (Benchmark(58.0), IsHandicap())),
    (
        "minimum 53kg, maximum 60kg",
        (LeastWeight(Amount(53.0, "kg")), TopWeight(Amount(60.0, "kg"))),
    ),
    ("for professional riders only", (RiddenBy("professional"),)),
    ("rated 0-75", (Rated(high=75.0),)),
    ("Official rating 66-80", (Rated(66.0, 80.0),)),
    ("with official ratings of 60 to 75", (Rated(60.0, 75.0),)),
    ("handicap rating not exceeding 70", (Rated(high=70.0),)),
    ("which have been allotted a rating of 75 or less", (Rated(high=75.0),)),
    ("rated no higher than 85", (Rated(high=85.0),)),
    ("whose rating does not exceed 90", (Rated(high=90.0),)),
    ("rated between 56 and 70", (Rated(56.0, 70.0),)),
    ("for horses rated 80 or above", (Rated(80.0),)),
    ("0-65", (Rated(high=65.0),)),
    ("any runner may be claimed for £12,000", (Claimable(Money(12000.0, "GBP")),)),
    ("for entire colts and fillies", (Builds(frozenset({Build.ENTIRE, Build.FEMALE})),)),
    ("no horse aged ten or over", (Ages(AgeRange(2, 9)),)),
    ("2yo only", (Ages(AgeRange(2, 2)),)),
    ("For 3 year olds, colts and fillies", (Ages(AgeRange(3, 3)), Builds(frozenset({Build.ENTIRE, Build.FEMALE})))),
    ("three-year-old fillies", (Ages(AgeRange(3, 3)), Builds(FEMALE))),
    ("four-year-olds and up, fillies & mares", (Ages(AgeRange(4)), Builds(FEMALE))),
    ("for horses aged 4 or more", (Ages(AgeRange(4)),)),
    ("aged three and over", (Ages(AgeRange(3)),)),
    ("two years old and upwards", (Ages(AgeRange(2)),)),
    (
        "for three-year-old colts, geldings and fillies",
        (Ages(AgeRange(3, 3)), Builds(frozenset({Build.ENTIRE, Build.FEMALE, Build.GELDING}))),
    ),
    ("unraced two-year-olds", (Record("ran", most=0), Ages(AgeRange(2, 2)))),
    ("which have never started", (Record("ran", most=0),)),
    ("who have not raced before 1 June", (Record("ran", most=0, kind=RunKind(last=date(2025, 5, 31))),)),
    (
        "which have not finished first or second in a race of Class 2 or better",
        (
            Record(
                "placed",
                most=0,
                kind=RunKind(classes=frozenset({"1", "2", "group 1", "group 2", "group 3", "listed"})),
                places=2,
            ),
        ),
    ),
    ("which have not been placed first, second or third", (Record("placed", most=0),)),
    (
        "which finished in the first four in a Listed race",
        (Record("placed", 1, kind=RunKind(classes=frozenset({"listed"})), places=4),),
    ),
    ("have not won over further than one mile", (Record("won", most=0, kind=RunKind(metres=1610.344)),)),
    ("open to horses that have not won a Group race", (Record("won", most=0, kind=RunKind(classes=GROUPS)),)),
    ("excluding winners of a Group 1 race", (Record("won", most=0, kind=RunKind(classes=frozenset({"group 1"}))),)),
    (
        "winners of a Listed or Group race excluded",
        (Record("won", most=0, kind=RunKind(classes=frozenset({"group 1", "group 2", "group 3", "listed"}))),),
    ),
    ("not open to winners of a Class 3 race", (Record("won", most=0, kind=RunKind(classes=frozenset({"3"}))),)),
    (
        "Horses that have won a Class 1 or Class 2 race since 1 August 2024 are not qualified",
        (
            Record(
                "won",
                most=0,
                kind=RunKind(
                    date(2024, 8, 1), classes=frozenset({"1", "2", "group 1", "group 2", "group 3", "listed"})
                ),
            ),
        ),
    ),
    ("bred in France or Germany", (BredIn(frozenset({"France", "Germany"})),)),
    ("French-bred horses", (BredIn(frozenset({"France"})),)),
    ("GB and Irish bred", (BredIn(frozenset({"Britain", "Ireland"})),)),
    ("No horse may run that has run in the last three days", (Record("ran", most=0, kind=RunKind(date(2025, 7, 29))),)),
    (
        "A race for two-year-old maidens, colts and geldings only",
        (Ages(AgeRange(2, 2)), Record("won", most=0), Builds(MALE)),
    ),
    ("Maiden Fillies' Stakes for three-year-olds", (Record("won", most=0), Builds(FEMALE), Ages(AgeRange(3, 3)))),
    (
        "For three-year-olds which have not won a race before 1st May 2025 and have run no more than three times",
        (Ages(AgeRange(3, 3)), Record("won", most=0, kind=RunKind(last=date(2025, 4, 30))), Record("ran", most=3)),
    ),
    (
        "For horses which have not won more than one race since January 1st",
        (Record("won", most=1, kind=RunKind(date(2025, 1, 1))),),
    ),
    (
        "For fillies and mares aged four or over which have not won a race in 2025",
        (Builds(FEMALE), Ages(AgeRange(4)), Record("won", most=0, kind=RunKind(date(2025, 1, 1), date(2025, 12, 31)))),
    ),
    (
        "Open to three-year-olds only, which have started no more than twice",
        (Ages(AgeRange(3, 3)), Record("ran", most=2)),
    ),
    ("Open to horses rated 81-100 only", (Rated(81.0, 100.0),)),
    (
        "For two-year-olds which have never won a race value £8,000 or more",
        (Ages(AgeRange(2, 2)), Record("won", most=0, kind=RunKind(worth=Money(8000.0, "GBP")))),
    ),
    ("For amateur riders only", (RiddenBy("amateur"),)),
    ("To be ridden by apprentices who have not ridden more than ten winners", (RiddenBy("apprentice", 10),)),
    ("To be ridden by conditional jockeys", (RiddenBy("conditional"),)),
    ("Not for geldings", (Builds(frozenset({Build.ENTIRE, Build.FEMALE})),)),
    ("Geldings barred", (Builds(frozenset({Build.ENTIRE, Build.FEMALE})),)),
    ("Entires and fillies only", (Builds(frozenset({Build.ENTIRE, Build.FEMALE})),)),
    ("Mares only", (Builds(FEMALE),)),
    ("Colts, fillies and mares", (Builds(frozenset({Build.ENTIRE, Build.FEMALE})),)),
    ("3yo fillies only", (Ages(AgeRange(3, 3)), Builds(FEMALE))),
    ("Trained in Great Britain or Ireland", (TrainedIn(frozenset({"Britain", "Ireland"})),)),
    ("Only horses trained in France may be entered", (TrainedIn(frozenset({"France"})),)),
    ("GB-bred or Irish-bred fillies", (BredIn(frozenset({"Britain", "Ireland"})), Builds(FEMALE))),
    ("Bred in Ireland", (BredIn(frozenset({"Ireland"})),)),
    ("Claiming price £8,000 to £4,000", (Claimable(Money(8000.0, "GBP"), Money(4000.0, "GBP")),)),
    ("for horses to be claimed for $16,000", (Claimable(Money(16000.0, "USD")),)),
    ("have run in a novice or maiden race", (Record("ran", 1, kind=RunKind(only=frozenset({"maiden", "novice"}))),)),
    (
        "that ran on the Flat in 2024",
        (Record("ran", 1, kind=RunKind(date(2024, 1, 1), date(2024, 12, 31), codes=frozenset({"flat"}))),),
    ),
    ("which have not run since 1 June", (Record("ran", most=0, kind=RunKind(date(2025, 6, 1))),)),
    ("which have run since 1 June", (Record("ran", 1, kind=RunKind(date(2025, 6, 1))),)),
    ("that have been placed at least once", (Record("placed", 1),)),
    (
        "which have not been placed in the first four in a handicap",
        (Record("placed", most=0, kind=RunKind(only=frozenset({"handicap"})), places=4),),
    ),
    ("which have won over one mile or further", (Record("won", 1, kind=RunKind(metres=1609.344)),)),
    ("which have not won beyond 1m", (Record("won", most=0, kind=RunKind(metres=1610.344)),)),
    ("that have won on an all-weather track", (Record("won", 1, kind=RunKind(surfaces=frozenset({"synthetic"}))),)),
    ("non-winners in 2025", (Record("won", most=0, kind=RunKind(date(2025, 1, 1), date(2025, 12, 31))),)),
    (
        "non winners of a race worth $20,000 since March 1",
        (Record("won", most=0, kind=RunKind(date(2025, 3, 1), worth=Money(20000.0, "USD"))),),
    ),
    ("for horses with fewer than four runs", (Record("ran", most=3),)),
]
