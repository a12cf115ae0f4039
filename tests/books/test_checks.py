"""The rounds of a barn: who was looked at, what was measured, in which order, at which moment."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from upsides.books import clock
from upsides.books.models import Box, Caution, Entry, Horse, Move, Person, Stand, Yard
from upsides.books.queries import moments
from upsides.books.queries.checks import BarnRound, Checked, Round, barn_round, news
from upsides.books.queries.visitors import Visitor, visitor
from upsides.books.services.diary import Draft, record, withdraw

pytestmark = pytest.mark.django_db
DAY = date(2026, 6, 10)
DAWN = datetime(2026, 6, 10, 4, 30, tzinfo=UTC)
"""05:30 in London, where the yard is."""
DUSK = datetime(2026, 6, 10, 16, tzinfo=UTC)
BEFORE = DAY - timedelta(days=30)

Enter = Callable[..., Entry]


@pytest.fixture
def at(db: None, monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    """Set the clock of a yard whose day moves; it begins at dawn."""
    Yard.objects.update(fixed_day=None)

    def set_to(when: datetime) -> None:
        monkeypatch.setattr(clock, "now", lambda: when)

    set_to(DAWN)
    return set_to


@pytest.fixture
def string(at: Callable[[datetime], None]) -> list[Horse]:
    """Three horses in the Top barn, walked from the third to the first, and one in the Low barn, walked last."""
    horses = list(Horse.objects.order_by("pk")[:4])
    Horse.objects.exclude(pk__in=[horse.pk for horse in horses]).update(left=BEFORE)
    for place, (horse, name) in enumerate(zip((horses[2], horses[1], horses[0]), "ABC", strict=True), start=1):
        stand(horse, "Top", name, place)
    stand(horses[3], "Low", "1", 4)
    return horses


def stand(horse: Horse, barn: str, name: str, place: int) -> None:
    box = Box.objects.create(barn=barn, name=name, position=place)
    Stand.objects.create(horse=horse, box=box, first_day=BEFORE)


def who(login: str = "carer") -> Visitor:
    return visitor(Person.objects.get(login=login), barn=False)


def enter(horse: Horse, kind: str, login: str = "carer", when: datetime | None = None, **values: object) -> Entry:
    person = Person.objects.get(login=login)
    return record(Draft(uuid4(), kind, horse.pk, values, clock.now(), when), person)


def walked(which: Round | None = None, barn: str | None = "Top") -> BarnRound:
    return barn_round(moments.now(), barn, which, who())


def row(horse: Horse, which: Round | None = None) -> Checked:
    return next(one for one in walked(which).horses if one.number == horse.pk)


def kinds(one: Checked) -> list[str]:
    return [entry.entry.kind for entry in one.entries]


def test_a_barn_is_walked_in_the_order_of_its_boxes(string: list[Horse]) -> None:
    """The horses of one barn stand in the order of its boxes, the barns in the order in which they are walked."""
    seen = walked()
    assert [one.name for one in seen.horses] == [string[place].name for place in (2, 1, 0)]
    assert [one.stood.name for one in seen.horses if one.stood] == ["A", "B", "C"]
    assert seen.barns == ("Top", "Low")


def test_only_horses_in_training_are_walked_and_none_is_lost(string: list[Horse]) -> None:
    """One that is turned out is not on the round; one without a box is on the round of those without."""
    Move.objects.create(horse=string[0], to=Move.To.TURNED_OUT, first_day=DAY)
    Stand.objects.create(horse=string[1], box=None, first_day=DAY)
    assert [one.number for one in walked().horses] == [string[2].pk]
    assert walked().barns == ("Top", "Low", "")
    assert [one.number for one in walked(barn="").horses] == [string[1].pk]


def test_ones_own_barn_stands_first_where_none_was_chosen(string: list[Horse]) -> None:
    """Without a choice, or with one that is no barn, the reader's own barn is shown; without an own one the first."""
    Person.objects.filter(login="carer").update(barn="Low")
    assert [walked(barn=barn).barn for barn in (None, "Nowhere", "Top")] == ["Low", "Low", "Top"]
    Person.objects.filter(login="carer").update(barn="")
    assert walked(barn=None).barn == "Top"


def test_not_seen_looked_at_and_measured_are_three_things(string: list[Horse]) -> None:
    """A measurement says nothing of having looked, a look measures nothing, and of a horse not seen nothing is said."""
    enter(string[0], "temperature", celsius="38.2")
    enter(string[1], "as_usual")
    measured, looked, unseen = (row(horse) for horse in string[:3])
    assert (measured.looked_at, measured.measured) == (False, True)
    assert (looked.looked_at, looked.measured, kinds(looked)) == (True, False, ["as_usual"])
    assert (unseen.looked_at, unseen.measured, unseen.entries) == (False, False, ())


def test_what_stands_counts_and_nothing_else(string: list[Horse]) -> None:
    """A tap that was withdrawn leaves the horse not looked at; a correction stands in place of what it corrects."""
    wrong = enter(string[0], "as_usual")
    withdraw(wrong, wrong.author, client_id=uuid4(), made_at=clock.now())
    assert not row(string[0]).looked_at
    first = enter(string[0], "temperature", celsius="38.2")
    record(Draft(uuid4(), "temperature", string[0].pk, {"celsius": "38.9"}, clock.now(), supersedes=first.client_id),
           first.author)  # fmt: skip
    assert [entry.entry.values for entry in row(string[0]).entries] == [{"celsius": 38.9}]


def test_the_morning_ends_at_noon_in_the_yards_own_time(string: list[Horse], at: Callable[[datetime], None]) -> None:
    """What was so before 12:00 of the yard belongs to the morning, what was so at 12:00 to the evening."""
    noon = datetime(2026, 6, 10, 11, tzinfo=UTC)
    at(DUSK)
    enter(string[0], "as_usual", when=noon - timedelta(seconds=1))
    enter(string[0], "legs_felt", when=noon)
    enter(string[0], "not_right", when=noon - timedelta(days=1))
    enter(string[0], "note", when=datetime(2026, 6, 9, 23, tzinfo=UTC), text="just after midnight")
    morning, evening = row(string[0], Round.MORNING), row(string[0])
    assert walked().round is walked().now is Round.EVENING
    assert (kinds(morning), kinds(evening)) == (["note", "as_usual"], ["legs_felt"])
    assert [entry.entry.kind for entry in evening.other] == ["note", "as_usual"]


def test_what_the_vet_allows_is_shown_while_it_holds(string: list[Horse]) -> None:
    """The last advice holds to its last day, or until other advice; "as usual" ends it, and words alone do not."""
    enter(string[0], "vet_finding", "trainer", text="knock", advice="walk", until="2026-06-10")
    enter(string[1], "vet_finding", "trainer", text="knock", advice="walk", until="2026-06-09")
    enter(string[2], "vet_finding", "trainer", text="cough", advice="box")
    enter(string[2], "vet_finding", "trainer", text="seen again")
    first, second, third = (row(horse).restricted for horse in string[:3])
    assert first
    assert third
    assert (first.finding.advice, first.until, second) == ("walk", DAY, None)
    assert (third.finding.advice, third.until) == ("box", None)
    enter(string[2], "vet_finding", "trainer", text="over it", advice="as_usual")
    assert row(string[2]).restricted is None


def test_treatment_is_shown_on_each_day_of_its_course(string: list[Horse]) -> None:
    """A treatment of today and one whose course lasts till today are shown, one that ended yesterday is not."""
    given = {"product": "Linctus", "quantity": "10 ml", "route": "oral", "what": "other", "reason": "cough"}
    early = DAWN - timedelta(days=5)
    enter(string[0], "treatment", "trainer", **given)
    enter(string[1], "treatment", "trainer", when=early, course_end="2026-06-10", **given)
    enter(string[2], "treatment", "trainer", when=early, course_end="2026-06-09", **given)
    assert [len(row(horse).treatments) for horse in string[:3]] == [1, 1, 0]
    assert not row(string[0]).entries


def test_cautions_of_the_box_are_shown_and_no_others(string: list[Horse]) -> None:
    """What to mind in the box is shown while it holds; what matters when riding is not."""
    for about, text, last in (("box", "kicks", None), ("riding", "keen", None), ("box", "bites", BEFORE)):
        Caution.objects.create(horse=string[0], about=about, text=text, first_day=BEFORE, last_day=last)
    assert row(string[0]).cautions == ("kicks",)


def test_as_of_a_moment_a_round_is_what_it_was(string: list[Horse], at: Callable[[datetime], None]) -> None:
    """What arrived later, and a horse that moved box later, are not on the round of the moment."""
    for model in (Horse, Person, Box, Stand, Yard):
        model.history.update(history_date=DAWN - timedelta(days=40))
    enter(string[0], "as_usual")
    then = moments.as_of(DAWN + timedelta(minutes=5))
    at(DUSK)
    enter(string[1], "as_usual", when=DAWN)
    Stand.objects.create(horse=string[0], box=None, first_day=DAY)
    past = barn_round(then, None, None, who())
    assert past.round is Round.MORNING
    assert [(one.number, one.looked_at) for one in past.horses] == [
        (string[2].pk, False),
        (string[1].pk, False),
        (string[0].pk, True),
    ]


def test_a_judgement_of_another_is_told_in_outline(string: list[Horse]) -> None:
    """A mind that another entered says on the round that it was entered, and not what it says."""
    enter(string[0], "mind", "trainer", mind="dull")
    (entry,) = row(string[0]).entries
    assert "dull" not in entry.words


def test_a_round_costs_the_same_whatever_its_size(string: list[Horse]) -> None:
    """The number of queries does not grow with horses and entries."""
    enter(string[0], "as_usual")
    enter(string[0], "vet_finding", "trainer", text="knock", advice="walk")
    reader = who()
    with CaptureQueriesContext(
        connection,
    ) as few:
        barn_round(moments.now(), "Top", None, reader)
    for horse in string[:3]:
        for kind, values in (("as_usual", {}), ("temperature", {"celsius": "38"}), ("leg", LEG)):
            enter(horse, kind, "trainer", **values)
        enter(horse, "vet_finding", "trainer", text="knock", advice="walk")
        Caution.objects.create(horse=horse, about="box", text="kicks", first_day=BEFORE)
    with CaptureQueriesContext(connection) as many:
        barn_round(moments.now(), "Top", None, reader)
    assert len(many) <= len(few) <= 20


LEG: dict[str, object] = {"limb": "near_fore", "place": "fetlock", "signs": "heat"}


def test_news_change_with_whatever_changes_a_round(
    string: list[Horse], django_assert_num_queries: Callable[..., object]
) -> None:
    """An entry, a withdrawal, a move to another box or away, and a new name each change the news; reading does not."""
    told = [news()]
    wrong = enter(string[0], "as_usual")
    told.append(news())
    withdraw(wrong, wrong.author, client_id=uuid4(), made_at=clock.now())
    told.append(news())
    Stand.objects.create(horse=string[0], box=None, first_day=DAY)
    told.append(news())
    Move.objects.create(horse=string[1], to=Move.To.AWAY, first_day=DAY)
    told.append(news())
    string[2].name = "Renamed"
    string[2].save()
    told.append(news())
    assert len(set(told)) == len(told)
    with django_assert_num_queries(1):
        assert news() == told[-1]
