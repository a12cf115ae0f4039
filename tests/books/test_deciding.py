"""Decisions about races: each step once, in its order, in time, by the rules; rows are only ever added."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

import worlds
from medicine_yard import boosted
from programmed_yard import code_of, engage_for, marked, programmed
from upsides.books import clock
from upsides.books.models import Bond, Decision, Declarable, Engagement, Horse, Person, Role
from upsides.books.queries import moments
from upsides.books.queries.deadlines import Step, deadlines
from upsides.books.queries.engaged import engaged, pressing
from upsides.books.queries.entrants import entrants
from upsides.books.queries.jockeys import Kind, Ride, hindrances
from upsides.books.queries.placing import case_of
from upsides.books.queries.programme import programme
from upsides.books.services.deciding import Said, decide
from upsides.books.services.people import add_person
from upsides.errors import (
    DecisionLateError,
    DecisionRefusedError,
    DecisionTwiceError,
    HorseHereUnknownError,
    RaceUnknownError,
)
from upsides.placing import Says, Stage, Terms

pytestmark = pytest.mark.django_db


@pytest.fixture
def sedge(loaded: worlds.Yard) -> str:
    """The code of a handicap in eight days whose entries close in two, declarations in six."""
    programmed(loaded.library)
    return code_of(loaded.library, "Sedge Handicap")


@pytest.fixture
def horse(loaded: worlds.Yard) -> Horse:
    return marked(Horse.objects.order_by("pk")[0])


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Return a function that puts the clock of the books forward by some days."""
    present = clock.now()

    def forward(**more: float) -> None:
        monkeypatch.setattr(clock, "now", lambda: present + timedelta(**more))

    return forward


def said(horse: Horse, code: str, step: str, **more: object) -> Said:
    return Said(uuid4(), horse.pk, code, step, **more)  # type: ignore[arg-type]  # fields of Said


def test_steps_are_rows_that_add_up(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """Meant, entered, declared and taken out are four rows; the engagement stands as the last, costs are added up."""
    for step in ("mean", "enter", "declare", "withdraw"):
        row = engage_for(horse, sedge, loaded.library, trainer, step, certified=False if step == "withdraw" else None)
    (one,) = engaged(loaded.library, moments.now())
    assert row.state == Engagement.State.WITHDRAWN
    assert [each.step for each in one.decisions] == ["mean", "enter", "declare", "withdraw"]
    assert [each.cost for each in one.decisions] == [None, Decimal("40"), Decimal("40"), None]
    assert [str(sum_) for sum_ in one.spent] == ["80 GBP"]
    assert {each.by for each in one.decisions} == {trainer}


def test_a_row_is_never_changed_or_removed(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """The database itself refuses an update and a removal of a decision."""
    engage_for(horse, sedge, loaded.library, trainer)
    with pytest.raises(IntegrityError), transaction.atomic():
        Decision.objects.update(why="otherwise")
    with pytest.raises(IntegrityError), transaction.atomic():
        Decision.objects.all()._raw_delete(Decision.objects.db)


def test_a_button_pressed_twice_says_it_once(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """The same number is the same decision; a different thing under its number is refused."""
    one = said(horse, sedge, "enter")
    assert decide(loaded.library, one, trainer) == decide(loaded.library, one, trainer)
    assert Decision.objects.count() == 1
    with pytest.raises(DecisionTwiceError):
        decide(loaded.library, Said(one.client_id, horse.pk, sedge, "withdraw"), trainer)


def test_what_comes_too_late_is_refused_by_the_courses_clock(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person, later: Callable[..., None]
) -> None:
    """An entry after noon of its closing day is refused with that moment; said in time and written later it stands."""
    closes = clock.today() + timedelta(days=2)
    later(days=2, hours=23 - clock.now().hour)
    with pytest.raises(DecisionLateError, match="12:00"):
        decide(loaded.library, said(horse, sedge, "enter"), trainer)
    assert Decision.objects.count() == 0
    assert Engagement.objects.count() == 0
    in_time = clock.now().replace(year=closes.year, month=closes.month, day=closes.day, hour=10, minute=59)
    made = decide(loaded.library, said(horse, sedge, "enter", said_at=in_time), trainer)
    assert made.said_at == in_time < made.recorded_at


def test_what_was_said_in_time_is_written_down_after_the_race(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person, later: Callable[..., None]
) -> None:
    """After a race a declaration is taken that says when before its deadline it was said, so that the result can be
    written; one that does not, or names a moment after the race, is refused."""
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    entered = clock.now()
    later(days=10)
    with pytest.raises(DecisionRefusedError, match="the race is over"):
        decide(loaded.library, said(horse, sedge, "declare"), trainer)
    with pytest.raises(DecisionRefusedError, match="the race is over"):
        decide(loaded.library, said(horse, sedge, "declare", said_at=clock.now() - timedelta(hours=12)), trainer)
    with pytest.raises(DecisionLateError):
        decide(loaded.library, said(horse, sedge, "declare", said_at=entered + timedelta(days=7)), trainer)
    made = decide(loaded.library, said(horse, sedge, "declare", said_at=entered + timedelta(days=1)), trainer)
    assert made.engagement.state == Engagement.State.DECLARED


def test_a_step_that_does_not_follow_is_refused(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """What is not entered cannot be declared, and nothing is left half-written."""
    with pytest.raises(DecisionRefusedError, match="not meant for it"):
        decide(loaded.library, said(horse, sedge, "declare"), trainer)
    with pytest.raises(DecisionRefusedError, match="no such step"):
        decide(loaded.library, said(horse, sedge, "dance"), trainer)
    assert not Engagement.objects.exists()


def test_an_entry_that_must_be_confirmed_is_not_declared_before(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person
) -> None:
    """A race with a stage of confirmation takes no declaration of an entry that was not confirmed."""
    bracken = code_of(loaded.library, "Bracken Stakes")
    engage_for(horse, bracken, loaded.library, trainer, "enter", anyway=True)
    with pytest.raises(DecisionRefusedError, match="not confirmed"):
        decide(loaded.library, said(horse, bracken, "declare", anyway=True), trainer)
    engage_for(horse, bracken, loaded.library, trainer, "confirm")
    assert decide(loaded.library, said(horse, bracken, "declare", anyway=True), trainer).step == "declare"


def test_what_the_rules_shut_needs_a_word_more(loaded: worlds.Yard, sedge: str, trainer: Person) -> None:
    """A horse without a mark is not entered for a handicap by a slip; said all the same it is written down."""
    bare = Horse.objects.order_by("pk")[3]
    with pytest.raises(DecisionRefusedError, match="may not run"):
        decide(loaded.library, said(bare, sedge, "enter"), trainer)
    assert decide(loaded.library, said(bare, sedge, "enter", anyway=True), trainer).step == "enter"


def test_nobody_is_entered_who_is_not_there(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """A horse that was sold cannot be entered, nor any horse for a race that no programme names."""
    with pytest.raises(RaceUnknownError):
        decide(loaded.library, said(horse, "0" * 12, "enter"), trainer)
    horse.left = clock.today()
    horse.save()
    with pytest.raises(HorseHereUnknownError, match=horse.name):
        decide(loaded.library, said(horse, sedge, "enter"), trainer)


def test_the_morning_tells_what_must_be_said(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """A horse meant for a race stands among the deadlines within 60 hours, and no more once it is entered."""
    engage_for(horse, sedge, loaded.library, trainer)
    found = deadlines(moments.now(), 60)
    assert [(one.horse.pk, one.step, f"{one.by:%H:%M}") for one in found] == [(horse.pk, Step.ENTER, "12:00")]
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    assert deadlines(moments.now(), 60) == []
    (one,) = pressing(engaged(loaded.library, moments.now()), clock.now())
    assert one.due is not None
    assert one.due.stage is Stage.DECLARE


def test_as_of_a_moment_later_decisions_are_unknown(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person, later: Callable[..., None]
) -> None:
    """As of the moment of an entry, a withdrawal an hour later is not known and costs stand as they stood."""
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    then = moments.as_of(clock.now())
    later(hours=1)
    engage_for(horse, sedge, loaded.library, trainer, "withdraw")
    (one,) = engaged(loaded.library, then)
    assert (one.engagement.state, [each.step for each in one.decisions]) == ("entered", ["enter"])
    (now,) = engaged(loaded.library, moments.now())
    assert now.engagement.state == "withdrawn"


def test_what_is_declared_with_it_is_written_down(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person
) -> None:
    """A fact ticked with the declaration is declared from that day; one that was not ticked stays due."""
    hood, strap = (Declarable.objects.create(horse=horse, what=what, happened_on=clock.today())
                   for what in ("hood", "tongue_strap"))  # fmt: skip
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    engage_for(horse, sedge, loaded.library, trainer, "declare", declared=(hood.pk,))
    hood.refresh_from_db()
    strap.refresh_from_db()
    assert (hood.declared_on, strap.declared_on) == (clock.today(), None)


def test_a_declared_horse_taken_out_may_be_kept_away(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person
) -> None:
    """In Britain a declared horse that is taken out without a vet's certificate may not run in the seven days after
    (British Horseracing Authority, non-runner rules; the shipped rule's own first day is asked)."""
    boosted(horse, clock.today() - timedelta(days=30))
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    engage_for(horse, sedge, loaded.library, trainer, "declare")
    engage_for(horse, sedge, loaded.library, trainer, "withdraw", certified=False)
    entrant = entrants(loaded.library, moments.now(), [horse])[horse.pk]
    assert [one.reason for one in entrant.kept] == ["taken out of Sedge Handicap"]
    first, last = entrant.kept[0].first, entrant.kept[0].last
    assert first == clock.today() + timedelta(days=8)
    assert last is not None
    assert last > first


def test_a_declared_horse_is_not_taken_out_without_a_word_on_the_vet(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person
) -> None:
    """Whether a vet certifies it decides when it may race again, so it is asked; of an entry it is not."""
    boosted(horse, clock.today() - timedelta(days=30))
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    engage_for(horse, sedge, loaded.library, trainer, "declare")
    with pytest.raises(DecisionRefusedError, match="whether a vet certifies"):
        decide(loaded.library, said(horse, sedge, "withdraw"), trainer)
    assert Engagement.objects.get(horse=horse).state == "declared"
    assert decide(loaded.library, said(horse, sedge, "withdraw", certified=True), trainer).certified is True


def test_what_stands_in_a_jockeys_way_is_told(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """Suspended on the day, retained by another owner, heavier than the horse carries, and booked twice in a race."""
    race = programme(loaded.library, moments.now()).races[sedge]
    rider = add_person("A. Hurdle", [Role.RIDER])
    Person.objects.filter(pk=rider.pk).update(minimum_lb=130, claim_lb=3)
    rider.refresh_from_db()
    other = Person.objects.get(login="owner2")
    Bond.objects.create(person=rider, kind="retainer", owner=other, first_day=clock.today())
    found = hindrances(loaded.library, moments.now(), Ride(rider, "", 3), horse, race, sedge)
    assert {one.kind for one in found} == {Kind.RETAINED, Kind.TOO_HEAVY}
    heavy = next(one for one in found if one.kind is Kind.TOO_HEAVY)
    case = case_of(sedge, race, horse, entrants(loaded.library, moments.now(), [horse])[horse.pk], Terms())
    assert case.carried is not None
    assert (heavy.carries_lb, heavy.least_lb) == (case.carried.published - 3, 130)
    Bond.objects.create(person=rider, kind="suspension", country="GB", first_day=clock.today())
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    with pytest.raises(DecisionRefusedError, match="suspended"):
        decide(loaded.library, said(horse, sedge, "jockey", rider=rider.pk), trainer)


def a_jockey(name: str, **more: object) -> Person:
    rider = add_person(name, [Role.RIDER])
    Person.objects.filter(pk=rider.pk).update(**more)
    rider.refresh_from_db()
    return rider


def test_a_jockey_typed_by_name_is_the_one_of_the_books(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person
) -> None:
    """However his name is typed, what binds him is asked; of two of one name the list must say which; and one whom the
    books do not know is taken by his name."""
    rider = a_jockey("A. Hurdle", claim_lb=3)
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    made = decide(loaded.library, said(horse, sedge, "jockey", jockey=" a hurdle "), trainer)
    assert (made.rider, made.jockey) == (rider, "")
    assert decide(loaded.library, said(horse, sedge, "jockey", jockey="B. Fence"), trainer).jockey == "B. Fence"
    Bond.objects.create(person=rider, kind="suspension", country="UK", first_day=clock.today())
    with pytest.raises(DecisionRefusedError, match="suspended"):
        decide(loaded.library, said(horse, sedge, "jockey", jockey="A HURDLE"), trainer)
    a_jockey("A Hurdle", minimum_lb=110)
    with pytest.raises(DecisionRefusedError, match="more than one"):
        decide(loaded.library, said(horse, sedge, "jockey", jockey="A. Hurdle"), trainer)


@pytest.mark.parametrize(
    ("books", "claim", "kinds"),
    [
        (7, 7, set()),
        (7, 14, {Kind.OTHER_CLAIM}),
        (None, 3, {Kind.OTHER_CLAIM}),
        (7, None, {Kind.UNCLAIMED}),
        (None, None, set()),
    ],
)
def test_a_claim_is_held_against_the_books(
    loaded: worlds.Yard, sedge: str, horse: Horse, books: int | None, claim: int | None, kinds: set[Kind]
) -> None:
    """Where one may claim, a claim other than the one of the books is told, and a claimer without one."""
    race = programme(loaded.library, moments.now()).races[sedge]
    rider = a_jockey("A. Hurdle", claim_lb=books)
    found = hindrances(loaded.library, moments.now(), Ride(rider, "", claim), horse, race, sedge)
    assert {one.kind for one in found} == kinds


def test_his_other_rides_of_the_day_are_told(loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person) -> None:
    """Booked for another of ours in the race, at another course that day, or in a race too close before or after is
    told; a horse that was taken out holds no jockey."""
    rider, other = a_jockey("A. Hurdle", minimum_lb=100), Horse.objects.order_by("pk")[1]
    races = programme(loaded.library, moments.now()).races
    race = races[sedge]
    engage_for(marked(other), sedge, loaded.library, trainer, "enter", anyway=True)
    engage_for(other, sedge, loaded.library, trainer, "jockey", rider=rider.pk)

    def told() -> list[tuple[Kind, str]]:
        found = hindrances(loaded.library, moments.now(), Ride(rider), horse, race, sedge)
        return [(one.kind, one.name) for one in found]

    assert told() == [(Kind.TAKEN, other.name)]
    row = Engagement.objects.get(horse=other)
    for change, kinds in (
        ({"race_code": "another", "off_at": race.off + timedelta(minutes=10)}, [Kind.TOO_CLOSE]),
        ({"off_at": race.off + timedelta(minutes=35)}, []),
        ({"course": "Tarn Moor"}, [Kind.ELSEWHERE]),
        ({"course": race.course, "race_code": sedge}, [Kind.TAKEN]),
        ({"state": "withdrawn"}, []),
    ):
        Engagement.objects.filter(pk=row.pk).update(**change)
        assert [kind for kind, _name in told()] == kinds


@pytest.mark.parametrize(
    ("country", "binds"),
    [("", True), ("GB", True), ("gb", True), ("UK", True), ("Britain", True), ("England", True), ("GBR", True),
     ("Europe", True), ("IRE", False), ("Ireland", False), ("Hong Kong", False), ("Ruritania", True)],
)  # fmt: skip
def test_a_country_is_read_however_it_is_written(
    loaded: worlds.Yard, sedge: str, horse: Horse, country: str, binds: bool,  # noqa: FBT001  # a case
) -> None:  # fmt: skip
    """A suspension binds in a race of its country by whatever name, and wherever that cannot be told."""
    race = programme(loaded.library, moments.now()).races[sedge]
    rider = a_jockey("A. Hurdle", minimum_lb=100)
    Bond.objects.create(person=rider, kind="suspension", country=country, first_day=clock.today())
    found = hindrances(loaded.library, moments.now(), Ride(rider), horse, race, sedge)
    assert [one.kind for one in found] == [Kind.SUSPENDED] * binds


def test_gelded_and_sold_in_mid_season(loaded: worlds.Yard, horse: Horse, trainer: Person) -> None:
    """A colt gelded today is a gelding for later races; one that leaves before a race may not run in it."""
    programmed(loaded.library)
    colt = Horse.objects.filter(sex__in=("colt", "horse")).order_by("pk").first()
    assert colt is not None
    races = programme(loaded.library, moments.now()).races
    maiden = races[code_of(loaded.library, "Fern Maiden")]
    colt.sex, colt.gelded_on = "gelding", clock.today()
    colt.save()
    entrant = entrants(loaded.library, moments.now(), [colt])[colt.pk]
    assert str(entrant.sex(maiden.day, 4)) == "gelding"
    colt.left = maiden.day
    colt.save()
    leaving = entrants(loaded.library, moments.now(), [colt])[colt.pk]
    case = case_of("x", maiden, colt, leaving, Terms())
    assert case.says is Says.NO
    assert "left" in {one.key for one in case.eligible.against}


def test_a_gelding_that_only_stands_among_what_must_be_declared_counts(loaded: worlds.Yard, horse: Horse) -> None:
    """A colt of which it was written down that it was gelded is a gelding to conditions from that day on, though nobody
    corrected its sex; and it is told that this must be declared."""
    programmed(loaded.library)
    colt = Horse.objects.filter(sex__in=("colt", "horse")).order_by("pk").first()
    assert colt is not None
    Declarable.objects.create(horse=colt, what="gelded", happened_on=clock.today())
    race = programme(loaded.library, moments.now()).races[code_of(loaded.library, "Fern Maiden")]
    entrant = entrants(loaded.library, moments.now(), [colt])[colt.pk]
    before = clock.today() - timedelta(days=1)
    assert [str(entrant.sex(day, 4)) for day in (before, race.day)][1] == "gelding"
    assert str(entrant.sex(before, 4)) != "gelding"


def test_a_horse_that_was_sold_is_still_taken_out(
    loaded: worlds.Yard, sedge: str, horse: Horse, trainer: Person
) -> None:
    """A horse that left the yard, or stands in hospital, is in its race until somebody takes it out: that, and nothing
    else, can be written down of it, and its jockey is free."""
    boosted(horse, clock.today() - timedelta(days=30))
    engage_for(horse, sedge, loaded.library, trainer, "enter")
    Horse.objects.filter(pk=horse.pk).update(left=clock.today())
    with pytest.raises(HorseHereUnknownError):
        decide(loaded.library, said(horse, sedge, "declare"), trainer)
    assert decide(loaded.library, said(horse, sedge, "withdraw"), trainer).step == "withdraw"
    assert Engagement.objects.get(horse=horse).state == "withdrawn"
    with pytest.raises(HorseHereUnknownError):
        decide(loaded.library, said(horse, sedge, "enter"), trainer)
