"""Vaccination records against the published intervals.

Sources: Racehorse Owners Association, 8 October 2021; Irish Horseracing Regulatory Board, note on Rule 91 (intervals,
transition); British Equine Veterinary Association, 11 January 2023 (boosters from 15 January 2023); British
Horseracing Authority 2019 (nine calendar months); FEI notice and a public page of 2025 (six months and 21 days).
"""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.errors import NoRuleError
from upsides.rules import (
    HERPESVIRUS,
    DayAnswer,
    Dose,
    DoseFaultKind,
    Occasion,
    Step,
    VaccinationReason,
    VaccineRules,
    check_vaccinations,
    diseases_asked,
    override,
    vaccination_record,
)

BRITAIN = VaccineRules("Britain")
BOOSTED = [Dose(date(2024, 1, 1)), Dose(date(2024, 2, 15)), Dose(date(2024, 7, 1))]


def given_on(*days: date) -> list[Dose]:
    return [Dose(day) for day in days]


def on_race_day(doses: list[Dose], day: date, book: VaccineRules = BRITAIN) -> DayAnswer:
    return check_vaccinations(doses, [(Occasion.RACE, day)], book)[0]


@pytest.mark.parametrize(
    ("place", "first", "days", "step"),
    [
        ("Britain", date(2022, 1, 1), 20, Step.FIRST),
        ("Britain", date(2022, 1, 1), 21, Step.SECOND),
        ("Britain", date(2022, 1, 1), 60, Step.SECOND),
        ("Britain", date(2022, 1, 1), 61, Step.FIRST),
        ("Ireland", date(2022, 1, 1), 61, Step.FIRST),
        ("Britain", date(2021, 12, 31), 61, Step.SECOND),
        ("Britain", date(2021, 12, 31), 92, Step.SECOND),
        ("Britain", date(2021, 12, 31), 93, Step.FIRST),
        ("France", date(2021, 5, 4), 92, Step.SECOND),
        ("France", date(2021, 5, 5), 61, Step.FIRST),
        ("Germany", date(2021, 5, 5), 60, Step.SECOND),
    ],
)
def test_second_dose_by_the_day_of_the_first(place: str, first: date, days: int, step: Step) -> None:
    """21 to 60 days for a course begun from 2022 (France and Germany 5 May 2021), 21 to 92 for an older one."""
    record = vaccination_record(
        given_on(first, first + timedelta(days=days)), first + timedelta(days=days), VaccineRules(place)
    )
    assert record.given[-1].step is step


@pytest.mark.parametrize(
    ("first", "days", "step"),
    [
        (date(2022, 1, 1), 119, Step.FIRST),
        (date(2022, 1, 1), 120, Step.THIRD),
        (date(2022, 1, 1), 180, Step.THIRD),
        (date(2022, 1, 1), 181, Step.FIRST),
        (date(2021, 12, 31), 149, Step.FIRST),
        (date(2021, 12, 31), 150, Step.THIRD),
        (date(2021, 12, 31), 215, Step.THIRD),
        (date(2021, 12, 31), 216, Step.FIRST),
    ],
)
def test_third_dose_by_the_day_of_the_first(first: date, days: int, step: Step) -> None:
    """120 to 180 days for a course begun from 2022, 150 to 215 for one begun by 31 December 2021."""
    second = first + timedelta(days=30)
    third = second + timedelta(days=days)
    assert vaccination_record(given_on(first, second, third), third, BRITAIN).given[-1].step is step


def test_a_dose_out_of_time_names_rule_dates_and_counts() -> None:
    """A second dose after 61 days says that 21 to 60 are allowed, which days those were, and by which rule."""
    late = given_on(date(2024, 1, 1), date(2024, 3, 2))
    answer = on_race_day(late, date(2024, 4, 1))
    assert not answer.in_order
    assert [found.reason for found in answer.findings] == [VaccinationReason.SECOND_MISSING]
    (fault,) = answer.faults
    assert (fault.fault, fault.days, fault.low, fault.high) == (DoseFaultKind.TOO_LATE, 61, 21, 60)
    assert (fault.earliest, fault.latest) == (date(2024, 1, 22), date(2024, 3, 1))
    text = "61 days after the one before; 21 to 60 days are allowed, here 2024-01-22 to 2024-03-01"
    assert text in str(answer)


@pytest.mark.parametrize(
    ("day", "in_order"),
    [(date(2023, 1, 1), True), (date(2023, 1, 14), True), (date(2023, 1, 15), False)],
)
def test_six_months_were_enforced_in_britain_from_15_january_2023(day: date, *, in_order: bool) -> None:
    """A yearly booster of May 2022 was enough in Britain up to 14 January 2023 and not on the 15th (BEVA 2023)."""
    old = given_on(date(2020, 6, 1), date(2020, 7, 10), date(2020, 12, 20), date(2021, 6, 1), date(2022, 5, 20))
    answer = on_race_day(old, day)
    assert answer.in_order is in_order
    assert vaccination_record(old, date(2022, 12, 1), BRITAIN).runs_until == date(2023, 1, 14)


def test_a_booster_runs_to_the_day_of_the_same_number() -> None:
    """From 1 July 2024 six months run to 1 January 2025, that day included (not more than six months apart)."""
    assert on_race_day(BOOSTED, date(2025, 1, 1)).in_order
    late = on_race_day(BOOSTED, date(2025, 1, 2))
    assert [(found.reason, found.bound, found.days) for found in late.findings] == [
        (VaccinationReason.BOOSTER_OVERDUE, date(2025, 1, 1), 185)
    ]


@pytest.mark.parametrize(
    ("dose", "race", "in_order"),
    [
        (date(2020, 1, 1), date(2020, 10, 1), True),  # BHA 2019: 1 January to 1 October
        (date(2020, 1, 1), date(2020, 10, 2), False),
        (date(2018, 9, 30), date(2019, 3, 30), True),  # six months, February to April 2019
        (date(2018, 9, 30), date(2019, 3, 31), False),
    ],
)
def test_temporary_british_rules(dose: date, race: date, *, in_order: bool) -> None:
    """From 2019 to 2021 a runner's last dose had to lie within six, then nine calendar months, its record unbroken."""
    doses = [Dose(dose - timedelta(days=200), stated=Step.BOOSTER), Dose(dose)]
    answer = on_race_day(doses, race)
    assert answer.in_order is in_order
    if not in_order:
        assert [found.reason for found in answer.findings] == [VaccinationReason.LAST_DOSE_TOO_OLD]
        assert check_vaccinations(doses, [(Occasion.DECLARATION, race)], BRITAIN)[0].in_order


def test_the_irish_rule_of_eight_weeks() -> None:
    """From 18 February to 15 March 2019 a runner in Ireland was vaccinated within eight weeks of its race (IHRB)."""
    doses = [Dose(date(2018, 6, 1), stated=Step.BOOSTER), Dose(date(2018, 12, 25))]
    ireland = VaccineRules("IRE")
    answers = [on_race_day(doses, day, ireland) for day in (date(2019, 2, 19), date(2019, 2, 20), date(2019, 3, 16))]
    assert [answer.in_order for answer in answers] == [True, False, True]


def test_the_fei_example() -> None:
    """For an arrival on 16 October 2025 a dose of 26 March and one of 9 October serve, one of 10 October does not."""
    fei = VaccineRules("FEI")
    for last, in_order in [(date(2025, 3, 26), True), (date(2025, 10, 9), True), (date(2025, 10, 10), False)]:
        doses = [Dose(date(2024, 12, 1), stated=Step.BOOSTER), Dose(last)]
        assert check_vaccinations(doses, [(Occasion.ARRIVAL, date(2025, 10, 16))], fei)[0].in_order is in_order
    march = [Dose(date(2025, 3, 18), stated=Step.BOOSTER)]
    days = [(Occasion.ARRIVAL, date(2025, 10, day)) for day in (9, 10)]
    assert [answer.in_order for answer in check_vaccinations(march, days, fei)] == [True, False]


def test_herpesvirus_is_asked_for_in_france_only() -> None:
    """Herpesvirus is asked for in France since 16 November 2017, in Britain and Ireland not (France Galop, IHRB)."""
    assert diseases_asked("France", date(2025, 5, 1)) == ("equine influenza", "equine herpesvirus")
    assert diseases_asked("FR", date(2017, 11, 15)) == ("equine influenza",)
    assert (
        diseases_asked("Ireland", date(2025, 5, 1)) == diseases_asked("GB", date(2025, 5, 1)) == ("equine influenza",)
    )
    with pytest.raises(NoRuleError, match="equine herpesvirus"):
        on_race_day(BOOSTED, date(2025, 5, 1), VaccineRules("Britain", HERPESVIRUS))
    france = VaccineRules("France", HERPESVIRUS)
    doses = [Dose(date(2024, 1, 1), HERPESVIRUS), Dose(date(2024, 3, 20), HERPESVIRUS), Dose(date(2024, 9, 1))]
    answer = on_race_day(doses, date(2024, 9, 2), france)
    assert (answer.in_order, answer.findings) == (True, ())


def test_entry_declaration_and_race_each_have_their_own_answer() -> None:
    """A record can be in order when entries close and not on race day; Britain looks on entry since 9 January 2023."""
    days = [
        (Occasion.ENTRY, date(2024, 12, 30)),
        (Occasion.DECLARATION, date(2025, 1, 1)),
        (Occasion.RACE, date(2025, 1, 3)),
    ]
    answers = check_vaccinations(BOOSTED, days, BRITAIN)
    assert [answer.in_order for answer in answers] == [True, True, False]
    assert [answer.asked_by is not None for answer in answers] == [True, False, False]
    assert check_vaccinations(BOOSTED, [(Occasion.ENTRY, date(2022, 12, 30))], BRITAIN)[0].asked_by is None


def test_a_fresh_dose_keeps_a_horse_off_the_racecourse_and_not_off_the_entry() -> None:
    """In Ireland a horse vaccinated on Friday 5 July may be entered the next day and may run from Friday 12 July."""
    ireland = VaccineRules("Ireland")
    doses = [*BOOSTED, Dose(date(2024, 7, 5))]
    days = [
        (Occasion.ENTRY, date(2024, 7, 6)),
        (Occasion.RACE, date(2024, 7, 11)),
        (Occasion.RACE, date(2024, 7, 12)),
    ]
    answers = check_vaccinations(doses, days, ireland)
    assert [answer.in_order for answer in answers] == [True, False, True]
    (found,) = answers[1].findings
    assert (found.reason, found.bound, found.days) == (VaccinationReason.DOSE_TOO_RECENT, date(2024, 7, 12), 6)


def test_a_planned_dose_counts_from_its_day_on() -> None:
    """A dose that is planned counts for the days from it on, and for none before."""
    planned = [*BOOSTED, Dose(date(2024, 12, 20))]
    answers = check_vaccinations(
        planned, [(Occasion.ENTRY, date(2024, 12, 19)), (Occasion.RACE, date(2025, 6, 20))], BRITAIN
    )
    assert [answer.in_order for answer in answers] == [True, True]
    assert vaccination_record(planned, date(2024, 12, 19), BRITAIN).runs_until == date(2025, 1, 1)


def test_the_next_dose_is_named_with_its_days() -> None:
    """After a first dose of 1 January 2024 the second falls on 22 January to 1 March; the record is not in order."""
    record = vaccination_record(given_on(date(2024, 1, 1)), date(2024, 1, 5), BRITAIN)
    assert (record.next_step, record.next_from, record.next_until) == (Step.SECOND, date(2024, 1, 22), date(2024, 3, 1))
    assert record.runs_until is None
    two = vaccination_record(BOOSTED[:2], date(2024, 3, 1), BRITAIN)
    assert (two.next_step, two.next_from, two.next_until) == (Step.THIRD, date(2024, 6, 14), date(2024, 8, 13))
    assert two.runs_until == date(2024, 8, 13)


def test_an_overdue_record_begins_again() -> None:
    """Once the third dose or a booster is overdue the next dose is a first one, on any day."""
    for doses, day in [(BOOSTED[:2], date(2024, 8, 14)), (BOOSTED, date(2025, 1, 2))]:
        record = vaccination_record(doses, day, BRITAIN)
        assert (record.next_step, record.next_from, record.runs_until) == (Step.FIRST, None, None)
    assert vaccination_record([], date(2024, 1, 1), BRITAIN).next_step is Step.FIRST


def test_doses_before_the_earliest_known_are_not_asked_for_again() -> None:
    """Where the passport says that the earliest dose known is a booster it is taken as one, and the answer says so."""
    answer = on_race_day([Dose(date(2024, 7, 1), stated=Step.BOOSTER)], date(2024, 9, 1))
    assert answer.in_order
    assert [fault.fault for fault in answer.faults] == [DoseFaultKind.EARLIER_NOT_SEEN]
    assert not on_race_day([Dose(date(2024, 7, 1))], date(2024, 9, 1)).in_order


@settings(deadline=None)
@given(st.permutations([*BOOSTED, *BOOSTED, Dose(date(2024, 12, 20)), Dose(date(2024, 5, 1), HERPESVIRUS)]))
def test_order_and_repeats_of_doses_do_not_matter(doses: list[Dose]) -> None:
    """Doses in any order, typed twice, and among those against another disease, read as the same record."""
    record = vaccination_record(doses, date(2025, 1, 10), BRITAIN)
    assert [dose.step for dose in record.given] == [Step.FIRST, Step.SECOND, Step.THIRD, Step.BOOSTER]


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.integers(1, 260), max_size=6),
    st.integers(0, 400),
    st.sampled_from(["Britain", "Ireland", "France", "Germany", "FEI"]),
)
def test_the_last_day_of_a_record_is_its_last_day(gaps: list[int], wait: int, place: str) -> None:
    """Where a record runs until a day it is in order on that day and on each before it, and not on the day after."""
    book, day = VaccineRules(place), date(2019, 5, 1)
    doses = [Dose(day)]
    for gap in gaps:
        day += timedelta(days=gap)
        doses.append(Dose(day))
    today = day + timedelta(days=wait)
    until = vaccination_record(doses, today, book).runs_until
    asked = [
        (Occasion.DECLARATION, today),
        *((Occasion.DECLARATION, until + timedelta(days=n)) for n in (0, 1) if until),
    ]
    answers = [answer.in_order for answer in check_vaccinations(doses, asked, book)]
    assert answers == ([True, True, False] if until else [False])


def test_a_yards_own_interval_goes_first() -> None:
    """A yard that boosts every five months is answered by its own rule."""
    mine = override(
        "vaccination",
        "ours",
        "Britain",
        "our vet",
        kind="booster",
        disease="equine influenza",
        longest=5,
        unit="months",
    )
    record = vaccination_record(BOOSTED, date(2024, 9, 1), VaccineRules("GB", overrides=mine))
    assert (record.runs_until, record.rule and record.rule.origin) == (date(2024, 12, 1), "yard (given in code)")
