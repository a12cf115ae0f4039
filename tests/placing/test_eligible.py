"""Whether a race takes a horse, with each reason, from the facts as of a day."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planned_races import DAY, a_horse, a_race, a_run, london
from upsides.errors import ConditionsClashError
from upsides.placing.amounts import Amount, Money
from upsides.placing.answers import Finding, Says
from upsides.placing.conditions.who import PLAIN, Record, Terms
from upsides.placing.eligible import eligible
from upsides.placing.horse import Given, Horse, Kept, Mark, Parents, Sold, Treated
from upsides.placing.race import Build, Due, Prize, Race, Stage
from upsides.placing.race_rules import check, clashes
from upsides.rules import Dose, override
from upsides.rules.book_words import Step
from upsides.trade.age import AgeRange

SHOT = (Dose(date(2025, 3, 1), stated=Step.BOOSTER),)
"""A booster four months before the race: within six months, more than a week away."""


def says(horse: Horse, race: Race, terms: Terms = PLAIN) -> dict[str, Says]:
    return {one.key: one.says for one in eligible(replace(horse, doses=SHOT), race, terms).findings}


def answer(horse: Horse, race: Race, terms: Terms = PLAIN) -> Says:
    return eligible(replace(horse, doses=SHOT), race, terms).says


def _of(horse: Horse, race: Race, key: str) -> Finding:
    return next(one for one in eligible(replace(horse, doses=SHOT), race).findings if one.key == key)


@pytest.mark.parametrize(("age", "expected"), [(2, Says.NO), (3, Says.YES), (4, Says.YES)])
def test_age(age: int, expected: Says) -> None:
    """A race for three-year-olds and upwards takes horses of three and four, not of two."""
    assert answer(a_horse(age), a_race("For three-year-olds and upwards")) is expected


def test_a_horse_grows_older_on_the_birthday_of_the_place() -> None:
    """Foaled on 1 September 2021, a horse is three in Australia on 1 August 2025 and four in Britain all that year.

    Source: official birthdays of 1 August (Australia) and 1 January (northern hemisphere), reference articles on
    official ages by hemisphere.
    """
    horse = replace(a_horse(4), foaled=date(2021, 9, 1))
    for place, july, august in (("AU", 3, 4), ("GB", 4, 4)):
        ages = [
            eligible(horse, a_race("3yo only", jurisdiction=place, day=day)).findings[0].fact("age")
            for day in (date(2025, 7, 31), date(2025, 8, 1))
        ]
        assert ages == [july, august], place


def test_a_colt_gelded_in_mid_season_is_a_gelding_from_that_day_on() -> None:
    """A race for colts and fillies takes it until the day it is gelded, and none after; as of before, nobody knows."""
    race = a_race("for colts and fillies only")
    cut = replace(a_horse(), gelded=date(2025, 6, 1), runs=(a_run("2025-05-01", 4),))
    assert answer(cut, replace(race, day=date(2025, 5, 31))) is Says.YES
    assert answer(cut, race) is Says.NO
    assert answer(cut.as_of(date(2025, 5, 20)), race) is Says.YES
    told = eligible(cut, a_race("for geldings only")).notes
    assert [(one.key, one.fact("by")) for one in told] == [("tell gelded", Stage.ENTER)]
    unknown = replace(cut, gelded=cut.foaled)
    assert not [one for one in eligible(unknown, a_race()).notes if one.key == "tell gelded"]
    assert eligible(cut.with_run(a_run("2025-06-20", 5)), race).notes == ()


def test_a_horse_sold_in_mid_season_runs_for_the_yard_no_more() -> None:
    """From the day after it left, no race takes it from this yard; as of a day before the sale that is not known."""
    race = a_race("3yo+")
    sold = replace(a_horse(), left=date(2025, 7, 1))
    assert answer(sold, replace(race, day=date(2025, 7, 1))) is Says.YES
    assert answer(sold, race) is Says.NO
    assert answer(sold.as_of(date(2025, 6, 30)), race) is Says.YES


def test_wins_count_up_to_closing_or_up_to_the_race_as_the_wording_says() -> None:
    """A win between the closing of entries and the race leaves a maiden at closing, and no maiden at starting."""
    closing = Due(Stage.ENTER, london("2025-06-29T12:00"))
    horse = a_horse(runs=(a_run("2025-07-01"),))
    assert answer(horse, a_race("maidens at closing", dues=(closing,), zone="Europe/London")) is Says.YES
    assert answer(horse, a_race("maidens at starting", dues=(closing,), zone="Europe/London")) is Says.NO


def test_the_day_of_closing_is_that_of_the_courses_clock() -> None:
    """Entries that close at 23:30 in New York close on that day, although it is the next in London."""
    closing = Due(Stage.ENTER, london("2025-06-29T04:30"))
    race = a_race("maidens at closing", dues=(closing,), zone="America/New_York")
    assert race.closes() == date(2025, 6, 28)
    assert answer(a_horse(runs=(a_run("2025-06-28"),)), race) is Says.YES


@pytest.mark.parametrize(
    ("wording", "expected"),
    [
        ("which have not won a race since June 1", Says.YES),
        ("which have not won a race since May 1", Says.NO),
        ("which have not won a race of Class 4 or above", Says.YES),
        ("which have not won a race of Class 5 or above", Says.NO),
        ("which have not won a race worth £5,000", Says.YES),
        ("which have not won a race worth £4,000", Says.NO),
        ("which have not won a race over 1m 2f or further", Says.YES),
        ("which have not won a race over 7f or further", Says.NO),
        ("which have not won a race on the all-weather", Says.YES),
        ("which have not won a race on turf", Says.NO),
        ("which have not won a race in Ireland", Says.YES),
        ("which have not won a race in Great Britain or Ireland", Says.NO),
        ("which have never won a race other than maiden", Says.YES),
        ("which have won only one race", Says.YES),
        ("which have run at least three times", Says.NO),
        ("which have run at least twice", Says.YES),
    ],
)
def test_which_runs_count(wording: str, expected: Says) -> None:
    """A maiden of class 5 at a mile on turf, won on 10 May for 4,000 pounds, counts only where the wording means it."""
    won = a_run("2025-05-10", kinds=frozenset({"maiden"}))
    assert answer(a_horse(runs=(won, a_run("2025-06-10", 6))), a_race(wording)) is expected


def test_what_is_not_known_of_a_run_is_not_guessed() -> None:
    """A win of unknown worth leaves it open whether a race for non-winners of 5,000 pounds takes the horse."""
    horse = a_horse(runs=(a_run("2025-05-10", worth=None),))
    assert answer(horse, a_race("which have not won a race worth £5,000")) is Says.UNKNOWN
    some = replace(a_horse(), runs_complete=False)
    assert answer(some, a_race("maidens")) is Says.UNKNOWN
    assert answer(replace(horse, runs_complete=False), a_race("maidens")) is Says.NO


def test_prizes_in_another_currency_need_a_rate() -> None:
    """A win worth 6,000 euros is above 5,000 pounds at 0.85 and below at 0.80; without a rate it is not known."""
    horse = a_horse(runs=(a_run("2025-05-10", worth=Money(6000.0, "EUR")),))
    race = a_race("which have not won a race worth £5,000")
    assert answer(horse, race) is Says.UNKNOWN
    assert "of 1 more it is not known whether they count; prizes in another currency" in str(_of(horse, race, "won"))
    assert answer(horse, race, Terms(rates={("EUR", "GBP"): 0.85})) is Says.NO
    assert answer(horse, race, Terms(rates={("GBP", "EUR"): 1.25})) is Says.YES


def test_a_group_win_known_only_as_class_1_is_not_known_to_be_one() -> None:
    """British class 1 holds groups and listed races alike; which one it was decides, and is not guessed."""
    horse = a_horse(runs=(a_run("2025-05-10", race_class="1"),))
    assert answer(horse, a_race("which have not won a Group 1 race")) is Says.UNKNOWN


@pytest.mark.parametrize(
    ("mark", "expected"), [(None, Says.NO), (60.0, Says.YES), (80.0, Says.YES), (82.0, Says.YES), (83.0, Says.NO)]
)
def test_a_british_handicap_takes_two_points_above_and_any_below(mark: float | None, expected: Says) -> None:
    """Band 66 to 80: 82 may be entered, 83 may not, below the band may; without a mark none (BHA, which races a rating
    allows)."""
    assert answer(a_horse(mark=mark), a_race("rated 66-80", kinds=frozenset({"handicap"}))) is expected


def test_a_race_overrides_what_the_authority_says_of_bands() -> None:
    """Where a race takes none above its band, as class 5 over jumps does since 1 October 2023, 81 is too high."""
    race = a_race("rated 66-80", kinds=frozenset({"handicap"}), above_band=0.0)
    assert answer(a_horse(mark=81), race) is Says.NO
    rules = override("band entry", "This race", "GB", "its conditions", above=1, below=True)
    again = replace(race, above_band=None, overrides=rules)
    assert [answer(a_horse(mark=mark), again) for mark in (81, 82)] == [Says.YES, Says.NO]


def test_marks_are_a_ledger() -> None:
    """The mark that counts is the newest one for the surface, and for everything where there is none."""
    marks = (Mark(70, date(2025, 1, 1)), Mark(64, date(2025, 2, 1), "all-weather"), Mark(78, date(2025, 7, 1)))
    horse = a_horse(marks=marks)
    assert [horse.mark(day, "turf").value for day in (date(2025, 6, 30), date(2025, 7, 1))] == [70, 78]
    assert horse.mark(DAY, "synthetic").value == 64
    assert horse.as_of(date(2025, 6, 1)).mark(DAY, "turf").value == 70


def test_prices_of_horse_and_sire() -> None:
    """The dearest sale counts; guineas are a pound and a shilling; a horse never sold is not qualified."""
    race = a_race("sold at public auction as yearlings for 20,000 gns or less")
    sale = Sold(date(2023, 10, 1), Money(21_000.0, "GBP"), "yearling")
    assert answer(a_horse(sold=(sale,)), race) is Says.YES
    assert answer(a_horse(sold=(sale, replace(sale, price=Money(21_001.0, "GBP")))), race) is Says.NO
    assert answer(a_horse(), race) is Says.NO
    median = a_race("by sires with a median price of 20,000 gns or less")
    assert answer(a_horse(), median) is Says.UNKNOWN
    assert answer(a_horse(parents=Parents(Money(15_000.0, "guineas"))), median) is Says.YES


def test_a_stamina_race_asks_sire_or_dam() -> None:
    """A sire that won over 1m 2f qualifies its foals for "1m 2f or further"; a mile winner only if the dam stayed."""
    race = a_race("whose sire or dam won over 1m 2f or further")
    assert answer(a_horse(parents=Parents(sire_won_m=2012.0)), race) is Says.YES
    assert answer(a_horse(parents=Parents(sire_won_m=1609.0)), race) is Says.UNKNOWN
    assert answer(a_horse(parents=Parents(sire_won_m=1609.0, dam_won_m=1207.0)), race) is Says.NO


@pytest.mark.parametrize(
    ("wording", "trained", "expected"),
    [
        ("No horse trained in Ireland may run", "IE", Says.NO),
        ("No horse trained in Ireland may run", "GB", Says.YES),
        ("For horses trained in Ireland only", "GB", Says.NO),
        ("Trained in Great Britain or Ireland", "GB", Says.YES),
        ("No horse trained in Ireland may run", "", Says.UNKNOWN),
        ("For horses trained in Ireland for the last six months", "GB", Says.UNKNOWN),
    ],
)
def test_where_a_horse_is_trained(wording: str, trained: str, expected: Says) -> None:
    """A race takes, or keeps out, horses by where their yard is; where that or the wording is open, nobody knows."""
    found = [one for one in eligible(a_horse(trained=trained), a_race(wording)).findings if "trained" in one.key]
    assert [one.says for one in found] == [expected]


def test_a_novice_is_not_guessed() -> None:
    """A horse that never won is a novice; of a winner the word alone, in title or conditions, does not say; where the
    conditions say how often one may have won that counts."""
    bare, titled = a_race("for novice three-year-olds"), a_race("for three-year-olds", kinds=frozenset({"novice"}))
    for race in (bare, titled):
        assert says(a_horse(runs=(a_run("2025-05-10", 4),)), race)["novice"] is Says.YES
        assert says(a_horse(runs=(a_run("2025-05-10", 1),)), race)["novice"] is Says.UNKNOWN
    said = a_race("for three-year-olds which have not won more than two races", kinds=frozenset({"novice"}))
    assert "novice" not in says(a_horse(runs=(a_run("2025-05-10", 1),)), said)


def test_the_sires_fee() -> None:
    """A race by what sires cost asks the fee, and a fee that nobody knows leaves it open."""
    race = a_race("by stallions whose stud fee was £8,000 or less")
    for fee, expected in ((8000.0, Says.YES), (9000.0, Says.NO), (None, Says.UNKNOWN)):
        horse = a_horse(parents=Parents(sire_fee=None if fee is None else Money(fee, "GBP")))
        assert says(horse, race)["sire's fee"] is expected


def test_placed_down_to_the_place_that_the_wording_says() -> None:
    """A fourth place counts for "in the first four" and not for "first or second"."""
    fourth = a_horse(runs=(a_run("2025-05-10", 4),))
    assert says(fourth, a_race("which have not finished in the first four"))["placed"] is Says.NO
    assert says(fourth, a_race("which have not finished first or second"))["placed"] is Says.YES


def test_a_stand_down_keeps_a_horse_away_by_its_rule() -> None:
    """Treated in a joint on day D in Britain, a horse may run from D+15 on (British Horseracing Authority, from the
    rule: not on race day or any of the 14 days before)."""
    treated = Treated("intra-articular corticosteroid", (date(2025, 6, 21),))
    horse = a_horse(treated=(treated,))
    assert says(horse, a_race(day=date(2025, 7, 5)))["stand-down"] is Says.NO
    assert "stand-down" not in says(horse, a_race(day=date(2025, 7, 6)))


def test_the_vaccination_record_is_asked_on_closing_and_on_the_day() -> None:
    """A booster that runs out between closing and race stands in the way; a passport not seen leaves it open."""
    late = (Dose(date(2025, 1, 2), stated=Step.BOOSTER),)
    found = eligible(replace(a_horse(), doses=late), a_race()).against
    assert [(one.key, one.fact("occasion")) for one in found] == [("vaccination", "race")]
    assert eligible(a_horse(), a_race()).says is Says.UNKNOWN


def test_a_medicine_is_named_and_decides_nothing() -> None:
    """A medicine given three weeks before is shown with what is published, and neither yes nor no comes of it."""
    horse = replace(a_horse(), given=(Given("clenbuterol", date(2025, 6, 14)), Given("flunixin", date(2025, 1, 2))))
    found = eligible(replace(horse, doses=SHOT), a_race())
    assert found.says is Says.YES
    assert [(one.key, one.fact("substance"), one.fact("days")) for one in found.notes] == [
        ("medicine", "clenbuterol", 21)
    ]
    assert all("hours" in str(one) for one in found.notes[0].fact("published"))
    assert eligible(horse.as_of(date(2025, 6, 14)), a_race()).notes == ()


def test_a_suspension_keeps_a_horse_away() -> None:
    """A horse that may not run until a day may run on the day after it; without an end, on none."""
    until = a_horse(kept=(Kept(date(2025, 7, 1), date(2025, 7, 5), "stalls test to be passed"),))
    assert answer(until, a_race()) is Says.NO
    assert answer(until, a_race(day=date(2025, 7, 6))) is Says.YES
    assert answer(a_horse(kept=(Kept(date(2025, 7, 1), None, "vet's list"),)), a_race(day=date(2026, 1, 1))) is Says.NO


def test_words_not_read_leave_no_plain_yes() -> None:
    """A horse that meets every condition read is not called eligible while other words were not read; a no stands."""
    race = a_race("For three-year-olds only. Confined to members of the Larkmoor Hunt.")
    found = eligible(replace(a_horse(), doses=SHOT), race)
    assert found.says is Says.UNKNOWN
    assert found.unread == ("Confined to members of the Larkmoor Hunt.",)
    assert answer(a_horse(4), race) is Says.NO


def test_a_no_that_unread_words_may_narrow_is_not_known() -> None:
    """A winner is not shut out of a race for non-winners "at Larkmoor", since where it won is what counts."""
    horse = a_horse(runs=(a_run("2025-05-10"),))
    assert answer(horse, a_race("which have not won a race at Larkmoor")) is Says.UNKNOWN


def test_columns_and_wording_say_the_same_once() -> None:
    """A condition that stands in the programme's columns and in its wording is one reason; a maiden race keeps winners
    out although its wording does not say so."""
    race = a_race("for three-year-olds only", ages=AgeRange(3, 3), kinds=frozenset({"maiden"}))
    found = eligible(a_horse(runs=(a_run("2025-05-10"),)), race)
    assert [one.key for one in found.findings if one.key in {"age", "won"}] == ["won", "age"]
    assert {one.key for one in found.against} == {"won"}


def dued(wording: str = "", **by: str) -> Race:
    """Return a race of 5 July 2025, off at 14:35, with stages by British clocks."""
    dues = tuple(Due(Stage(stage), london(at)) for stage, at in by.items())
    return a_race(wording, day=date(2025, 7, 5), zone="Europe/London", off=london("2025-07-05T14:35"), dues=dues)


@pytest.mark.parametrize(
    "race",
    [
        a_race("Three-year-olds 9st; four-year-olds and up 9st 7lb; fillies allowed 3lb"),
        a_race("Weights: 9st 2lb each. Fillies allowed 5lb. Penalties: for each race won 6lb"),
        a_race("Highest weight 9st 7lb. Lowest weight 8st 2lb", top_weight=Amount(133.0)),
        dued(enter="2025-06-29T12:00", confirm="2025-06-30T12:00", declare="2025-07-03T10:00"),
        dued(declare="2025-07-05T13:00"),
        dued(wording="Declare by 10.00 a.m. July 3rd", declare="2025-07-03T10:00"),
        a_race("Class 1 (Listed)", race_class="listed"),
        a_race("(0-80) for three-year-olds, rated 66-80", kinds=frozenset({"handicap"})),
    ],
)
def test_conditions_that_can_hold_together_are_let_be(race: Race) -> None:
    """Weights of two ages, a column that says what the wording says, and stages in their order are no contradiction."""
    assert clashes(race) == ()


@pytest.mark.parametrize(
    ("race", "clash"),
    [
        (a_race("for two-year-olds only", ages=AgeRange(3, 3)), "2yo"),
        (a_race("fillies only", builds=frozenset({Build.GELDING})), "gelding"),
        (a_race("rated 0-70", band=(66.0, 80.0)), "66 to 80"),
        (a_race("Lowest weight 9st 9lb; highest weight 9st 2lb"), "lowest weight"),
        (a_race("9st each. 9st 7lb each"), "its weight is"),
        (a_race("Highest weight 9st 7lb. Highest weight 9st 10lb"), "its highest weight is"),
        (a_race("Lowest weight 8st 2lb", least_weight=Amount(112.0)), "its lowest weight is"),
        (a_race("Fillies allowed 50lb"), "50 lb is more than any race gives"),
        (dued(enter="2025-07-03T10:00", declare="2025-07-02T10:00"), "enter by .*lies behind the time to declare"),
        (dued(declare="2025-07-06T10:00"), "declare by .*lies behind the race"),
        (dued(enter="2025-07-05T15:00"), "enter by .*lies behind the race"),
        (
            dued(wording="Declare by 10.00 a.m. July 2nd", declare="2025-07-03T10:00"),
            "declare by is 3 July 10:00 and 2 July",
        ),
        (a_race("€6000 to the winner", prize=Prize("GBP", 10_000.0)), "in GBP and in EUR"),
        (a_race("(Class 4) Handicap", race_class="5"), "its class is 4 and 5"),
        (a_race(title="Sedge Handicap (Class 4)", race_class="5"), "its class is 4 and 5"),
        (a_race("which have won at least two races, which have won no more than one race"), "at least 2"),
    ],
)
def test_contradicting_conditions_are_told(race: Race, clash: str) -> None:
    """Conditions that cannot hold together are refused with what clashes, and no horse is called eligible by them."""
    with pytest.raises(ConditionsClashError, match=clash):
        check(race)
    assert "clash" in {one.key for one in eligible(a_horse(), race).open}


def test_neither_of_two_contradicting_conditions_shuts_a_horse_out() -> None:
    """Where one wording is for three-year-olds and the column for two-year-olds nobody knows which is right; a horse
    that another condition shuts out stays out."""
    race = a_race("for three-year-olds only, which have not won a race", ages=AgeRange(2, 2))
    assert eligible(a_horse(3), race).says is Says.UNKNOWN
    assert eligible(a_horse(2), race).says is Says.UNKNOWN
    assert eligible(a_horse(3, runs=(a_run("2025-05-10"),)), race).says is Says.NO


@given(
    st.lists(st.tuples(st.dates(date(2024, 3, 1), date(2025, 6, 30)), st.integers(1, 9)), max_size=8),
    st.integers(0, 4),
    st.dates(date(2024, 3, 1), date(2025, 6, 30)),
)
def test_counting_agrees_with_counting_by_hand(runs: list[tuple[date, int]], most: int, since: date) -> None:
    """Of any runs, those won from a day on are counted as a list of them would be."""
    horse = a_horse(runs=tuple(a_run(day.isoformat(), place) for day, place in runs))
    found = Record("won", most=most).since(since).says(horse, a_race())
    by_hand = len([1 for day, place in runs if place == 1 and day >= since])
    assert found.fact("count") == by_hand
    assert found.says is (Says.YES if by_hand <= most else Says.NO)


def test_every_reason_has_its_sentence() -> None:
    """Each finding of a race with many conditions can be told in English, with its words or its rule."""
    wording = (
        "For three-year-olds only, colts and geldings, rated 66-80, which have not won two races, have run at least "
        "twice; by sires with a median price of 20,000 gns or less; whose sire won over 1m 2f or further; Irish-bred; "
        "sold at public auction for 50,000 gns or less; which are in bands C and D; EBF eligible; apprentice riders. "
        "Claiming price £10,000. which have not earned more than £20,000. have run once or which have never won."
    )
    race = a_race(wording, prize=Prize("GBP", 10_000.0, (6000.0,)), kinds=frozenset({"handicap"}))
    horse = a_horse(mark=70, left=date(2025, 1, 1), came=date(2026, 1, 1), gelded=date(2025, 6, 1))
    horse = replace(horse, kept=(Kept(date(2025, 1, 1), None, "vet's list"),), treated=(Treated("vaccine", (DAY,)),))
    found = eligible(horse, race)
    assert found.unread == ()
    told = [str(one) for one in (*found.findings, *found.notes)]
    assert len(told) >= 18
    assert all(text.startswith(("yes: ", "no: ", "not known: ")) for text in told)
