"""More wordings on weights, times, fees and the race itself, with the rules that each means.

Ordinary idioms of British, Irish and American conditions; sentences, names and figures are our own.
"""

from datetime import date, time
from typing import Final

from race_wordings import FEMALE, MALE, lb, st_lb
from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.card import (
    Fee,
    IsHandicap,
    Noted,
    NotPublished,
    OfClass,
    OfKind,
    OutFirst,
    Over,
    Pays,
    Room,
    SaidBy,
    WeightsOut,
)
from upsides.placing.conditions.reading import Value
from upsides.placing.conditions.weights import (
    AddUp,
    Allowed,
    Carries,
    ForAge,
    LeastWeight,
    MostPenalty,
    Penalty,
    RidersClaims,
    TopWeight,
    WeightsMoved,
)
from upsides.placing.conditions.who import Ages, Claimable, Rated, Record, RiddenBy, SiresPrice, SoldFor
from upsides.placing.kinds import RunKind
from upsides.placing.race import Stage
from upsides.trade.age import AgeRange

GROUPS = frozenset({"group 1", "group 2", "group 3"})
ON_THE_REST: Final[list[tuple[str, tuple[Value, ...]]]] = [
    (
        "Weights: 60 kg; 1 kg less for fillies; 2 kg less for 3yo",
        (
            Carries(Amount(60.0, "kg")),
            Allowed(Amount(1.0, "kg"), builds=FEMALE),
            Allowed(Amount(2.0, "kg"), AgeRange(3, 3)),
        ),
    ),
    ("Confirm entries by 12.00 noon, Monday, 28 July", (SaidBy(Stage.CONFIRM, date(2025, 7, 28), time(12)),)),
    ("Declare by 10:00 on the day before the race", (SaidBy(Stage.DECLARE, date(2025, 7, 31), time(10)),)),
    ("(51-65) Handicap 4yo+", (Rated(51.0, 65.0), IsHandicap(), Ages(AgeRange(4)))),
    ("A Class 4 conditions race", (OfClass("4"), Noted("kind"))),
    ("(Class 4) (0-85, 3yo+)", (OfClass("4"), Rated(high=85.0), Ages(AgeRange(3)))),
    ("Class 4 (0-85) for three-year-olds and upwards", (OfClass("4"), Rated(high=85.0), Ages(AgeRange(3)))),
    ("(CLASS 5) (0-70) (3yo only)", (OfClass("5"), Rated(high=70.0), Ages(AgeRange(3, 3)))),
    (
        "A Novice Stakes for two-year-olds which have not won more than twice",
        (OfKind(frozenset({"novice"})), Ages(AgeRange(2, 2)), Record("won", most=2)),
    ),
    (
        "a winner of a race worth 6000 euros to the winner 4lb",
        (Penalty(lb(4), Record("won", 1, kind=RunKind(worth=Money(6000.0, "EUR")))),),
    ),
    (
        "Penalties: a winner of a race worth 6000 euros 4lb",
        (Penalty(lb(4), Record("won", 1, kind=RunKind(worth=Money(6000.0, "EUR")))),),
    ),
    ("Penalties: for a win since 14 June, 5lb", (Penalty(lb(5), Record("won", 1, kind=RunKind(date(2025, 6, 14)))),)),
    (
        "Penalties: each race won after 26 July 6lb",
        (Penalty(lb(6), Record("won", 1, kind=RunKind(date(2025, 7, 27))), each=True),),
    ),
    ("Penalties: a winner 7lb; two wins 10lb", (Penalty(lb(7), Record("won", 1)), Penalty(lb(10), Record("won", 2)))),
    (
        "Penalties: a winner once 5lb, twice or more 8lb",
        (Penalty(lb(5), Record("won", 1)), Penalty(lb(8), Record("won", 2))),
    ),
    (
        "Penalties, after May 31st 2025, a winner of a Group 3 race 3lb; of a Group 2 race 5lb; of a Group 1 race 7lb",
        (
            Penalty(lb(3), Record("won", 1, kind=RunKind(date(2025, 6, 1), classes=frozenset({"group 3"})))),
            Penalty(lb(5), Record("won", 1, kind=RunKind(date(2025, 6, 1), classes=frozenset({"group 2"})))),
            Penalty(lb(7), Record("won", 1, kind=RunKind(date(2025, 6, 1), classes=frozenset({"group 1"})))),
        ),
    ),
    (
        "a winner of a Listed race since 1 May to carry 3lb more",
        (Penalty(lb(3), Record("won", 1, kind=RunKind(date(2025, 5, 1), classes=frozenset({"listed"})))),),
    ),
    (
        "winners of a Class 2 race or better 4lb extra",
        (
            Penalty(
                lb(4),
                Record(
                    "won", 1, kind=RunKind(classes=frozenset({"1", "2", "group 1", "group 2", "group 3", "listed"}))
                ),
            ),
        ),
    ),
    (
        "a horse that has won a Group race in the current year 4lb extra",
        (Penalty(lb(4), Record("won", 1, kind=RunKind(date(2025, 1, 1), classes=GROUPS))),),
    ),
    ("winners after 26 July 6 lb extra", (Penalty(lb(6), Record("won", 1, kind=RunKind(date(2025, 7, 27)))),)),
    ("no penalty to exceed 10lb", (MostPenalty(lb(10)),)),
    ("Total penalties not to exceed 12lb", (MostPenalty(lb(12)),)),
    ("Allowances: fillies 5lb", (Allowed(lb(5), builds=FEMALE),)),
    ("Allowances: horses that have never won 4lb", (Allowed(lb(4), record=Record("won", most=0)),)),
    (
        "Allowances: maidens 3lb; maidens that have not been placed 6lb",
        (Allowed(lb(3), record=Record("won", most=0)), Allowed(lb(6), record=Record("placed", most=0))),
    ),
    ("three-year-old fillies allowed 3lb", (Allowed(lb(3), AgeRange(3, 3), FEMALE),)),
    (
        "colts and geldings 9st 5lb; fillies 9st",
        (Carries(st_lb(9, 5), builds=MALE), Carries(st_lb(9, 0), builds=FEMALE)),
    ),
    (
        "Weights: three-year-olds 8st 12lb; older horses 9st 7lb",
        (Carries(st_lb(8, 12), AgeRange(3, 3)), Carries(st_lb(9, 7), AgeRange(4))),
    ),
    ("Weights: 3yo 8-13; 4yo+ 9-9", (Carries(st_lb(8, 13), AgeRange(3, 3)), Carries(st_lb(9, 9), AgeRange(4)))),
    ("Each horse to carry 9st 2lb", (Carries(st_lb(9, 2)),)),
    ("all to carry 126lb", (Carries(st_lb(9, 0)),)),
    (
        "three-year-olds to carry 57 kg, older 60 kg",
        (Carries(Amount(57.0, "kg"), AgeRange(3, 3)), Carries(Amount(60.0, "kg"), AgeRange(4))),
    ),
    ("fillies and mares allowed 1.5 kg", (Allowed(Amount(1.5, "kg"), builds=FEMALE),)),
    ("Fillies 2kg less", (Allowed(Amount(2.0, "kg"), builds=FEMALE),)),
    ("Weight for age with penalties and allowances", (ForAge(),)),
    ("w-f-a", (ForAge(),)),
    ("scale weight for age applies", (ForAge(),)),
    ("sex allowance 3lb", (Allowed(lb(3), builds=FEMALE),)),
    ("with a fillies' allowance of 3lb", (Allowed(lb(3), builds=FEMALE),)),
    ("Top weight 9st 12lb", (TopWeight(st_lb(9, 12)),)),
    ("Highest weight to be not less than 10st", (TopWeight(st_lb(10, 0), at_least=True),)),
    ("Minimum weight 8st 2lb", (LeastWeight(st_lb(8, 2)),)),
    ("lowest weight carried 8st", (LeastWeight(st_lb(8, 0)),)),
    ("the bottom weight is 8st 4lb", (LeastWeight(st_lb(8, 4)),)),
    ("Weights to be raised 5lb", (WeightsMoved(lb(5)),)),
    ("all weights raised by 4lb", (WeightsMoved(lb(4)),)),
    (
        "If the highest weight at declaration is less than 9st 11lb, the weights will be raised",
        (TopWeight(st_lb(9, 11), at_least=True),),
    ),
    ("The weights will be raised so that the top weight is 9st 12lb", (TopWeight(st_lb(9, 12), at_least=True),)),
    ("Weights may be raised at the overnight stage", (Noted("weights may rise"),)),
    ("Apprentice riders' allowances cannot be claimed", (RidersClaims(may=False),)),
    ("riders' allowances may be claimed", (RidersClaims(may=True),)),
    ("apprentices claim their usual allowances", (RidersClaims(may=True),)),
    ("No riders' claims allowed", (RidersClaims(may=False),)),
    ("Apprentice allowance claimable", (RidersClaims(may=True),)),
    ("Ballot order: lowest rated first", (OutFirst("mark"),)),
    ("in the event of the race being oversubscribed, elimination by lowest weight", (OutFirst("weight"),)),
    ("Horses will be eliminated in order of rating, lowest first", (OutFirst("mark"),)),
    ("The race may be divided", (Noted("divided"),)),
    ("This race will be divided if more than 20 are declared", (Noted("divided"),)),
    ("This race will not be divided", (Noted("divided"),)),
    ("The race may be divided into two divisions", (Noted("divided"),)),
    ("if the declarations exceed 16 the race will be divided", (Noted("divided"),)),
    ("maximum 14 runners", (Room(14),)),
    ("Maximum number of runners 16", (Room(16),)),
    ("safety factor 14", (Room(14),)),
    ("field limited to 12 runners", (Room(12),)),
    ("limited to 12 starters", (Room(12),)),
    ("Reserves: two", (Noted("reserves"),)),
    ("with up to two reserves", (Noted("reserves"),)),
    ("A safety allowance of 4lb is not included in the weights", (NotPublished(lb(4)),)),
    ("published weights do not include the safety allowance of 4lb", (NotPublished(lb(4)),)),
    ("the weights shown include a safety allowance of 3lb", (NotPublished(lb(0)),)),
    ("Entries close Tuesday 22 July at noon", (SaidBy(Stage.ENTER, date(2025, 7, 22), time(12)),)),
    ("Entries close 12 noon 22 July; fee £50", (SaidBy(Stage.ENTER, date(2025, 7, 22), time(12), Money(50.0, "GBP")),)),
    (
        "Enter by noon on Thursday 24 July at a fee of £60",
        (SaidBy(Stage.ENTER, date(2025, 7, 24), time(12), Money(60.0, "GBP")),),
    ),
    ("Entry fee £75", (Fee(Stage.ENTER, Money(75.0, "GBP")),)),
    ("£75 to enter, £150 to confirm", (Fee(Stage.ENTER, Money(75.0, "GBP")), Fee(Stage.CONFIRM, Money(150.0, "GBP")))),
    (
        "Confirm by noon on Saturday 26 July and pay £100 extra",
        (SaidBy(Stage.CONFIRM, date(2025, 7, 26), time(12), Money(100.0, "GBP")),),
    ),
    ("£120 extra if confirmed", (Fee(Stage.CONFIRM, Money(120.0, "GBP")),)),
    (
        "Supplementary entry by noon 28 July: £5,000",
        (SaidBy(Stage.SUPPLEMENT, date(2025, 7, 28), time(12), Money(5000.0, "GBP")),),
    ),
    (
        "Supplementary entries close at noon on Monday 28 July at £2,000",
        (SaidBy(Stage.SUPPLEMENT, date(2025, 7, 28), time(12), Money(2000.0, "GBP")),),
    ),
    ("Declare by 10am on Wednesday 30 July", (SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10)),)),
    ("Declarations at 10.00am two days before the race", (SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10)),)),
    ("Declaration stage 10 a.m. 30 July", (SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10)),)),
    ("entry at noon 6 days before the race", (SaidBy(Stage.ENTER, date(2025, 7, 26), time(12)),)),
    ("Confirmation noon five days before", (SaidBy(Stage.CONFIRM, date(2025, 7, 27), time(12)),)),
    ("a Handicap for horses rated 46-60", (IsHandicap(), Rated(46.0, 60.0))),
    ("a nursery for two-year-olds", (IsHandicap(), Ages(AgeRange(2, 2)))),
    ("an apprentice handicap", (IsHandicap(), OfKind(frozenset({"apprentice"})), RiddenBy("apprentice"))),
    ("a selling stakes for two-year-olds", (OfKind(frozenset({"selling"})), Ages(AgeRange(2, 2)))),
    ("the winner to be sold by auction", (Noted("winner sold"),)),
    ("The winner will be offered for sale immediately after the race", (Noted("winner sold"),)),
    ("claiming price £10,000, each runner may be claimed", (Claimable(Money(10000.0, "GBP")), Noted("claimed"))),
    ("for all ages", (Noted("all ages"),)),
    ("distance 1m 2f", (Over(2011.68),)),
    ("over 7 furlongs", (Over(1408.176),)),
    ("run over 1400 metres", (Over(1400.0),)),
    ("on the straight course", (Noted("course"),)),
    ("run on the inner track", (Noted("course"),)),
    ("prize money £10,000 guaranteed", (Pays(0, Money(10000.0, "GBP")),)),
    (
        "First £6,000, second £3,000, third £1,500, fourth £750",
        (
            Pays(1, Money(6000.0, "GBP")),
            Pays(2, Money(3000.0, "GBP")),
            Pays(3, Money(1500.0, "GBP")),
            Pays(4, Money(750.0, "GBP")),
        ),
    ),
    ("£20,000 added", (Noted("added money"),)),
    ("with £15,000 added to stakes", (Noted("added money"),)),
    ("prizes to the first six", (Noted("prizes"),)),
    ("Draw: stalls on the inside", (Noted("course"),)),
    ("Flag start", (Noted("course"),)),
    ("weights published on 29 July", (WeightsOut(date(2025, 7, 29)),)),
    ("The Bracken Handicap (Class 3) (3yo+ 0-95)", (IsHandicap(), OfClass("3"), Ages(AgeRange(3)), Rated(high=95.0))),
    (
        "HANDICAP (0-80) for three yrs old and upwards, rated 66-80",
        (IsHandicap(), Rated(high=80.0), Ages(AgeRange(3)), Rated(66.0, 80.0)),
    ),
    ("Class 6 (3yo+, 46-58)", (OfClass("6"), Ages(AgeRange(3)), Rated(46.0, 58.0))),
    ("(Class 5) (2yo)", (OfClass("5"), Ages(AgeRange(2, 2)))),
    ("Class 2 Heritage Handicap for three-year-olds and upward", (OfClass("2"), IsHandicap(), Ages(AgeRange(3)))),
    (
        "Novice Auction Stakes for two-year-olds sold as yearlings for 40,000 guineas or less",
        (
            OfKind(frozenset({"auction", "novice"})),
            Ages(AgeRange(2, 2)),
            SoldFor(Money(40000.0, "guineas"), frozenset({"yearling"})),
        ),
    ),
    (
        "Median Auction Maiden Stakes for two-year-olds by sires whose median price was 16,000 guineas or less",
        (
            Record("won", most=0),
            OfKind(frozenset({"auction"})),
            Ages(AgeRange(2, 2)),
            SiresPrice(Money(16000.0, "guineas")),
        ),
    ),
    ("Conditions Stakes for three-year-olds only", (Noted("kind"), Ages(AgeRange(3, 3)))),
    (
        "a conditions race for four-year-olds and upwards which have won a race worth £10,000 or more",
        (Noted("kind"), Ages(AgeRange(4)), Record("won", 1, kind=RunKind(worth=Money(10000.0, "GBP")))),
    ),
    (
        "Restricted Maiden for horses whose price at a yearling sale did not exceed 35,000 euros",
        (
            Record("won", most=0),
            OfKind(frozenset({"restricted"})),
            SoldFor(Money(35000.0, "EUR"), frozenset({"yearling"})),
        ),
    ),
    ("Apprentices may claim their allowances", (RidersClaims(may=True),)),
    ("No claims allowed", (RidersClaims(may=False),)),
    ("Riders' allowances not permitted", (RidersClaims(may=False),)),
    ("weights: 2yo 9st; fillies allowed 5lb", (Carries(st_lb(9, 0), AgeRange(2, 2)), Allowed(lb(5), builds=FEMALE))),
    (
        "Weights: colts and geldings 9st 5lb, fillies 9st. Penalties: a winner 6lb, of two races 10lb",
        (
            Carries(st_lb(9, 5), builds=MALE),
            Carries(st_lb(9, 0), builds=FEMALE),
            Penalty(lb(6), Record("won", 1)),
            Penalty(lb(10), Record("won", 2)),
        ),
    ),
    (
        "Weights: 3yo 9st 2lb, 4yo and up 9st 10lb; fillies and mares allowed 3lb; penalties: winners of a Listed race "
        "since 1st September 2024 3lb, of a Group race 5lb",
        (
            Carries(st_lb(9, 2), AgeRange(3, 3)),
            Carries(st_lb(9, 10), AgeRange(4)),
            Allowed(lb(3), builds=FEMALE),
            Penalty(lb(3), Record("won", 1, kind=RunKind(date(2024, 9, 1), classes=frozenset({"listed"})))),
            Penalty(lb(5), Record("won", 1, kind=RunKind(classes=GROUPS))),
        ),
    ),
    (
        "Weights: 3-y-o 8st 11lb; older 9st 6lb",
        (Carries(st_lb(8, 11), AgeRange(3, 3)), Carries(st_lb(9, 6), AgeRange(4))),
    ),
    (
        "Three-year-olds 8st 13lb; four-year-olds and upwards 9st 8lb",
        (Carries(st_lb(8, 13), AgeRange(3, 3)), Carries(st_lb(9, 8), AgeRange(4))),
    ),
    (
        "4yo 58 kg; fillies and mares 1.5 kg allowance",
        (Carries(Amount(58.0, "kg"), AgeRange(4, 4)), Allowed(Amount(1.5, "kg"), builds=FEMALE)),
    ),
    (
        "Colts and geldings, 126 lb; fillies, 123 lb",
        (Carries(st_lb(9, 0), builds=MALE), Carries(st_lb(8, 11), builds=FEMALE)),
    ),
    ("Base weight 57 kg", (Carries(Amount(57.0, "kg")),)),
    (
        "three-year-old base weight 56kg, fillies receive 1.5kg",
        (Carries(Amount(56.0, "kg"), AgeRange(3, 3)), Allowed(Amount(1.5, "kg"), builds=FEMALE)),
    ),
    ("Maximum weight 61 kg", (TopWeight(Amount(61.0, "kg")),)),
    ("Top weight 60kg, minimum weight 52kg", (TopWeight(Amount(60.0, "kg")), LeastWeight(Amount(52.0, "kg")))),
    ("lightest weight 8st", (LeastWeight(st_lb(8, 0)),)),
    ("No horse to carry less than 8st 4lb", (LeastWeight(st_lb(8, 4)),)),
    (
        "Weights will be raised at declaration if the top weight is below 9st 10lb",
        (TopWeight(st_lb(9, 10), at_least=True),),
    ),
    ("Winners after 22 July, a penalty of 5lb", (Penalty(lb(5), Record("won", 1, kind=RunKind(date(2025, 7, 23)))),)),
    ("Penalties (cumulative): a race won 4lb", (AddUp("penalties"), Penalty(lb(4), Record("won", 1)))),
    (
        "a horse winning after 20 July to carry 6lb extra",
        (Penalty(lb(6), Record("won", 1, kind=RunKind(date(2025, 7, 21)))),),
    ),
    (
        "horses having won a Class 2 race in 2025 penalised 3lb",
        (Penalty(lb(3), Record("won", 1, kind=RunKind(date(2025, 1, 1), date(2025, 12, 31), frozenset({"2"})))),),
    ),
    (
        "horses that have won in the last 30 days carry a 4lb penalty",
        (Penalty(lb(4), Record("won", 1, kind=RunKind(date(2025, 7, 2)))),),
    ),
    (
        "Allowances: horses which have not won since 1 January 3lb; since 1 January 2024 5lb",
        (
            Allowed(lb(3), record=Record("won", most=0, kind=RunKind(date(2025, 1, 1)))),
            Allowed(lb(5), record=Record("won", most=0, kind=RunKind(date(2024, 1, 1)))),
        ),
    ),
    (
        "horses which have not won a race in 2025 allowed 3lb",
        (Allowed(lb(3), record=Record("won", most=0, kind=RunKind(date(2025, 1, 1), date(2025, 12, 31)))),),
    ),
    ("Allowance for maidens 4lb", (Allowed(lb(4), record=Record("won", most=0)),)),
    ("Maidens allowed 2kg", (Allowed(Amount(2.0, "kg"), record=Record("won", most=0)),)),
    (
        "Entries close at noon on 25th July. Entry fee £40. Declarations by 10 a.m. on 30th July",
        (
            SaidBy(Stage.ENTER, date(2025, 7, 25), time(12)),
            Fee(Stage.ENTER, Money(40.0, "GBP")),
            SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10)),
        ),
    ),
    ("Closing: noon, Friday 25 July", (SaidBy(Stage.ENTER, date(2025, 7, 25), time(12)),)),
    ("Closes noon 25 July", (SaidBy(Stage.ENTER, date(2025, 7, 25), time(12)),)),
    ("Close of entries: 25 July, 12.00", (SaidBy(Stage.ENTER, date(2025, 7, 25), time(12)),)),
    ("Entries: 25 July 12:00", (SaidBy(Stage.ENTER, date(2025, 7, 25), time(12)),)),
    ("Declarations: 30 July 10:00", (SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10)),)),
    ("Declare to run by 10am 30th July", (SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10)),)),
    ("Confirmations 28 July noon (£25)", (SaidBy(Stage.CONFIRM, date(2025, 7, 28), time(12), Money(25.0, "GBP")),)),
    (
        "entered by 22 July at 12 noon and confirmed by 28 July at noon",
        (SaidBy(Stage.ENTER, date(2025, 7, 22), time(12)), SaidBy(Stage.CONFIRM, date(2025, 7, 28), time(12))),
    ),
    (
        "Fees: £30 to enter, £30 to declare",
        (Noted("fees"), Fee(Stage.ENTER, Money(30.0, "GBP")), Fee(Stage.DECLARE, Money(30.0, "GBP"))),
    ),
    ("£500 supplementary fee", (Fee(Stage.SUPPLEMENT, Money(500.0, "GBP")),)),
    ("Maximum runners: 16", (Room(16),)),
    ("No more than 14 runners", (Room(14),)),
    ("Field limit 16 with 2 reserves", (Room(16, 2),)),
    ("Safety limit: 20", (Room(20),)),
    ("Balloting: lowest weights eliminated first", (OutFirst("weight"),)),
    ("The lowest weighted horses will be eliminated", (OutFirst("weight"),)),
    ("If more than 16 are declared, the lowest weighted will be eliminated", (OutFirst("weight"),)),
    ("Elimination by ballot", (OutFirst("ballot"),)),
    ("This race may be divided or reopened", (Noted("divided"),)),
    ("This race will be reopened if fewer than six entries are received", (Noted("divided"),)),
    ("the race will be void if fewer than four run", (Noted("divided"),)),
    ("No maximum age", (Noted("all ages"),)),
    (
        "Value £12,000: first £6,480, second £2,700",
        (Pays(0, Money(12000.0, "GBP")), Pays(1, Money(6480.0, "GBP")), Pays(2, Money(2700.0, "GBP"))),
    ),
    (
        "Total prize fund €15,000 (1st €9,000, 2nd €3,000)",
        (Pays(0, Money(15000.0, "EUR")), Pays(1, Money(9000.0, "EUR")), Pays(2, Money(3000.0, "EUR"))),
    ),
    ("Guaranteed prize money £10,000", (Pays(0, Money(10000.0, "GBP")),)),
    ("Winner £4,000", (Pays(1, Money(4000.0, "GBP")),)),
    ("Run over 1m 2f on turf", (Over(2011.68), Noted("surface"))),
    ("Six furlongs", (Over(1207.008),)),
    ("Distance: about one mile and a half", (Over(2414.016, about=True),)),
    ("The winner must be sold", (Noted("winner sold"),)),
]
