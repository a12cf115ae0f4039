"""Whom to look at first: what draws the eye, what ends it, and that nothing is measured by saying "as usual"."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from mornings import DAWN, Hands, enter, horses, only
from upsides.books import clock
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.looking import EYES_ON, Look, Why, look_first, warm_of
from upsides.rules import NONE, looking_first, override

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    """A horse that everybody has looked at; all others are out of the way."""
    (one,) = only(1)
    enter("as_usual", one, hands.back(hours=12))
    return one


def reasons(overrides: object = NONE) -> list[Why]:
    found: list[Look] = look_first(moments.now(), overrides)  # type: ignore[arg-type]  # what a test hands in
    return [reason.why for look in found for reason in look.reasons]


def test_a_horse_as_usual_draws_no_eye(horse: Horse) -> None:
    """A horse that was found as usual within the day is not on the list."""
    assert reasons() == []


@pytest.mark.parametrize(
    ("celsius", "drawn"), [("38.5", []), ("38.6", [Why.TEMPERATURE]), ("101.5", [Why.TEMPERATURE])]
)
def test_a_temperature_from_38_6_draws_the_eye(horse: Horse, hands: Hands, celsius: str, drawn: list[Why]) -> None:
    """The highest resting temperature that veterinary pages print is 38.6 °C: from there a horse is looked at."""
    enter("temperature", horse, hands.back(hours=1), celsius=celsius)
    assert reasons() == drawn


def test_a_temperature_is_held_against_the_horse_s_own(horse: Horse, hands: Hands) -> None:
    """A horse whose usual is 37.3 draws the eye at 37.9, 0.6 above; with four earlier readings nothing is usual yet."""
    for back in range(2, 6):
        enter("temperature", horse, hands.back(days=back), celsius="37.3")
    enter("temperature", horse, hands.back(hours=1), celsius="37.9")
    assert reasons() == []
    enter("temperature", horse, hands.back(days=6), celsius="37.3")
    assert reasons() == [Why.ABOVE_OWN]


def test_the_last_temperature_of_a_day_counts(horse: Horse, hands: Hands) -> None:
    """A temperature that was read again on the same day and came down is no longer in sight."""
    enter("temperature", horse, hands.back(hours=4), celsius="39.2")
    assert reasons() == [Why.TEMPERATURE]
    enter("temperature", horse, hands.back(hours=1), celsius="38.0")
    assert reasons() == []


def test_a_temperature_of_yesterday_stays_in_sight(horse: Horse, hands: Hands) -> None:
    """One that came down since yesterday is told with what was read since, until a vet looks or its time is past."""
    high = enter("temperature", horse, hands.back(hours=30), celsius="39.4")
    enter("temperature", horse, hands.back(hours=1), celsius="37.7")
    (look,) = look_first(moments.now())
    (told,) = look.reasons
    read_at = high.happened_at.astimezone(clock.place().zone)
    assert (told.why, told.entry) == (Why.TEMPERATURE, high.pk)
    assert told.words == f"Temperature 39.4 °C on {read_at.day} {read_at:%B}, 37.7 since."
    assert warm_of(moments.now(), horse.pk) == told
    enter("vet_finding", horse, hands.at, login="vet", text="scoped clean")
    assert (reasons(), warm_of(moments.now(), horse.pk)) == ([], None)


def test_as_usual_takes_back_no_number(horse: Horse, hands: Hands) -> None:
    """That somebody looked and found it as usual measures nothing: the temperature before it stays in sight."""
    enter("temperature", horse, hands.back(hours=8), celsius="39.2")
    enter("as_usual", horse, hands.back(hours=1))
    assert reasons() == [Why.TEMPERATURE]


def test_asking_the_vet_comes_first_and_the_vet_ends_it(horse: Horse, hands: Hands) -> None:
    """Not right with the vet asked stands before all else, until a vet has looked; what the vet grades lame stays."""
    enter("feed_left", horse, hands.back(hours=11), left="all")
    enter("not_right", horse, hands.back(hours=3), limb="near_fore", ask_vet="1")
    enter("leg", horse, hands.back(hours=3), limb="near_fore", place="tendon", signs="heat,filling")
    assert reasons() == [Why.VET_ASKED, Why.LEG, Why.FEED_LEFT]
    enter("vet_finding", horse, hands.back(hours=1), login="vet", text="bruised foot", advice="walk")
    enter("lameness", horse, hands.back(hours=1), login="vet", limb="near_fore", scale="5", grade="1.5")
    assert reasons() == [Why.LAME, Why.FEED_LEFT]


def test_legs_felt_as_usual_end_a_leg_only(horse: Horse, hands: Hands) -> None:
    """Legs felt and as usual take a finding on a leg out of sight, and nothing else."""
    enter("leg", horse, hands.back(hours=30), limb="off_hind", place="fetlock", signs="filling")
    enter("not_right", horse, hands.back(hours=30), text="dull")
    enter("legs_felt", horse, hands.back(hours=14))
    assert reasons() == [Why.NOT_RIGHT]


def test_a_shoe_draws_the_eye_until_the_farrier_saw_to_that_foot(horse: Horse, hands: Hands) -> None:
    """A lost shoe stands among those to look at before the horse goes out, after a leg; neither the vet nor the
    farrier's visit to another foot ends it, his visit to that foot, or to all four, does."""
    enter("shoe", horse, hands.back(hours=9), wrong="lost", feet="off_fore")
    enter("leg", horse, hands.back(hours=8), limb="near_fore", place="foot", signs="heat")
    assert reasons() == [Why.LEG, Why.SHOE]
    assert Why.SHOE < EYES_ON
    enter("vet_finding", horse, hands.back(hours=7), login="vet", text="sound")
    enter("farrier", horse, hands.back(hours=6), done="refit", feet="near_hind")
    assert reasons() == [Why.SHOE]
    enter("farrier", horse, hands.back(hours=5), done="pulled", feet="off_fore,near_fore")
    assert reasons() == []
    enter("shoe", horse, hands.back(hours=4), wrong="loose,clenches")
    enter("farrier", horse, hands.back(hours=3), done="refit", feet="off_fore")
    assert reasons() == [Why.SHOE]
    enter("farrier", horse, hands.back(hours=2), done="new")
    assert reasons() == []


def test_what_is_older_than_two_days_is_out_of_sight(horse: Horse, hands: Hands) -> None:
    """Something not right is kept in sight for 48 hours unless it is said again."""
    enter("not_right", horse, hands.back(hours=49), text="quiet")
    assert reasons() == []
    enter("not_right", horse, hands.back(hours=47), text="quiet")
    assert reasons() == [Why.NOT_RIGHT]


@pytest.mark.parametrize(("kg", "drawn"), [("488", []), ("487.4", [Why.MASS]), ("513", [Why.MASS])])
def test_mass_is_held_against_the_same_scale(horse: Horse, hands: Hands, kg: str, drawn: list[Why]) -> None:
    """A change of 2.5 % against its own mean draws the eye (Korea 2008); another scale's masses are not compared."""
    for back in (20, 13):
        enter("mass", horse, hands.back(days=back), kg="500", scale="Yard")
    enter("mass", horse, hands.back(days=6), kg="460", scale="Clinic")
    enter("mass", horse, hands.back(hours=2), kg=kg, scale="Yard")
    assert reasons() == drawn


def test_missing_mass_is_a_finding_where_there_was_one(horse: Horse, hands: Hands) -> None:
    """A horse that was weighed and then not for over 14 days is named; one that is never weighed is not."""
    assert reasons() == []
    enter("mass", horse, hands.back(days=15, hours=1), kg="500")
    assert reasons() == [Why.NO_MASS]


def test_nobody_s_entry_for_a_day_is_a_finding(horse: Horse, hands: Hands) -> None:
    """A horse of which nothing was entered for more than 24 hours is on the list; one that came today is not."""
    hands.to(DAWN + timedelta(hours=13))
    assert reasons() == [Why.UNSEEN]
    Horse.objects.filter(pk=horse.pk).update(joined=hands.at.date())
    assert reasons() == []


def test_a_dose_entered_twice_on_a_day_is_asked_about(horse: Horse, hands: Hands) -> None:
    """Two entries of the same product on one day ask whether it was given twice."""
    given = {"product": "Gripex", "quantity": "10 ml", "route": "oral", "what": "other", "reason": "cough"}
    enter("treatment", horse, hands.back(hours=3), **given)
    assert reasons() == []
    enter("treatment", horse, hands.back(hours=2), login="head_person", **given)
    assert reasons() == [Why.GIVEN_TWICE]


def test_the_yard_s_own_rule_goes_first(horse: Horse, hands: Hands) -> None:
    """A yard that looks from 38.3 on says so in its rules, and every rule shows its source."""
    enter("temperature", horse, hands.back(hours=1), celsius="38.4")
    own = override("looking first", "Our own", "anywhere", "the yard, 2030", kind="temperature", unit="°C", value=38.3)
    assert reasons() == []
    assert reasons(own) == [Why.TEMPERATURE]
    assert looking_first(date(2030, 5, 1), own).rules["temperature"].origin.startswith("yard")


def test_each_reason_names_its_entry(horse: Horse, hands: Hands) -> None:
    """A reason leads to the entry that it comes from."""
    entry = enter("temperature", horse, hands.back(hours=1), celsius="39.0")
    (look,) = look_first(moments.now())
    assert [(one.entry, one.words) for one in look.reasons] == [(entry.pk, "Temperature 39.0 °C.")]


def test_as_of_an_earlier_moment_the_list_is_what_it_was(horse: Horse, hands: Hands) -> None:
    """What was entered since is not known to an earlier moment."""
    enter("temperature", horse, hands.back(hours=1), celsius="39.2")
    then = hands.to(DAWN + timedelta(minutes=1))
    hands.to(DAWN + timedelta(hours=1))
    enter("temperature", horse, hands.at, celsius="38.0")
    assert reasons() == []
    assert [one.reasons[0].why for one in look_first(moments.as_of(then)) if one.horse == horse] == [Why.TEMPERATURE]


def test_the_number_of_queries_does_not_grow(hands: Hands) -> None:
    """Ten horses with entries take as many queries as one."""

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            look_first(moments.now())
        return len(queries)

    first, *rest = horses(10)
    enter("temperature", first, hands.back(hours=1), celsius="39.0")
    one = asked()
    for other in rest:
        enter("temperature", other, hands.back(hours=1), celsius="39.0")
    assert asked() == one
