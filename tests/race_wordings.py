"""Wordings of race conditions with the one rule that each means.

They use the idioms of published conditions: British and Irish programmes of 2019 to 2024 (racing calendars and race-day
cards of the authorities), American condition books, Australian programmes. Names and figures are our own.
"""

from datetime import date, time

from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.card import IsHandicap, Over, Pays, Room, SaidBy, Stake
from upsides.placing.conditions.reading import Value, read_conditions
from upsides.placing.conditions.weights import (
    AddUp,
    Allowed,
    Carries,
    ForAge,
    ForSex,
    LeastWeight,
    MostPenalty,
    Penalty,
    RidersClaims,
    TopWeight,
    WeightsMoved,
)
from upsides.placing.conditions.who import (
    Ages,
    Benchmark,
    BredIn,
    Builds,
    Claimable,
    Earned,
    InBands,
    InScheme,
    ParentsStayed,
    Rated,
    Record,
    RiddenBy,
    SiresPrice,
    SoldFor,
)
from upsides.placing.kinds import RunKind
from upsides.placing.race import Build, Stage
from upsides.trade.age import AgeRange

ON = date(2025, 8, 1)
JULY_26 = date(2025, 7, 26)
SINCE_JUNE = RunKind(first=date(2025, 6, 1))
FEMALE = frozenset({Build.FEMALE})
MALE = frozenset({Build.ENTIRE, Build.GELDING})
BEST_TO_3 = frozenset({"group 1", "group 2", "group 3", "listed", "1", "2", "3"})


def values(text: str) -> tuple[Value, ...]:
    """Return the rules of a wording of which everything must be read."""
    read = read_conditions(text, on=ON, currency="GBP")
    assert read.unread == ()
    assert not any(piece.doubtful for piece in read.pieces)
    return read.values


def lb(pounds: float) -> Amount:
    return Amount(float(pounds))


def st_lb(stones: int, pounds: int = 0) -> Amount:
    return lb(14 * stones + pounds)


ON_HORSES: list[tuple[str, Value]] = [
    ("For two-year-olds only", Ages(AgeRange(2, 2))),
    ("for three yrs old and upwards", Ages(AgeRange(3))),
    ("3yo+", Ages(AgeRange(3))),
    ("FOR THREE YEAR OLDS AND UPWARD.", Ages(AgeRange(3))),
    ("for four yrs old and up", Ages(AgeRange(4))),
    ("Open to horses aged 3 to 5 years old", Ages(AgeRange(3, 5))),
    ("for three and four yrs old", Ages(AgeRange(3, 4))),
    ("fillies only", Builds(FEMALE)),
    ("for fillies and mares only", Builds(FEMALE)),
    ("colts & geldings", Builds(MALE)),
    ("colts and fillies", Builds(frozenset({Build.ENTIRE, Build.FEMALE}))),
    ("geldings not eligible", Builds(frozenset({Build.ENTIRE, Build.FEMALE}))),
    ("no geldings", Builds(frozenset({Build.ENTIRE, Build.FEMALE}))),
    ("rated 0-85", Rated(None, 85.0)),
    ("Rated 66 to 80", Rated(66.0, 80.0)),
    ("horses rated 75 and below", Rated(None, 75.0)),
    ("rated 86 and above", Rated(86.0)),
    ("Rated 51-70 (also open to such horses rated 71 and 72)", Rated(51.0, 70.0, 2.0)),
    (
        "Rated 51-70 (also open to such horses rated 71 and 72; such horses rated 50 and below are also eligible"
        " - see Standard Conditions)",
        Rated(51.0, 70.0, 2.0, below=True),
    ),
    ("maidens", Record("won", most=0)),
    ("maidens at closing", Record("won", most=0, at="closing")),
    ("maidens at starting", Record("won", most=0)),
    ("which have not won a race", Record("won", most=0)),
    ("which have never won", Record("won", most=0)),
    ("which have not won two races", Record("won", most=1)),
    ("which have not won more than two races", Record("won", most=2)),
    ("which have won no more than two races", Record("won", most=2)),
    ("which have won at least one race", Record("won", least=1)),
    ("which have won only one race", Record("won", least=1, most=1)),
    ("have run at least twice", Record("ran", least=2)),
    ("which have not run more than three times", Record("ran", most=3)),
    ("which have run no more than once", Record("ran", most=1)),
    ("which have never run", Record("ran", most=0)),
    ("which have not run before", Record("ran", most=0)),
    ("which have not won a race of any kind at any time", Record("won", most=0)),
    ("unraced", Record("ran", most=0)),
    ("non-winners of three races", Record("won", most=2)),
    (
        "which have not won a race since June 1",
        Record("won", most=0, kind=RunKind(first=date(2025, 6, 1))),
    ),
    (
        "which have not won a race after August 31st, 2024",
        Record("won", most=0, kind=RunKind(first=date(2024, 9, 1))),
    ),
    (
        "which have not won a Flat race before 1 May 2025",
        Record("won", most=0, kind=RunKind(last=date(2025, 4, 30), codes=frozenset({"flat"}))),
    ),
    (
        "which have not won a race of Class 3 or above",
        Record("won", most=0, kind=RunKind(classes=BEST_TO_3)),
    ),
    (
        "which have not won a Group 1 or Group 2 Pattern race",
        Record("won", most=0, kind=RunKind(classes=frozenset({"group 1", "group 2"}))),
    ),
    (
        "which have never won $10,000 other than maiden, claiming, or starter",
        Record(
            "won",
            most=0,
            kind=RunKind(worth=Money(10000.0, "USD"), without=frozenset({"maiden", "claiming", "starter"})),
        ),
    ),
    (
        "Non-winners of $9,800 once other than maiden or claiming",
        Record("won", most=0, kind=RunKind(worth=Money(9800.0, "USD"), without=frozenset({"maiden", "claiming"}))),
    ),
    (
        "Non-winners of a race at a mile or over since July 1",
        Record("won", most=0, kind=RunKind(first=date(2025, 7, 1), metres=1609.344)),
    ),
    (
        "which have started for a claiming price of $5,000 or less since January 1",
        Record("ran", least=1, kind=RunKind(first=date(2025, 1, 1), claimed_to=Money(5000.0, "USD"))),
    ),
    ("which have not earned more than $20,000", Earned(Money(20000.0, "USD"))),
    (
        "sold at public auction as yearlings for 50,000 gns or less",
        SoldFor(Money(50000.0, "guineas"), frozenset({"yearling"})),
    ),
    ("by sires with a median price of 20,000 guineas or less", SiresPrice(Money(20000.0, "guineas"))),
    ("by sires which won over 1m 2f or further", ParentsStayed(2011.68)),
    ("whose sire or dam won over a distance in excess of 1m 1f", ParentsStayed(1811.512, dam_too=True)),
    ("which are in Bands C and D", InBands(frozenset("CD"))),
    ("which are E.B.F. eligible", InScheme("ebf")),
    ("Irish-bred", BredIn(frozenset({"Ireland"}))),
    ("foaled in Indiana", BredIn(frozenset({"Indiana"}))),
    (
        "Claiming price $25,000; for each $1,000 to $20,000, 1 lb.",
        Claimable(Money(25000.0, "USD"), Money(20000.0, "USD"), Money(1000.0, "USD"), lb(1)),
    ),
    ("Benchmark 64", Benchmark(64.0)),
    ("which have run in at least three races", Record("ran", least=3)),
    ("which have not been placed in the first three", Record("placed", most=0)),
    ("horses which have won a race since June 1 not eligible", Record("won", most=0, kind=SINCE_JUNE)),
    ("horses which have never won not eligible", Record("won", least=1)),
    ("Maiden Plate", Record("won", most=0)),
    ("for horses with a rating of 80 or lower", Rated(None, 80.0)),
    (
        "which have started for a claiming price of $10,000 or less in 2024-2025",
        Record(
            "ran",
            least=1,
            kind=RunKind(date(2024, 1, 1), date(2025, 12, 31), claimed_to=Money(10000.0, "USD")),
        ),
    ),
    ("apprentice riders", RiddenBy("apprentice")),
    (
        "To be ridden by apprentice jockeys who have not ridden more than 50 winners",
        RiddenBy("apprentice", 50),
    ),
]
ON_WEIGHT: list[tuple[str, Value]] = [
    ("Weights: 9st 2lb", Carries(st_lb(9, 2))),
    ("Weight, 122 lbs.", Carries(lb(122))),
    ("4-y-o and up 9st 9lb", Carries(st_lb(9, 9), AgeRange(4))),
    ("weight for age", ForAge()),
    ("the usual sex allowance", ForSex()),
    ("Lowest weight 8st 4lb", LeastWeight(st_lb(8, 4))),
    ("Minimum weight 54kg", LeastWeight(Amount(54.0, "kg"))),
    ("Highest weight 9st 9lb", TopWeight(st_lb(9, 9))),
    ("Highest weight not less than 11st 2lb", TopWeight(st_lb(11, 2), at_least=True)),
    ("Weights raised 3lb", WeightsMoved(lb(3))),
    ("Weights lowered 2lb", WeightsMoved(lb(-2))),
    ("fillies allowed 5lb", Allowed(lb(5), builds=FEMALE)),
    ("Fillies' allowance 3lb", Allowed(lb(3), builds=FEMALE)),
    ("(Mares allowed 3 lbs.)", Allowed(lb(3), builds=FEMALE)),
    ("three-year-olds allowed 7lb", Allowed(lb(7), AgeRange(3, 3))),
    ("maidens allowed 5lb", Allowed(lb(5), record=Record("won", most=0))),
    (
        "horses by sires with a median price of 10,000 gns or less allowed 3lb",
        Allowed(lb(3), sire_price=Money(10000.0, "guineas")),
    ),
    ("for each race won 6lb extra", Penalty(lb(6), Record("won", 1), each=True)),
    ("maximum penalty 10lb", MostPenalty(lb(10))),
    ("allowances are cumulative", AddUp("allowances")),
    ("Apprentices can claim", RidersClaims(may=True)),
    ("No apprentice allowances", RidersClaims(may=False)),
    ("Apprentice allowances may not be claimed", RidersClaims(may=False)),
]
ON_CARD: list[tuple[str, Value]] = [
    ("Enter by noon, July 26th and pay £60 stake", SaidBy(Stage.ENTER, JULY_26, time(12), Money(60.0, "GBP"))),
    ("Entries close at noon on Saturday, July 26th", SaidBy(Stage.ENTER, JULY_26, time(12))),
    ("Declare by 10.00 a.m. July 30th", SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10))),
    ("Scratchings by 5 pm on 31 July", SaidBy(Stage.WITHDRAW, date(2025, 7, 31), time(17))),
    ("£40 stake", Stake(Money(40.0, "GBP"))),
    ("£4187 to the winning horse", Pays(1, Money(4187.0, "GBP"))),
    ("The second to receive £1964", Pays(2, Money(1964.0, "GBP"))),
    ("(3rd £987", Pays(3, Money(987.0, "GBP"))),
    ("Total race value £8,300", Pays(0, Money(8300.0, "GBP"))),
    ("Field Limit: 14 + 4 EM", Room(14, 4)),
    ("about SIX FURLONGS (6f abt 6yds)", Over(1207.008, about=True)),
    ("one mile and two furlongs", Over(2011.68)),
    ("An extended handicap for", IsHandicap()),
]
