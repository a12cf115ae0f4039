import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.apps import apps

import worlds
from upsides.books.models import Entry, Person, Post, Release, Role, SavedView, Share
from upsides.books.queries import moments
from upsides.books.queries import people as reads
from upsides.books.queries.people import SignIn
from upsides.books.queries.person_changes import changes
from upsides.books.services.devices import add_own, device_of
from upsides.books.services.people import (
    add_person,
    change_person,
    clear_pin,
    close_sign_in,
    erase,
    reopen_sign_in,
    set_pin,
)
from upsides.errors import (
    LastTrainerError,
    PersonErasedError,
    PersonNamelessError,
    RolesMissingError,
    SignInNameTakenError,
    SignInNameUnusableError,
    TrainersOnlyError,
)

pytestmark = pytest.mark.django_db


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def another_trainer() -> Person:
    return add_person("A. Second", [Role.TRAINER], login="second", password=worlds.PASSWORD)


def roles_of(person: Person) -> set[str]:
    return set(Post.objects.filter(person=person).values_list("role", flat=True))


def kept(person: Person) -> tuple[object, ...]:
    """Everything of a person's row, its roles and the length of its history."""
    row = Person.objects.filter(pk=person.pk).values_list().get()
    return (*row, frozenset(roles_of(person)), Person.history.filter(id=person.pk).count())


@pytest.mark.parametrize("name", ["", "   ", "--", "\t\n", "."])
def test_a_person_needs_a_name(name: str) -> None:
    """A name without a letter or digit is refused, on entering and on changing, and nothing is written."""
    before, rider = Person.objects.count(), someone("rider")
    with pytest.raises(PersonNamelessError):
        add_person(name, [Role.RIDER])
    was = kept(rider)
    with pytest.raises(PersonNamelessError):
        change_person(rider, someone("trainer"), name=name, roles=[Role.CARER], login="rider")
    assert Person.objects.count() == before
    assert kept(rider) == was


@pytest.mark.parametrize("login", ["rider", "RIDER", " Rider "])
def test_a_sign_in_name_is_one_persons(login: str) -> None:
    """A sign-in name that differs from another's in capitals or blanks only is refused, and nothing is written."""
    before, carer = Person.objects.count(), someone("carer")
    with pytest.raises(SignInNameTakenError):
        add_person("B. New", [Role.RIDER], login=login)
    was = kept(carer)
    with pytest.raises(SignInNameTakenError):
        change_person(carer, someone("trainer"), name="C. New", roles=[Role.CARER], login=login)
    assert Person.objects.count() == before
    assert kept(carer) == was
    assert roles_of(carer) == {Role.CARER}


def test_a_name_taken_in_between_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sign-in name that somebody takes between the look and the write is refused too, by the database."""
    from upsides.books.services import people

    monkeypatch.setattr(people, "_checked_login", lambda login, *_: login)
    with pytest.raises(SignInNameTakenError):
        add_person("B. New", [Role.RIDER], login="rider")
    assert not Person.objects.filter(name="B. New").exists()


@pytest.mark.parametrize("login", ["two words", "tab\tbed", "semi;colon", "<b>"])
def test_a_sign_in_name_can_be_typed(login: str) -> None:
    """Blanks and marks within a sign-in name are refused."""
    with pytest.raises(SignInNameUnusableError):
        add_person("B. New", [Role.RIDER], login=login)


def test_a_person_is_here_for_something() -> None:
    """Nobody is entered or left without a role."""
    with pytest.raises(RolesMissingError):
        add_person("B. New", [])
    with pytest.raises(RolesMissingError):
        change_person(someone("rider"), someone("trainer"), name="R", roles=[], login="rider")
    assert roles_of(someone("rider")) == {Role.RIDER}


def test_many_may_have_no_sign_in() -> None:
    """People who never sign in do not get in each other's way."""
    numbers = {add_person("B. New", [Role.OWNER]).pk for _ in range(3)}
    assert len(numbers) == 3


def test_a_change_is_kept_with_who_made_it() -> None:
    """Each changed field and role is in the history with the one who changed it; what stayed is not."""
    rider, trainer = someone("rider"), someone("trainer")
    change_person(
        rider, trainer, name="New Name", roles=[Role.CARER, Role.RIDER], login="rider", barn="Low", phone="0123"
    )
    found = {(one.what, one.old, one.new, one.by) for one in changes(rider.pk, moments.now())}
    by = trainer.name
    assert ("name", rider.name, "New Name", by) in found
    assert ("barn", "Top", "Low", by) in found
    assert ("phone", "", "0123", by) in found
    assert ("role given", "", "carer", by) in found
    assert {what for what, *_rest in found} == {"entered", "name", "barn", "phone", "role given"}


def test_a_change_of_nothing_leaves_no_trace() -> None:
    """Keeping a person as it is adds nothing to the history."""
    rider = someone("rider")
    was = kept(rider)
    change_person(rider, someone("trainer"), name=rider.name, roles=[Role.RIDER], login="rider", barn="Top")
    assert kept(rider) == was


def test_earlier_moments_show_people_as_they_stood() -> None:
    """As of a moment before a change a person has the name, barn, roles and sign-in of then; before entering, none."""
    entered = add_person("B. Before", [Role.RIDER], login="before", barn="Top")
    then = moments.as_of(Person.history.filter(id=entered.pk).latest().history_date)
    posted = moments.as_of(Post.history.filter(person=entered.pk).latest().history_date)
    change_person(entered, someone("trainer"), name="B. After", roles=[Role.CARER], login="after", barn="Low")
    close_sign_in(entered, someone("trainer"))
    now, past = reads.person(entered.pk, moments.now()), reads.person(entered.pk, posted)
    assert now is not None
    assert past is not None
    assert (now.listed.name, now.listed.roles, now.listed.barn) == ("B. After", (Role.CARER,), "Low")
    assert (past.listed.name, past.listed.roles, past.listed.barn) == ("B. Before", (Role.RIDER,), "Top")
    assert (past.login, past.listed.sign_in, now.listed.sign_in) == ("before", SignIn.OPEN, SignIn.CLOSED)
    assert "B. Before" in {one.name for one in reads.people(posted)} - {one.name for one in reads.people(moments.now())}
    assert then.at is not None
    assert reads.person(entered.pk, moments.as_of(then.at.replace(year=2020))) is None


def test_a_new_address_ends_the_old_ones_use() -> None:
    """After a new e-mail no copy of the old one is left by which a password could be asked for."""
    rider = someone("rider")
    EmailAddress.objects.create(user=rider, email="old@example.org", verified=True, primary=True)
    change_person(rider, someone("trainer"), name="R", roles=[Role.RIDER], login="rider", email="new@example.org")
    assert not EmailAddress.objects.filter(email="old@example.org").exists()


def test_only_a_trainer_makes_a_trainer() -> None:
    """A secretary can neither enter a trainer nor make one of anybody, himself included."""
    secretary = someone("secretary")
    before = Post.objects.filter(role=Role.TRAINER).count()
    with pytest.raises(TrainersOnlyError):
        add_person("B. New", [Role.TRAINER], by=secretary)
    for login in ("rider", "secretary"):
        with pytest.raises(TrainersOnlyError):
            change_person(someone(login), secretary, name="X", roles=[login, Role.TRAINER], login=login)
    assert Post.objects.filter(role=Role.TRAINER).count() == before
    add_person("B. New", [Role.TRAINER], by=someone("trainer"))
    assert Post.objects.filter(role=Role.TRAINER).count() == before + 1


def test_only_a_trainer_changes_a_trainer() -> None:
    """Nothing about a trainer can be changed by a secretary: name, address, PIN, sign-in, erasing."""
    trainer, secretary = someone("trainer"), someone("secretary")
    another_trainer()
    was = kept(trainer)
    same = {"name": trainer.name, "roles": [Role.TRAINER], "login": "trainer"}
    for attempt in (
        lambda: change_person(trainer, secretary, **same | {"email": "mine@example.org"}),
        lambda: change_person(trainer, secretary, **same | {"roles": [Role.RIDER]}),
        lambda: close_sign_in(trainer, secretary),
        lambda: reopen_sign_in(trainer, secretary),
        lambda: erase(trainer, secretary),
        lambda: set_pin(trainer, "8305", secretary),
        lambda: clear_pin(trainer, secretary),
    ):
        with pytest.raises(TrainersOnlyError):
            attempt()
    assert kept(trainer) == was


def test_the_last_trainer_stays() -> None:
    """The only trainer who can sign in is neither closed, erased nor demoted, and keeps a sign-in name."""
    trainer = someone("trainer")
    add_person("B. Invited", [Role.TRAINER], login="invited")
    add_person("C. Nameless", [Role.TRAINER], password=worlds.PASSWORD)
    shut = another_trainer()
    close_sign_in(shut, trainer)
    was = kept(trainer)
    same = {"name": trainer.name, "roles": [Role.TRAINER], "login": "trainer"}
    for attempt in (
        lambda: close_sign_in(trainer, trainer),
        lambda: erase(trainer, trainer),
        lambda: change_person(trainer, trainer, **same | {"roles": [Role.SECRETARY]}),
        lambda: change_person(trainer, trainer, **same | {"login": ""}),
    ):
        with pytest.raises(LastTrainerError):
            attempt()
    assert kept(trainer) == was


def test_a_trainer_may_go_when_another_can_sign_in() -> None:
    """With a second trainer who can sign in the first may be closed; then the second is the last."""
    trainer, second = someone("trainer"), another_trainer()
    close_sign_in(trainer, second)
    assert not Person.objects.get(pk=trainer.pk).is_active
    with pytest.raises(LastTrainerError):
        close_sign_in(second, second)


def test_closing_ends_sessions_and_devices() -> None:
    """Closing changes what every session must match and ends the person's devices; opening again undoes neither."""
    rider, trainer = someone("rider"), someone("trainer")
    _, token = add_own(rider, "a phone")
    before = rider.get_session_auth_hash()
    close_sign_in(rider, trainer)
    closed = someone("rider")
    assert not closed.is_active
    assert closed.get_session_auth_hash() != before
    assert device_of(token) is None
    reopen_sign_in(rider, trainer)
    opened = someone("rider")
    assert opened.is_active
    assert opened.get_session_auth_hash() != before
    assert device_of(token) is None


def everything() -> str:
    """Return every value of every table."""
    return "\n".join(str(list(model._default_manager.values())) for model in apps.get_models())


def test_erasing_leaves_nothing_personal() -> None:
    """After erasing no table holds the person's name, sign-in name, address, phone, barn or device, today's or old."""
    person = add_person("Wilhelmina Oldname", [Role.OWNER], login="oldlogin", email="old@example.org", phone="0555/111")
    trainer = someone("trainer")
    change_person(
        person,
        trainer,
        name="Wilhelmina Newname",
        roles=[Role.OWNER, Role.RIDER],
        login="newlogin",
        email="new@example.org",
        phone="0555/222",
        barn="Oddbarn",
    )
    EmailAddress.objects.create(user=person, email="new@example.org", verified=True, primary=True)
    Authenticator.objects.create(user=person, type=Authenticator.Type.TOTP, data={"secret": "x"})
    SavedView.objects.create(person=person, page="string", name="Oddview")
    UserSession.objects.create(user=person, ip="203.0.113.7", user_agent="Oddbrowser", session_key="k" * 32)
    add_own(person, "Oddphone")
    marks = ("Wilhelmina", "login", "example.org", "0555/", "Oddbarn", "Oddview", "Oddphone", "Oddbrowser", "203.0")
    before = everything()
    assert all(mark in before for mark in marks if mark != "login")
    erase(person, trainer)
    after = everything()
    assert [mark for mark in marks if mark in after.replace("'login'", "").replace("last_login", "")] == []
    assert not Authenticator.objects.filter(user=person).exists()


def test_erasing_keeps_the_number() -> None:
    """Entries and shares stand under the number, the page is blank at any moment, the history says who did it."""
    owner, trainer = someone("owner"), someone("trainer")
    shares = list(Share.objects.filter(owner=owner).values_list("pk", flat=True))
    Release.objects.create(what="figures", person=owner, given_by=trainer, given_at=moments.clock.now())
    past = moments.as_of(Person.history.filter(id=owner.pk).latest().history_date)
    entries = Entry.objects.filter(author=owner).count()
    erase(owner, trainer)
    assert list(Share.objects.filter(owner=owner.pk).values_list("pk", flat=True)) == shares
    assert Entry.objects.filter(author=owner.pk).count() == entries
    assert not Release.objects.filter(person=owner.pk, ended_at=None).exists()
    for moment in (moments.now(), past):
        shown = reads.person(owner.pk, moment)
        assert shown is not None
        assert (shown.listed.name, shown.login, shown.email, shown.phone) == (f"person {owner.pk}", "", "", "")
    last = changes(owner.pk, moments.now())[0]
    assert (last.what, last.by) == ("erased", trainer.name)
    gone = Person.objects.get(pk=owner.pk)
    assert gone.erased_at is not None
    assert not gone.is_active
    assert not gone.has_usable_password()
    assert roles_of(gone) == set()


def test_what_is_erased_stays_so() -> None:
    """Somebody who was erased can be neither changed, opened again, given a PIN nor erased anew."""
    rider, trainer = someone("rider"), someone("trainer")
    erase(rider, trainer)
    was = kept(rider)
    for attempt in (
        lambda: change_person(rider, trainer, name="X", roles=[Role.RIDER]),
        lambda: reopen_sign_in(rider, trainer),
        lambda: set_pin(rider, "8305", trainer),
        lambda: erase(rider, trainer),
    ):
        with pytest.raises(PersonErasedError):
            attempt()
    assert kept(rider) == was


def test_lists_find_people() -> None:
    """People are found by parts of the name in any case, role, barn and state of the sign-in; erased ones on demand."""
    add_person("Åsa Quill", [Role.RIDER, Role.CARER], login="aquill", barn="Low")
    now = moments.now()
    for asked in (
        {"text": "QUILL"},
        {"text": "åsa q"},
        {"text": "aquill"},
        {"text": "quill", "role": "carer", "barn": "Low", "sign_in": "invited"},
    ):
        assert [one.name for one in reads.people(now, **asked)] == ["Åsa Quill"]
    for asked in ({"text": "quill", "role": "vet"}, {"text": "quill", "barn": "Top"}, {"text": "xyz"}):
        assert reads.people(now, **asked) == []
    erase(someone("aquill"), someone("trainer"))
    assert "erased" not in {one.sign_in.value for one in reads.people(now)}
    assert [one.sign_in for one in reads.people(now, sign_in="erased")] == [SignIn.ERASED]
