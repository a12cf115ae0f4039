"""The page of a horse's path to the stalls, and what race day says of it. Steps are common practice, no source."""

from datetime import timedelta

import pytest
from django.conf import settings

import worlds
from mornings import EVE, Hands, enter, only, who
from upsides.books.models import Engagement, Horse, Inside, Sight, Yard
from upsides.books.queries import moments
from upsides.books.queries.stalls_path import lessons
from upsides.books.queries.visitors import visitor
from upsides.books.services.releases import release
from upsides.web.programme.race_day_page import race_day_page
from upsides.web.programme.race_day_views import TO_KNOW
from web.test_plan_pages import answer_of, plain, read
from web.test_translation import MARKED, marked_language, unmarked
from worlds import ClientAs


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def young(hands: Hands) -> Horse:
    """A horse that has never run, here since January."""
    (horse,) = only(1)
    Horse.objects.filter(pk=horse.pk).update(joined="2026-01-05", left=None, horse_key="books:young")
    return Horse.objects.get(pk=horse.pk)


def declared(horse: Horse, days: int = 3, metres: int = 1000) -> Engagement:
    day = EVE.date() + timedelta(days=days)
    return Engagement.objects.create(horse=horse, race="Coombe Stakes", course="Coombe", zone="Europe/London", day=day,
                                     distance_m=metres, state="declared")  # fmt: skip


def taught(horse: Horse, hands: Hands, *done: tuple[int, str, str]) -> None:
    """Enter lessons: days ago, what it did, how it was; out of the stalls it came slowly."""
    for days, what, how in done:
        broke = {"broke": "slow"} if "jumped" in what else {}
        enter("stalls", horse, hands.back(days=days), done=what, how=how, **broke)


def test_a_horse_begins_at_the_beginning(young: Horse, client_as: ClientAs) -> None:
    """Before any lesson the next step is the first, every step is to come, and a lesson can be written down."""
    page = read(client_as("trainer"), f"/horse/{young.pk}/stalls/")
    assert answer_of(page) == "Next at the stalls: to be walked through the stalls."
    assert plain(page).count("to come") == 5 + ("weeks to come" in page)
    assert f'href="/diary/?horse={young.pk}&kind=stalls"' in page
    assert f'href="/horse/{young.pk}/stalls/"' in read(client_as("trainer"), f"/horse/{young.pk}/")


def test_steps_composure_and_break_are_shown(young: Horse, hands: Hands, client_as: ClientAs) -> None:
    """What was composed is learned with its day, what was not is to be tried again; company is a word of it."""
    taught(
        young, hands, (30, "walked_through", "composed"), (20, "jumped", "composed"), (5, "jumped,company", "uneasy")
    )
    text = plain(read(client_as("trainer"), f"/horse/{young.pk}/stalls/"))
    assert "Next at the stalls: to stand in them." in text
    assert "Walked through learned, last on 21 May 2026" in text
    assert "Jumped to be tried again; uneasy on 15 June 2026" in text
    assert "Jumped in company to be tried again; uneasy on 15 June 2026" in text
    assert "15 June 2026 jumped, in company uneasy broke slowly" in text


def test_a_step_without_a_lesson_says_why_it_is_taken(young: Horse, hands: Hands, client_as: ClientAs) -> None:
    """A step that nobody wrote down counts by a later one that was composed, and the page says so."""
    taught(young, hands, (5, "jumped", "composed"))
    text = plain(read(client_as("trainer"), f"/horse/{young.pk}/stalls/"))
    assert "Stood taken as learned: a later step was composed" in text


def test_who_has_learned_is_left_alone(young: Horse, hands: Hands, client_as: ClientAs) -> None:
    """After a composed test nothing is next, and an earlier moment still says what was next then."""
    taught(young, hands, (20, "jumped,company", "composed"))
    hands.to(EVE + timedelta(days=2))
    taught(young, hands, (1, "test", "composed"))
    client, path = client_as("trainer"), f"/horse/{young.pk}/stalls/"
    assert answer_of(read(client, path)) == "It has learned the stalls and is left alone."
    then = read(client, f"{path}?as_of=2026-06-21T02:00")
    assert answer_of(then) == "Next at the stalls: to pass the stalls test."
    assert "Write down a lesson" not in then


def test_company_is_also_told_by_the_order(young: Horse, hands: Hands) -> None:
    """A lesson on a day of stalls upsides was in company although its entry does not say so."""
    other = Horse.objects.exclude(pk=young.pk).order_by("pk")[0]
    taught(young, hands, (5, "jumped", "composed"))
    enter("exercise", young, hands.back(days=5), exercise="stalls", upsides=other.pk)
    (one,) = lessons(moments.now(), [young.pk])[young.pk]
    assert one.steps == {"jumped", "company"}


def test_a_race_in_which_the_break_counts_is_brought_to_mind(young: Horse, client_as: ClientAs) -> None:
    """Before a sprint an untaught horse is brought to mind on its page and on race day, the sheet among it."""
    row = declared(young)
    trainer = client_as("trainer")
    words = "The race is over 1000 m, so the break counts; it has never been at stalls."
    assert words in plain(read(trainer, f"/horse/{young.pk}/stalls/"))
    assert words in plain(read(trainer, f"/race-day/?day={row.day}"))
    page = race_day_page(
        settings.UPSIDES_LIBRARY,
        visitor(who("trainer"), barn=False),
        moments.now(),
        {"day": str(row.day)},
        "/race-day/",
    )
    assert page["runners"][0]["stalls"] == [words]
    assert "stalls" in TO_KNOW


def test_who_has_not_learned_is_brought_to_mind_before_any_race(
    young: Horse, hands: Hands, client_as: ClientAs
) -> None:
    """Over a mile, with no bend known near the stalls, a horse with lessons left is brought to mind all the same."""
    row = declared(young, metres=1600)
    trainer, path = client_as("trainer"), f"/horse/{young.pk}/stalls/"
    assert "It has not gone the whole path to the stalls; it has never been at stalls." in plain(read(trainer, path))
    taught(young, hands, (5, "walked_through", "composed"))
    words = "It has not gone the whole path to the stalls; it was last at stalls 8 days before."
    assert words in plain(read(trainer, path))
    assert words in plain(read(trainer, f"/race-day/?day={row.day}"))
    Engagement.objects.update(distance_m=None)
    assert words in plain(read(trainer, path)), "nor does it matter that nobody entered how far the race is"


def test_a_quiet_page_says_why(young: Horse, hands: Hands, client_as: ClientAs) -> None:
    """Who has learned has nothing to mind over a mile, or in a sprint soon after stalls; which, is said."""
    taught(young, hands, (5, "test", "composed"))
    declared(young, metres=1600)
    trainer, path = client_as("trainer"), f"/horse/{young.pk}/stalls/"
    less = "The break counts less there: the race is over 1600 m, and it is not entered how far the first bend is"
    assert less in plain(read(trainer, path))
    Engagement.objects.update(distance_m=1000)
    near = "The race is over 1000 m, so the break counts; it knows stalls, was at some lately and was not slow away."
    assert near in plain(read(trainer, path))
    Engagement.objects.update(distance_m=None)
    assert "How far that race is is not entered" in plain(read(trainer, path))
    Engagement.objects.update(distance_m=1600)
    taught(young, hands, (2, "jumped", "composed"))
    assert "It was slow away the last time at stalls; the break counts less there" in plain(read(trainer, path))


def test_a_race_that_it_is_meant_for_is_told(young: Horse, client_as: ClientAs) -> None:
    """A race that a horse is only meant for is told as such, after one that it is entered for."""
    row = declared(young, days=20)
    Engagement.objects.update(state="meant")
    trainer, path = client_as("trainer"), f"/horse/{young.pk}/stalls/"
    assert "meant for: Coombe Stakes" in plain(read(trainer, path))
    Engagement.objects.filter(pk=row.pk).update(state="withdrawn")
    assert "It is entered or meant for no race in the ten weeks to come." in plain(read(trainer, path))


def test_races_to_come_are_not_open_without_a_release(young: Horse, hands: Hands, client_as: ClientAs) -> None:
    """A rider sees lessons and path; the race ahead only after a release, which is logged; an owner sees no page."""
    taught(young, hands, (5, "jumped", "composed"))
    declared(young)
    rider, path = client_as("rider"), f"/horse/{young.pk}/stalls/"
    page = read(rider, path)
    assert "broke slowly" in page
    assert "Coombe" not in page
    assert not Sight.objects.exists()
    release(who("trainer"), Inside.PLANS, person=who("rider"), horse=young)
    assert "Coombe Stakes" in read(rider, path)
    assert Sight.objects.filter(person=who("rider"), what="plans", page=path, horse=young).exists()
    assert client_as("owner").get(path).status_code == 403


def test_no_english_is_left(young: Horse, hands: Hands, client_as: ClientAs) -> None:
    """In a marked language nothing on the page is unmarked but names, days and data."""
    taught(young, hands, (30, "walked_through", "composed"), (5, "jumped,company", "uneasy"))
    declared(young)
    trainer = client_as("trainer")
    with marked_language():
        page = read(trainer, f"/horse/{young.pk}/stalls/")
    assert MARKED.search(page)
    assert unmarked(page, {young.name, "Coombe Stakes", "Coombe", who("trainer").name, Yard.objects.get().name}) == []
