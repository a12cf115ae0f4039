"""What a horse would carry, against published examples and rules.

RC numbers are those of the collected check values: RC05 to RC09 and RC12 the handicap examples of the British and Hong
Kong authorities, RC13 to RC22 the European and Japanese scales, RC25 and RC26 the North American scale of 1953, RC27
the Australian point of 2014.
"""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planned_races import a_horse, a_race, a_run
from upsides.errors import WeightUnknownError
from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.who import Terms
from upsides.placing.horse import Mark, Parents
from upsides.placing.race import Prize, Race
from upsides.placing.weighing import Rider, weigh
from upsides.rules import override

HANDICAP = frozenset({"handicap"})


def st_lb(stones: int, pounds: int = 0) -> int:
    return 14 * stones + pounds


def handicap(wording: str = "rated 66-80; highest weight 9st 7lb", **more: object) -> Race:
    """Return the handicap of the British authority's example: band 66 to 80 under a top weight of 9st 7lb."""
    return a_race(wording, kinds=HANDICAP, race_class="4", **more)


@pytest.mark.parametrize(
    ("mark", "pounds", "out"),
    [
        (80, st_lb(9, 7), 0),
        (70, st_lb(8, 11), 0),
        (66, st_lb(8, 7), 0),
        (65, st_lb(8, 7), 1),
        (82, st_lb(9, 9), 0),
    ],
)
def test_the_published_handicap(mark: int, pounds: int, out: int) -> None:
    """RC05 to RC09: marks in, below and above the band carry what the authority's example says (BHA, which races a
    rating allows, undated)."""
    carried = weigh(a_horse(4, mark=mark), handicap())
    assert (carried.published, carried.out_of_handicap) == (pounds, out)
    assert carried.long == st_lb(9, 7) - (80 - mark)


@pytest.mark.parametrize(("mark", "pounds"), [(60, 135), (50, 125), (40, 115), (30, 115)])
def test_hong_kong_handicaps_run_from_135_to_115(mark: int, pounds: int) -> None:
    """RC12: the highest weight is 135 lb and the lowest 115, in class 4 with its ceiling of 60 (Hong Kong Jockey Club,
    Handicapping Policy)."""
    race = a_race(jurisdiction="HK", kinds=HANDICAP, band=(None, 60.0), distance_m=1200)
    assert weigh(a_horse(4, mark=mark), race).published == pounds


def test_two_year_olds_receive_5_lb_in_hong_kong_handicaps() -> None:
    """A two-year-old carries 5 lb less than an older horse of the same mark (Handicapping Policy)."""
    race = a_race(jurisdiction="HK", kinds=HANDICAP, band=(None, 60.0), distance_m=1200)
    older, younger = (weigh(a_horse(age, mark=55), race).published for age in (3, 2))
    assert older - younger == 5


def test_weights_are_raised_until_the_highest_carries_the_top_weight() -> None:
    """Where the highest runner is rated 77, the weights go up 3 lb."""
    low, high = (weigh(a_horse(4, mark=mark), handicap(), highest=77) for mark in (67, 77))
    assert high.published == st_lb(9, 7)
    assert high.published - low.published == 10


def test_a_handicap_without_a_band_counts_from_its_highest_runner() -> None:
    """Nothing is guessed without the highest mark; with it the top weight is its own."""
    race = handicap("highest weight 10st; lowest weight 8st 2lb")
    with pytest.raises(WeightUnknownError, match="highest mark"):
        weigh(a_horse(4, mark=90), race)
    assert weigh(a_horse(4, mark=90), race, highest=104).published == st_lb(9)
    assert weigh(a_horse(4, mark=70), race, highest=104).out_of_handicap == st_lb(8, 2) - (st_lb(10) - 34)


def test_a_race_without_a_surface_has_no_weight_where_the_marks_differ() -> None:
    """Where no surface is stated and the marks differ, it says so instead of that the horse has no mark."""
    marks = (Mark(75, date(2025, 1, 1), "turf"), Mark(68, date(2025, 1, 1), "all-weather"))
    race = a_race("rated 66-80; highest weight 9st 7lb", kinds=frozenset({"handicap"}))
    with pytest.raises(WeightUnknownError, match="surface is not stated, and its mark is 75 on turf and 68 on all"):
        weigh(a_horse(4, marks=marks), race)
    same = tuple(replace(one, value=75) for one in marks)
    assert weigh(a_horse(4, marks=same), race).published == weigh(a_horse(4, mark=75), race).published


def test_a_younger_horse_carries_less_than_an_older_one_of_the_same_mark() -> None:
    """RC13: at 10 furlongs in early July 2023 the European scale gives a three-year-old 10 lb, in a handicap too."""
    race = handicap("3yo+; rated 66-80; highest weight 9st 7lb; lowest weight 7st", day=date(2023, 7, 5))
    older, younger = (
        weigh(
            replace(a_horse(age, mark=None), foaled=date(2023 - age, 3, 1), marks=(Mark(75, date(2023, 1, 1)),)), race
        )
        for age in (4, 3)
    )
    assert older.published - younger.published == 10
    only = replace(race, wording="3yo only; rated 66-80; highest weight 9st 7lb")
    same = replace(a_horse(3), foaled=date(2020, 3, 1), marks=(Mark(75, date(2023, 1, 1)),))
    assert weigh(same, only).published == older.published


def test_the_weights_of_an_early_july_group_1() -> None:
    """RC14: 9st 9lb less 8st 13lb are the 10 lb of the scale: the older weight and the scale give the younger one.

    The conditions state either; fillies receive 3 lb (conditions of the race in 2023, encyclopaedia article).
    """
    day = date(2023, 7, 8)
    stated = a_race("3yo+. Weights: 3-y-o 8st 13lb; 4-y-o and up 9st 9lb; fillies allowed 3lb", day=day)
    by_scale = a_race("3yo+. Weights: 9st 9lb; weight for age", day=day, race_class="group 1")
    for race in (stated, by_scale):
        weights = {}
        for age, sex in ((3, "colt"), (4, "colt"), (3, "filly")):
            horse = replace(a_horse(age, sex), foaled=date(2023 - age, 3, 1))
            weights[age, sex] = weigh(horse, race).published
        assert weights == {
            (3, "colt"): st_lb(8, 13),
            (4, "colt"): st_lb(9, 9),
            (3, "filly"): st_lb(8, 10),
        }
    found = weigh(replace(a_horse(3), foaled=date(2020, 3, 1)), by_scale)
    assert found.grade == "high"


def test_a_weight_that_rests_on_memory_says_so() -> None:
    """At 11 furlongs in May the European scale is known from memory alone, and the weight's grade says it."""
    race = a_race("3yo+. Weights: 9st 9lb; weight for age", day=date(2018, 5, 5), distance_m=2212.848)
    horse = replace(a_horse(3), foaled=date(2015, 3, 1))
    assert weigh(horse, race).grade == "memory"


@pytest.mark.parametrize(
    ("day", "race_class", "kilograms"),
    [(date(2005, 10, 2), "open", 3), (date(2005, 7, 3), "open", 4), (date(2005, 7, 3), "below open", 3)],
)
def test_japanese_allowances(day: date, race_class: str, kilograms: float) -> None:
    """RC22, RC23: over 2400 m a three-year-old receives 3 kg in October and 4 in July, 3 below open class (JRA, general
    notes of 2005, as transcribed)."""
    race = a_race(
        "3yo+. Weights: 57 kg; weight for age", jurisdiction="JP", day=day, distance_m=2400, race_class=race_class
    )
    horse = replace(a_horse(3), foaled=date(2002, 3, 1))
    assert weigh(horse, race).published == 57 - kilograms
    mare = replace(a_horse(6, "mare"), foaled=date(1999, 3, 1))
    with_sex = replace(race, wording="3yo+. Weights: 57 kg; weight for age; sex allowance")
    assert weigh(mare, with_sex).published == 55


def test_a_horse_bred_in_the_other_hemisphere_receives_more_in_japan() -> None:
    """At a mile in July 2005 a southern-bred three-year-old receives 2 kg besides (JRA, as above)."""
    race = a_race("3yo+. 57 kg each; weight for age", jurisdiction="JP", day=date(2005, 7, 3), distance_m=1600)
    horse = replace(a_horse(3), foaled=date(2002, 3, 1))
    north, south = (weigh(replace(horse, bred_south=south), race).published for south in (False, True))
    assert north - south == 2


@pytest.mark.parametrize(("age", "furlongs", "month", "pounds"), [(3, 7, 6, 120), (3, 6, 6, 120), (2, 8, 10, 97)])
def test_the_north_american_scale_is_the_weight_itself(age: int, furlongs: int, month: int, pounds: int) -> None:
    """RC25, RC26: seven furlongs take the six-furlong weight; a two-year-old carries 97 lb over a mile in October 1953
    (University of Kentucky Libraries, digitised racing newspaper, 20 May 1953)."""
    race = a_race("weight for age", jurisdiction="US", day=date(1953, month, 10), distance_m=furlongs * 201.168)
    horse = replace(a_horse(age), foaled=date(1953 - age, 3, 1))
    assert weigh(horse, race).published == pounds
    filly = replace(a_horse(age, "filly"), foaled=date(1953 - age, 3, 1))
    assert weigh(filly, race).published == pounds - (3 if age == 2 or month > 8 else 5)


@pytest.mark.parametrize(
    ("age", "sex", "kilograms"), [(2, "colt", 46.0), (3, "colt", 55.5), (3, "filly", 53.5), (4, "colt", 58.5)]
)
def test_australian_points_hold_their_sex_allowance(age: int, sex: str, kilograms: float) -> None:
    """RC27: the weights over 1000 m in February, the filly's 2 kg not taken off twice (Racing Victoria, 2014)."""
    race = a_race("weight for age", jurisdiction="AU", day=date(2014, 2, 15), distance_m=1000)
    horse = replace(a_horse(age, sex), foaled=date(2013 - age, 9, 1))
    assert weigh(horse, race).published == kilograms


def test_nothing_is_guessed_between_published_points() -> None:
    """Over 1100 m no Australian weight is published: the weight is refused, with what to do."""
    race = a_race("weight for age", jurisdiction="AU", day=date(2014, 2, 15), distance_m=1100)
    with pytest.raises(WeightUnknownError, match="conditions"):
        weigh(replace(a_horse(3), foaled=date(2010, 9, 1)), race)


def test_races_for_one_age_carry_their_own_weight() -> None:
    """126 lb where a race is for three-year-olds only, 122 for two-year-olds only, and fillies 5 and 3 lb less before
    September (Connecticut Agencies Regulations 12-574-A48)."""
    for age, pounds, off in ((3, 126, 5), (2, 122, 3)):
        race = a_race(f"{age}yo only", jurisdiction="US-CT", distance_m=1200)
        assert weigh(a_horse(age), race).published == pounds
        assert weigh(a_horse(age, "filly"), race).published == pounds - off
        for_fillies = replace(race, wording=f"{age}yo only, fillies")
        assert weigh(a_horse(age, "filly"), for_fillies).published == pounds


def test_penalties_and_allowances_of_the_wording() -> None:
    """The greatest penalty counts, not their sum, and the filly's allowance comes off it."""
    race = a_race(
        "Weights: 9st 2lb; fillies allowed 5lb; penalties: after 1 June, a winner 5lb; of 2 races 8lb; "
        "of a Class 3 or of prize value 10,000: 7lb",
        prize=Prize("GBP", 9000.0),
    )
    won, better = a_run("2025-06-10"), a_run("2025-06-20", race_class="3")
    cases = {
        (): st_lb(9, 2),
        (a_run("2025-06-01"),): st_lb(9, 2),
        (won,): st_lb(9, 7),
        (better,): st_lb(9, 9),
        (won, better): st_lb(9, 10),
        (a_run("2025-06-10", worth=Money(10_000.0, "GBP")),): st_lb(9, 9),
        (a_run("2025-06-10", 2),): st_lb(9, 2),
    }
    for runs, pounds in cases.items():
        assert weigh(a_horse(runs=runs), race).published == pounds
        assert weigh(a_horse(3, "filly", runs=runs), race).published == pounds - 5


def test_a_penalty_for_each_win_and_the_most_it_may_come_to() -> None:
    """Two wins at 6 lb each are 12 lb, or 10 where penalties may not come to more."""
    race = handicap("rated 66-80; highest weight 9st 7lb; penalties, after June 8th, 2025, for each race won 6lb")
    runs = (a_run("2025-06-09"), a_run("2025-06-20"))
    assert weigh(a_horse(4, mark=70, runs=runs), race).published == st_lb(8, 11) + 12
    capped = replace(race, wording=race.wording + "; maximum penalty 10lb")
    assert weigh(a_horse(4, mark=70, runs=runs), capped).published == st_lb(8, 11) + 10


def test_an_unsure_penalty_is_told_and_not_counted() -> None:
    """A win of unknown worth may earn 7 lb: the weight without it is given, the line that may come on top beside it."""
    race = a_race("Weights: 9st 2lb; penalties, a winner of a race worth £10,000 7lb")
    carried = weigh(a_horse(runs=(a_run("2025-06-10", worth=None),)), race)
    assert carried.published == st_lb(9, 2)
    assert [line.value for line in carried.unsure] == [7]
    assert not carried.settled


def test_words_on_weight_that_were_not_read_leave_it_open() -> None:
    """A weight is given but not settled where words beside its lines, or words on weight anywhere, were not read."""
    for wording, settled in (
        ("Weights: 9st 2lb. Members of the hunt.", True),
        ("Weights: 9st 2lb unless the steward says otherwise", False),
        ("Weights: 9st 2lb. Ponies 5lb below the scale.", False),
    ):
        carried = weigh(a_horse(), a_race(wording))
        assert (carried.published, carried.settled) == (st_lb(9, 2), settled), wording


def test_allowances_for_a_record_count_once_and_by_sire_besides() -> None:
    """Of a ladder of allowances the greatest counts; one for the sire's price comes on top of it."""
    race = a_race(
        "3yo+. Three Year Olds, 118 lbs.; Older, 124 lbs. Non-winners of two races since May 1 allowed 2 lbs.; "
        "of a race since April 1, 4 lbs. horses by sires with a median price of 10,000 gns or less allowed 3lb",
        jurisdiction="US",
    )
    assert weigh(a_horse(4), race).published == 120
    assert weigh(a_horse(4, runs=(a_run("2025-06-01"),)), race).published == 122
    assert weigh(a_horse(4, runs=(a_run("2025-06-01"), a_run("2025-06-11"))), race).published == 124
    cheap = Parents(sire_median=Money(9000.0, "guineas"))
    assert weigh(a_horse(3, runs=(a_run("2025-06-01"),), parents=cheap), race).published == 113


def test_a_lower_claiming_price_takes_weight_off() -> None:
    """A pound for each 1,000 dollars below 25,000, down to 20,000."""
    race = a_race("3yo+. 122 lbs. each. Claiming price $25,000; for each $1,000 to $20,000, 1 lb.", jurisdiction="US")
    prices = {25_000: 122, 24_000: 121, 23_500: 121, 20_000: 117, 15_000: 117}
    found = {price: weigh(a_horse(4), race, price=Money(price, "USD")).published for price in prices}
    assert found == prices


def test_the_races_own_safety_allowance_goes_before_the_rule() -> None:
    """Conditions that say what is not in the published weight, or that it is in it, decide; Britain's 4 lb else."""
    horse = a_horse(4)
    said = {
        "A safety allowance of 2lb is not included in the weights": 2.0,
        "The weights shown include a safety allowance of 3lb": 0.0,
        "Fillies allowed 3lb": 4.0,
    }
    for words, more in said.items():
        carried = weigh(horse, a_race(f"Weights: 9st 7lb. {words}"))
        assert carried.on_the_horse - carried.published == more, words


def test_of_two_highest_weights_the_plain_one_counts() -> None:
    """A weight to which others are raised only if they fall short of it is not what the highest mark carries."""
    wording = (
        "rated 66-80. Highest weight 9st 11lb. If the highest weight at declaration is less than 9st 9lb, the weights"
    )
    race = a_race(f"{wording} will be raised", kinds=frozenset({"handicap"}))
    assert weigh(a_horse(5, mark=80), race).published == 137


def test_published_is_not_what_is_on_the_horse() -> None:
    """The card leaves out 4 lb of safety equipment in Britain since 2 May 2022, 3 before; 3 in Indiana, a kilogram in
    Japan (reprint of a notice of 2022; 71 IAC 7.5-3-4; article on carried weight)."""
    for place, day, wording, more in (
        ("GB", date(2022, 5, 1), "Weights: 9st", 3),
        ("GB", date(2022, 5, 2), "Weights: 9st", 4),
        ("US-IN", date(2022, 5, 2), "Weights: 126 lbs", 3),
        ("JP", date(2022, 5, 2), "Weights: 57 kg", 1),
        ("FR", date(2022, 5, 2), "Weights: 57 kg", 0),
    ):
        carried = weigh(a_horse(6), a_race(wording, jurisdiction=place, day=day))
        assert carried.on_the_horse - carried.published == more, place


@pytest.mark.parametrize(("winners", "claim"), [(0, 7), (19, 7), (20, 5), (49, 5), (50, 3), (94, 3), (95, 0)])
def test_british_claims(winners: int, claim: int) -> None:
    """An apprentice claims 7 lb to 20 wins, 5 to 50, 3 to 95 (British Horseracing Authority, Rule (F)140, 2014)."""
    carried = weigh(a_horse(4, mark=70), handicap(), rider=Rider(winners))
    assert carried.published - (carried.on_the_horse - carried.equipment) == claim


@pytest.mark.parametrize(
    ("kinds", "race_class", "claims"),
    [
        ("handicap", "2", True),
        ("handicap", "listed", False),
        ("", "3", True),
        ("", "2", False),
        ("selling", "2", True),
        ("", "group 3", False),
    ],
)
def test_where_british_claims_count(kinds: str, race_class: str, claims: bool) -> None:  # noqa: FBT001  # a case
    """In handicaps that are not listed, in sellers, and in weight-for-age races of class 3 to 7 (Rule (F)140)."""
    race = a_race(
        "rated 66-80; highest weight 9st 7lb; weights: 9st 2lb", kinds=frozenset({kinds}), race_class=race_class
    )
    assert (weigh(a_horse(4, mark=70), race, rider=Rider(5)).claim is not None) == claims


def test_conditions_may_shut_claims_out() -> None:
    """Where riders' allowances may not be claimed none is, whatever the class; where they may, one is."""
    barred = handicap("rated 66-80; highest weight 9st 7lb; apprentice allowances may not be claimed")
    assert weigh(a_horse(4, mark=70), barred, rider=Rider(5)).claim is None


def test_no_weight_is_set_below_the_least() -> None:
    """The British minimum is 8st 2lb from 26 March 2022, 8st before (BHA, January 2022); a race may set its own."""
    for day, least in ((date(2022, 3, 25), st_lb(8)), (date(2022, 3, 26), st_lb(8, 2))):
        race = handicap("rated 0-60; highest weight 9st 2lb", day=day)
        horse = replace(a_horse(5), marks=(Mark(20, date(2021, 1, 1)),))
        assert weigh(horse, race).published == least
        own = replace(race, wording=race.wording + "; lowest weight 8st 7lb")
        assert weigh(horse, own).published == st_lb(8, 7)


def test_the_usual_top_weight_stands_in_where_none_is_stated() -> None:
    """Without a stated top weight a British handicap's is 10st 2lb from 26 March 2022 (BHA, January 2022)."""
    carried = weigh(a_horse(4, mark=80), handicap("rated 66-80"))
    assert carried.published == st_lb(10, 2)
    with pytest.raises(WeightUnknownError, match="top weight"):
        weigh(a_horse(4, mark=80), handicap("rated 66-80", jurisdiction="FR"))


def test_a_race_overrides_a_rule_of_the_place() -> None:
    """A rule that holds for one race goes before the yard's, and the yard's before the authority's."""
    race_own = override(
        "weights", "This race", "GB", "its conditions", kind="standard top weight", unit="lb", value=130
    )
    yards = override("weights", "The yard", "GB", "the yard", kind="standard top weight", unit="lb", value=131)
    horse, plain = a_horse(4, mark=80), handicap("rated 66-80")
    assert weigh(horse, plain, Terms(yards)).published == 131
    assert weigh(horse, replace(plain, overrides=race_own), Terms(yards)).published == 130


def test_allowances_in_the_other_unit_follow_racings_agreement() -> None:
    """3 lb of an allowance are 1.5 kg in a race weighed in kilograms (European Pattern Committee, 2016)."""
    race = a_race("Weights: 57 kg; mares allowed 3lb", jurisdiction="FR")
    assert weigh(a_horse(5, "mare"), race).published == 55.5
    assert Amount(1.5, "kg").in_unit("lb") == 3


@given(st.integers(40, 100), st.integers(40, 100), st.integers(0, 4), st.sampled_from(["", "; lowest weight 8st 4lb"]))
def test_a_higher_mark_never_carries_less(mark: int, other: int, wins: int, least: str) -> None:
    """In one handicap, with the same penalties, weight does not fall as the mark rises, and never below the floor."""
    race = handicap(f"rated 66-80; highest weight 9st 7lb{least}; penalties, after June 1, for each race won 6lb")
    runs = tuple(a_run(f"2025-06-{10 + i}") for i in range(wins))
    low, high = (weigh(a_horse(4, mark=value, runs=runs), race) for value in sorted((mark, other)))
    assert low.published <= high.published
    assert low.published >= (low.floor or 0)
    assert low.published - low.out_of_handicap == low.long
