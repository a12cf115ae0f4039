"""First days after a treatment, against the published counts (D is the day of treatment).

Sources beside each figure: the authorities' notices collected on 2026-11, written out in rules/data/stand_downs.toml.
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.errors import RuleFileError, UnreadableError
from upsides.rules import first_day_for, override, stand_downs, treatments
from upsides.rules.counting import Counting
from upsides.rules.stand_downs import ANY

D = date(2025, 4, 4)
JOINT = "intra-articular corticosteroid"


@pytest.mark.parametrize(
    ("jurisdiction", "treatment", "of", "what", "days"),
    [
        ("Britain", JOINT, "", "race", 15),  # British Horseracing Authority, 1 March 2017: not the 14 days before
        ("Australia", JOINT, "", "race", 9),  # AR 87: 8 clear days
        ("Australia", JOINT, "", "official trial", 9),
        ("Australia", JOINT, "", "jump-out", 9),
        ("US", JOINT, "knee", "race", 14),  # HISA rule 4222, July 2023: day of injection is day 1
        ("US", JOINT, "knee", "timed work", 7),  # the same: may work on day 8
        ("US", JOINT, "fetlock", "race", 30),  # HISA, rules in force from 8 July 2024
        ("US", JOINT, "fetlock", "timed work", 14),
        ("US", "intra-articular injection", "", "race", 14),
        ("South Africa", "intra-articular injection", "", "race", 7),  # NHA rule 72.1.46: counted inclusively
        ("Ireland", "vaccine", "equine influenza", "race", 7),  # IHRB 2019: six clear days
        ("France", "vaccine", "", "race", 5),  # France Galop 2017: not the 4 days before
        ("FEI", "vaccine", "equine influenza", "arrival", 7),  # page of 2025: 9 October for 16 October
        ("Britain", "self-certified non-runner", "", "race", 7),  # BHA 2008: 6 days from the day after
        ("Britain", "non-runner with a vet's certificate", "", "race", 3),  # press, August 2017: the two days after
    ],
)
def test_first_day_as_published(jurisdiction: str, treatment: str, of: str, what: str, days: int) -> None:
    """The first day on which a horse may is as many days after D as the authority's wording makes it."""
    found = first_day_for(what, stand_downs(treatment, [D], jurisdiction, of=of))
    assert found is not None
    assert found.first_day == D + timedelta(days=days)
    assert found.counting is not Counting.OPEN


def test_vaccinated_on_a_friday_it_may_run_the_following_friday() -> None:
    """Ireland's own example: vaccinated on a Friday a horse may run the following Friday (IHRB, 26 February 2019)."""
    friday = date(2019, 3, 1)
    found = first_day_for("race", stand_downs("vaccine", [friday], "IRE", of="equine influenza"))
    assert found is not None
    assert (found.first_day, friday.strftime("%A")) == (date(2019, 3, 8), "Friday")


@pytest.mark.parametrize(
    ("jurisdiction", "treatment", "what", "days"),
    [
        ("France", JOINT, "race", 15),  # 14 days preceding the race
        ("US", "shock-wave", "training", 15),  # 14 days since 8 July 2024
        ("US", "intra-articular polyacrylamide hydrogel", "race", 181),  # 180 days
        ("Britain", "vaccine", "racecourse property", 8),  # within seven days of vaccination
        ("France", "foaling", "race", 241),  # not for 240 days after foaling
    ],
)
def test_a_count_that_the_text_leaves_open_takes_the_later_day_and_says_so(
    jurisdiction: str, treatment: str, what: str, days: int
) -> None:
    """Where the published wording can be counted in two ways the later day is given, and the answer says that."""
    found = first_day_for(what, stand_downs(treatment, [D], jurisdiction))
    assert found is not None
    assert (found.first_day, found.counting) == (D + timedelta(days=days), Counting.OPEN)
    assert "the later of two ways" in str(found)


def test_a_treatment_that_no_rule_names_is_asked_about_as_any() -> None:
    """In Britain of about 2009 to 2014 less than 8 days was unwise after any treatment; later nothing was said."""
    told = first_day_for("race", stand_downs(ANY, [date(2012, 5, 1)], "Britain"))
    assert told is not None
    assert (told.first_day, told.advice) == (date(2012, 5, 10), True)
    assert stand_downs(ANY, [D], "Britain") == ()


def test_without_the_joint_the_strictest_rule_binds() -> None:
    """In the USA a joint that is not named counts as a fetlock; until 7 July 2024 fetlocks had no own rule."""
    unnamed = first_day_for("race", stand_downs(JOINT, [D], "US"))
    before = first_day_for("race", stand_downs(JOINT, [date(2024, 7, 7)], "US", of="fetlock"))
    after = first_day_for("race", stand_downs(JOINT, [date(2024, 7, 8)], "US", of="fetlock"))
    assert unnamed is not None
    assert before is not None
    assert after is not None
    assert unnamed.first_day == D + timedelta(days=30)
    assert (before.first_day, after.first_day) == (date(2024, 7, 21), date(2024, 8, 7))


def test_every_rule_that_binds_is_told() -> None:
    """A fetlock injection in the USA falls under the rules on fetlocks and on joints, for race and work each."""
    found = stand_downs(JOINT, [D], "US", of="fetlock")
    assert sorted((answer.applies_to[0], answer.count) for answer in found) == [
        ("race", 14),
        ("race", 30),
        ("timed work", 7),
        ("timed work", 14),
    ]


@settings(deadline=None)
@given(st.lists(st.dates(date(2025, 4, 1), date(2026, 1, 1)), min_size=1, max_size=6), st.randoms())
def test_treatment_over_several_days_counts_from_the_last(days: list[date], chance: object) -> None:
    """The count begins with the last day of treatment, in whatever order the days are given."""
    chance.shuffle(days)  # type: ignore[attr-defined]  # hypothesis gives a random.Random
    found = stand_downs(JOINT, days, "Britain")
    assert [answer.first_day for answer in found] == [max(days) + timedelta(days=15)]


def test_hours_run_from_the_moment_and_not_from_the_clock() -> None:
    """48 hours (HISA, July 2024) from 10:00 before clocks go forward in New York end at 11:00 there two days later."""
    at = datetime(2025, 3, 8, 10, 0, tzinfo=ZoneInfo("America/New_York"))
    found = stand_downs("acupuncture", [at.date()], "US", at=at)
    assert [(answer.first_moment, answer.first_day) for answer in found] == [
        (datetime(2025, 3, 10, 15, 0, tzinfo=UTC), date(2025, 3, 10))
    ]
    unknown = stand_downs("acupuncture", [at.date()], "US")
    assert [(answer.first_moment, answer.first_day) for answer in unknown] == [(None, date(2025, 3, 11))]


def test_a_limit_without_a_count_is_told_in_words() -> None:
    """Clenbuterol in Britain has a limit since 1 April 2025 (BHA) and no first day; before there was none."""
    found = stand_downs("clenbuterol", [date(2025, 4, 1)], "Britain")
    assert [(answer.first_day, "two courses in six months" in answer.says) for answer in found] == [(None, True)]
    assert stand_downs("clenbuterol", [date(2025, 3, 31)], "Britain") == ()


def test_old_advice_binds_on_any_treatment_but_not_on_events() -> None:
    """The British advice of about 2009 to 2014 speaks of treatments, is marked as advice, and leaves vaccines out."""
    found = stand_downs("ice or cooling device", [date(2012, 5, 1)], "Britain")
    assert [(answer.advice, answer.first_day) for answer in found] == [(True, date(2012, 5, 10))]
    assert stand_downs("vaccine", [date(2012, 5, 1)], "Britain") == ()


def test_a_yards_own_rule_hides_the_shipped_one() -> None:
    """A yard that leaves 20 days free after a joint injection is answered by its own rule."""
    mine = override(
        "stand-down",
        "our own",
        "Britain",
        "the yard's vet, 2025",
        treatment=JOINT,
        applies_to=["race"],
        count=20,
        unit="days",
        counting="free",
        says="20 days free",
    )
    found = stand_downs(JOINT, [D], "GB", overrides=mine)
    assert [(answer.first_day, answer.rule.origin) for answer in found] == [
        (D + timedelta(days=21), "yard (given in code)")
    ]


def test_what_cannot_be_meant_is_refused() -> None:
    """An unknown treatment, no day, a moment without a zone, and a rule with an unknown way to count are refused."""
    with pytest.raises(UnreadableError, match="shock-wave"):
        stand_downs("shockwave", [D], "Britain")
    with pytest.raises(UnreadableError, match="at least one day"):
        stand_downs(JOINT, [], "Britain")
    with pytest.raises(UnreadableError, match="zone"):
        stand_downs(JOINT, [D], "Britain", at=datetime(2025, 4, 4, 10, 0))  # noqa: DTZ001  # the refusal is meant
    with pytest.raises(RuleFileError, match="figures cannot be used"):
        override(
            "stand-down", "x", "Britain", "nobody", treatment=JOINT, applies_to=["race"], count=1, unit="days",
            counting="roughly", says="x",
        )  # fmt: skip


def test_no_answer_calls_a_horse_clear_or_safe() -> None:
    """No sentence about a stand-down says clear, cleared or safe."""
    for treatment in treatments():
        for place in ("Britain", "Ireland", "France", "Australia", "US", "South Africa", "FEI"):
            for answer in stand_downs(treatment, [D], place):
                assert not {"clear", "cleared", "safe"} & set(str(answer).lower().replace(",", " ").split())
