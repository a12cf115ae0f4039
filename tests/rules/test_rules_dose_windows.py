"""Days for the next dose around races, held to the check of a record: what suits is in order, what does not is not."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.rules import Dose, DoseWindow, Occasion, Step, VaccineRules, check_vaccinations, dose_windows

BOOSTED = [Dose(date(2024, 7, 1), stated=Step.BOOSTER)]


def test_before_the_days_off_or_after_the_race() -> None:
    """In Ireland (six days free) a dose due by 1 January 2025 suits a race of 20 December to the 13th, or after it."""
    found = dose_windows(BOOSTED, VaccineRules("Ireland"), [date(2024, 12, 20)], since=date(2024, 12, 1))
    assert found == (
        DoseWindow(date(2024, 12, 1), date(2024, 12, 13)),
        DoseWindow(date(2024, 12, 21), date(2025, 1, 1)),
    )


def test_a_record_that_ends_before_the_race_needs_the_dose_before_it() -> None:
    """When the record runs out before the race, and before entries close, the dose must be given before both."""
    ireland = VaccineRules("Ireland")
    race, entry = date(2025, 1, 5), date(2024, 12, 30)
    assert dose_windows(BOOSTED, ireland, [race], since=date(2024, 12, 1)) == (
        DoseWindow(date(2024, 12, 1), date(2024, 12, 29)),
    )
    closes_late = dose_windows(BOOSTED, ireland, [date(2025, 1, 20)], since=date(2024, 12, 1), entries=[entry])
    assert closes_late == (DoseWindow(date(2024, 12, 1), date(2025, 1, 1)),)
    assert dose_windows(BOOSTED, ireland, [race], since=date(2025, 1, 2)) == ()


def test_an_arrival_under_the_fei_needs_a_recent_dose() -> None:
    """A dose of 1 January serves the FEI to 22 July (six months and 21 days): 1 September needs another."""
    doses = [Dose(date(2025, 1, 1), stated=Step.BOOSTER)]
    found = dose_windows(doses, VaccineRules("FEI"), [date(2025, 9, 1)], since=date(2025, 5, 1))
    assert found == (DoseWindow(date(2025, 5, 1), date(2025, 8, 25)),)


@settings(deadline=None, max_examples=40)
@given(
    st.sampled_from(["Britain", "Ireland", "France", "FEI"]),
    st.lists(st.integers(0, 250), min_size=1, max_size=3),
    st.lists(st.integers(0, 250), max_size=2),
    st.integers(0, 150),
)
def test_windows_agree_with_the_check_of_a_record(place: str, races: list[int], entries: list[int], wait: int) -> None:
    """A day is in a window just when a dose on it leaves the record in order on every race day and entry."""
    since = date(2024, 7, 1) + timedelta(days=wait)
    book = VaccineRules(place)
    running = [since + timedelta(days=n) for n in races]
    closing = [since + timedelta(days=n) for n in entries]
    found = dose_windows(BOOSTED, book, running, since=since, entries=closing)
    inside = {day.first + timedelta(days=n) for day in found for n in range((day.last - day.first).days + 1)}
    asked = [*((Occasion.RACE, day) for day in running), *((Occasion.ENTRY, day) for day in closing)]
    start = max(since, date(2024, 7, 2))
    due = date(2025, 7, 1) if place == "FEI" else date(2025, 1, 1)
    for n in range((due - start).days + 1):
        day = start + timedelta(days=n)
        answers = check_vaccinations([*BOOSTED, Dose(day)], asked, book)
        assert (day in inside) == (all(answer.in_order for answer in answers) and day not in running)


@pytest.mark.parametrize("doses", [[], [Dose(date(2023, 1, 1))]])
def test_a_course_that_begins_again_has_no_window(doses: list[Dose]) -> None:
    """Without a record, or with one that is overdue, there is no day on which one dose puts it in order."""
    assert dose_windows(doses, VaccineRules("Britain"), [date(2024, 12, 20)], since=date(2024, 12, 1)) == ()
