import re

import pytest
from allauth.mfa.models import Authenticator
from django.test import Client

import worlds
from upsides.books.models import Horse, Person, Post, Role
from upsides.books.services.devices import add_own, device_of
from upsides.books.services.people import add_person, change_person, erase
from worlds import ClientAs

pytestmark = pytest.mark.django_db

PAGES = ("/people/", "/people/new/", "/people/released/", "/people/looked/", "/me/", "/barn/devices/", "/barn/")
ACTIONS = ("invite", "pin", "pin/clear", "second/take", "close", "reopen", "erase")


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def text_of(browser: Client, address: str, status: int = 200) -> str:
    response = browser.get(address)
    assert response.status_code == status
    return str(response.content.decode())


def test_every_page_is_whole(client_as: ClientAs) -> None:
    """Each page has a title, one first heading, an opening sentence, no id twice, and nothing inline."""
    number = someone("owner").pk
    trainer = client_as("trainer")
    for address in (*PAGES, f"/person/{number}/", f"/person/{number}/change/", f"/person/{number}/erase/"):
        text = text_of(trainer, address)
        assert re.search(r"<title>[^<]+ · Upsides</title>", text)
        assert text.count("<h1") == 1
        assert text.count('class="answer"') == 1
        assert "None" not in text
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text)
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(set(ids)) == len(ids)


@pytest.mark.parametrize("role", list(Role))
def test_people_are_open_to_the_office(client_as: ClientAs, role: Role) -> None:
    """Trainer, assistant and secretary read people; trainer and secretary change them; all others are refused."""
    browser, number = client_as(role.value), someone("rider").pk
    reads = role in {Role.TRAINER, Role.ASSISTANT, Role.SECRETARY}
    changes = role in {Role.TRAINER, Role.SECRETARY}
    for address in ("/people/", f"/person/{number}/"):
        assert browser.get(address).status_code == (200 if reads else 403)
    for address in ("/people/new/", f"/person/{number}/change/", f"/person/{number}/erase/"):
        assert browser.get(address).status_code == (200 if changes else 403)
    if not changes:
        for action in ACTIONS:
            assert browser.post(f"/person/{number}/{action}/", {"pin": "8305"}).status_code == 403
    assert someone("rider").is_active
    text = text_of(browser, "/me/")
    assert str(role.label) in text


def test_strangers_are_sent_to_the_door(client: Client) -> None:
    """Without a sign-in every page of people leads to signing in."""
    for address in ("/people/", f"/person/{someone('rider').pk}/", "/me/", "/people/released/", "/barn/devices/"):
        response = client.get(address)
        assert response.status_code == 302
        assert response.headers["Location"].startswith("/account/login/")


def test_the_list_says_how_people_get_in(client_as: ClientAs) -> None:
    """The list holds everybody with role, barn and means of getting in, and never a phone number or an address."""
    rider = someone("rider")
    change_person(
        rider,
        someone("trainer"),
        name="Åse <b>Rider",
        roles=["rider"],
        login="rider",
        barn="Low",
        email="a@b.org",
        phone="0555-1",
    )
    Authenticator.objects.create(user=rider, type=Authenticator.Type.TOTP, data={"secret": "x"})
    text = text_of(client_as("trainer"), "/people/")
    row = next(row for row in text.split("<tr>") if "Åse" in row)
    assert "Åse &lt;b&gt;Rider" in row
    assert all(words in row for words in ("work rider", "Low", "can sign in, second step, PIN"))
    assert "a@b.org" not in text
    assert "0555-1" not in text
    assert text.count('<th scope="row">') == Person.objects.count()


def test_the_list_is_cut_to_what_is_asked(client_as: ClientAs) -> None:
    """Name, role, barn and state cut the list, and the sentence says how many fit; nonsense cuts nothing."""
    add_person("Q. Quill", [Role.RIDER], login="quill", barn="Low")
    browser = client_as("assistant")
    text = text_of(browser, "/people/?text=quill&role=rider&barn=Low&sign_in=invited")
    assert "1 person fits." in text
    assert text.count('<th scope="row">') == 1
    assert "Nobody fits" in text_of(browser, "/people/?text=quill&role=vet")
    assert text_of(browser, "/people/?role=emperor").count('<th scope="row">') == Person.objects.count()


def test_contact_is_shown_to_those_who_need_it(client_as: ClientAs) -> None:
    """Trainer and secretary see how to reach anybody; an assistant reaches those who work here, not owners."""
    trainer = someone("trainer")
    for login, role in (("rider", Role.RIDER), ("owner", Role.OWNER)):
        change_person(
            someone(login), trainer, name=login, roles=[role], login=login, email=f"{login}@b.org", phone=f"055-{login}"
        )
    for reader, login, seen in (
        ("trainer", "owner", True),
        ("secretary", "owner", True),
        ("secretary", "rider", True),
        ("assistant", "rider", True),
        ("assistant", "owner", False),
    ):
        text = text_of(client_as(reader), f"/person/{someone(login).pk}/")
        assert (f"{login}@b.org" in text) is seen
        assert (f"055-{login}" in text) is seen
        assert "changed" in text or seen


def test_a_persons_page_tells_all(client_as: ClientAs) -> None:
    """The page names roles, barn, horses looked after, shares owned, devices, and each change with who made it."""
    owner, trainer = someone("owner"), someone("trainer")
    horse = Horse.objects.order_by("pk")[5]
    horse.carer = owner
    horse.save()
    add_own(owner, "Oddphone")
    change_person(owner, trainer, name="N. Name", roles=["owner", "carer"], login="owner", barn="Low")
    text = text_of(client_as("trainer"), f"/person/{owner.pk}/")
    share = owner.shares.get()
    for words in ("N. Name", "Low", horse.name, share.horse.name, "1/1", "sole owner", "Oddphone", trainer.name):
        assert words.replace("'", "&#x27;") in text
    assert f"Name: N. Name; it was {owner.name}" in text
    assert "What for: looks after horses added" in text


def test_pages_show_people_as_they_stood(client_as: ClientAs) -> None:
    """As of an earlier moment list and page show the name and roles of then, and offer nothing to change."""
    rider, browser = someone("rider"), client_as("trainer")
    then = Post.history.filter(person=rider.pk).latest().history_date
    change_person(rider, someone("trainer"), name="N. Name", roles=["carer"], login="rider")
    asked = f"?as_of={then.strftime('%Y-%m-%dT%H:%M:%S.%f')}Z"
    for address in ("/people/", f"/person/{rider.pk}/"):
        now, past = text_of(browser, address), text_of(browser, address + asked)
        assert "N. Name" in now
        assert "N. Name" not in past
        assert rider.name in past
    assert "Close the sign-in" in text_of(browser, f"/person/{rider.pk}/")
    assert "Close the sign-in" not in past
    assert not re.search(r'<form[^>]*method="post"[^>]*action="/person', past)


def test_erased_people_stay_blank_at_every_moment(client_as: ClientAs) -> None:
    """After erasing neither today's page nor that of an earlier moment holds the name."""
    rider = someone("rider")
    then = Post.history.filter(person=rider.pk).latest().history_date
    erase(rider, someone("trainer"))
    browser = client_as("trainer")
    for asked in ("", f"?as_of={then.strftime('%Y-%m-%dT%H:%M:%S.%f')}Z"):
        for address in (f"/person/{rider.pk}/", "/people/"):
            assert rider.name not in text_of(browser, address + asked)
    assert "was erased" in text_of(browser, f"/person/{rider.pk}/")


def test_a_person_is_entered(client_as: ClientAs) -> None:
    """A filled-in form enters the person, with the one who did it in the history."""
    form = {"name": "N. Name", "roles": ["rider", "carer"], "login": "NName", "barn": "Low"}
    response = client_as("secretary").post("/people/new/", form)
    entered = someone("nname")
    assert response.headers["Location"] == f"/person/{entered.pk}/"
    assert set(entered.posts.values_list("role", flat=True)) == {"rider", "carer"}
    assert Person.history.get(id=entered.pk).history_user == someone("secretary")
    assert not entered.has_usable_password()


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"name": "  "}, "name"),
        ({"name": "--"}, "name"),
        ({"login": "RIDER"}, "login"),
        ({"login": "two words"}, "login"),
        ({"roles": []}, "roles"),
        ({"roles": ["emperor"]}, "roles"),
        ({"email": "nowhere"}, "email"),
        ({"name": "x" * 121}, "name"),
    ],
)
def test_what_is_wrong_is_said_at_the_field(client_as: ClientAs, wrong: dict[str, object], field: str) -> None:
    """A name or sign-in name that cannot be is refused in words at its field, and nothing is written."""
    form = {"name": "N. Name", "roles": ["rider"], "login": "nname"} | wrong
    browser = client_as("trainer")
    before = Person.history.count()
    for address in ("/people/new/", f"/person/{someone('carer').pk}/change/"):
        response = browser.post(address, form)
        assert response.status_code == 200
        assert len(response.context["form"].errors[field]) == 1
        assert f'id="id_{field}_error"' in response.content.decode()
    assert Person.history.count() == before


@pytest.mark.parametrize("pin", ["0000", "1234", "12", "abcd", "123456789", ""])
def test_silly_pins_are_refused_at_the_field(client_as: ClientAs, pin: str) -> None:
    """A PIN that others would guess is refused in words at its field, on a person's page, and the old one stays."""
    rider = someone("rider")
    response = client_as("secretary").post(f"/person/{rider.pk}/pin/", {"pin": pin})
    assert response.status_code == 200
    assert 'id="id_pin_error"' in response.content.decode()
    assert someone("rider").pin == rider.pin


def test_pins_are_set_and_taken_away(client_as: ClientAs) -> None:
    """A new PIN replaces the old one, can be taken away, and the history says so without the digits."""
    rider, browser = someone("rider"), client_as("secretary")
    browser.post(f"/person/{rider.pk}/pin/", {"pin": "830517"})
    assert someone("rider").pin not in {"", rider.pin}
    browser.post(f"/person/{rider.pk}/pin/clear/")
    assert someone("rider").pin == ""
    text = text_of(browser, f"/person/{rider.pk}/")
    assert "New PIN for barn phones" in text
    assert "PIN taken away" in text
    assert "830517" not in text


def test_a_secretary_does_not_become_a_trainer(client_as: ClientAs) -> None:
    """No form that a secretary sends makes a trainer of anybody or touches a trainer; the pages do not offer it."""
    browser, trainer = client_as("secretary"), someone("trainer")
    add_person("B. Second", [Role.TRAINER], login="second", password=worlds.PASSWORD)
    before = Person.history.count(), Post.history.count(), trainer.password, trainer.pin, trainer.trust
    assert 'value="trainer"' not in text_of(browser, "/people/new/")
    form = {"name": "X", "roles": ["trainer"], "login": "x"}
    assert browser.post("/people/new/", form).status_code == 200
    for login in ("secretary", "rider"):
        changed = form | {"login": login, "roles": [login, "trainer"]}
        assert browser.post(f"/person/{someone(login).pk}/change/", changed).status_code == 200
    address = f"/person/{trainer.pk}/"
    assert browser.post(f"{address}change/", form | {"roles": ["rider"]}).status_code == 400
    for action in ACTIONS:
        response = browser.post(f"{address}{action}/", {"pin": "830517"})
        assert response.status_code == 400
        assert "/account/" not in response.content.decode().split("<main")[1]
    after = someone("trainer")
    assert before == (Person.history.count(), Post.history.count(), after.password, after.pin, after.trust)
    page = text_of(browser, address).split("<main")[1]
    assert 'method="post"' not in page
    assert "/change/" not in page


def test_the_last_trainer_is_told_so(client_as: ClientAs) -> None:
    """The only trainer cannot close or erase himself: the page says why, and nothing changes."""
    browser, trainer = client_as("trainer"), someone("trainer")
    for action in ("close", "erase"):
        response = browser.post(f"/person/{trainer.pk}/{action}/")
        assert response.status_code == 400
        assert "only trainer who can sign in" in response.content.decode()
    form = {"name": trainer.name, "roles": ["secretary"], "login": "trainer"}
    response = browser.post(f"/person/{trainer.pk}/change/", form)
    assert "only trainer who can sign in" in response.content.decode()
    assert text_of(browser, "/people/")


def test_closing_ends_a_session_at_once(client_as: ClientAs) -> None:
    """Somebody whose sign-in is closed is out with the next page; opened again the old session stays dead."""
    theirs, trainer, number = client_as("rider"), client_as("trainer"), someone("rider").pk
    assert text_of(theirs, "/me/")
    trainer.post(f"/person/{number}/close/")
    assert theirs.get("/me/").status_code == 302
    trainer.post(f"/person/{number}/reopen/")
    assert someone("rider").is_active
    assert theirs.get("/me/").status_code == 302


def test_erasing_asks_first(client_as: ClientAs) -> None:
    """Opening the page of erasing erases nothing; sending it does, and ends the session."""
    theirs, trainer, rider = client_as("rider"), client_as("trainer"), someone("rider")
    assert "cannot be taken back" in text_of(trainer, f"/person/{rider.pk}/erase/")
    assert someone("rider").erased_at is None
    trainer.post(f"/person/{rider.pk}/erase/")
    assert Person.objects.get(pk=rider.pk).erased_at is not None
    assert theirs.get("/me/").status_code == 302
    assert trainer.post(f"/person/{rider.pk}/reopen/").status_code == 400


def test_a_link_lets_a_new_person_in(client_as: ClientAs, client: Client) -> None:
    """The link that is handed over lets the person choose a password and sign in; the history says who made it."""
    invited = add_person("N. Name", [Role.RIDER], login="nname")
    response = client_as("secretary").post(f"/person/{invited.pk}/invite/")
    text = response.content.decode()
    link = re.search(r"http://localhost(/account/\S+)", text)
    assert link is not None
    assert "nname" in text
    form = client.get(link[1], follow=True)
    where = form.redirect_chain[-1][0] if form.redirect_chain else link[1]
    client.post(where, {"password1": "a-long-quiet-morning", "password2": "a-long-quiet-morning"})
    assert someone("nname").check_password("a-long-quiet-morning")
    assert "Link for choosing a password given out" in text_of(client_as("trainer"), f"/person/{invited.pk}/")


def test_links_are_for_those_who_may_sign_in(client_as: ClientAs) -> None:
    """Without a sign-in name, or with a closed sign-in, no link is made, and the page says what to do."""
    nameless = add_person("N. Name", [Role.OWNER])
    trainer, rider = client_as("trainer"), someone("rider")
    trainer.post(f"/person/{rider.pk}/close/")
    for number in (nameless.pk, rider.pk):
        response = trainer.post(f"/person/{number}/invite/")
        assert response.status_code == 400
        assert "http://localhost/account/" not in response.content.decode()


def test_the_second_step_can_be_taken_away(client_as: ClientAs) -> None:
    """Somebody who lost the phone with the codes signs in with the password alone again, and it is in the history."""
    rider = someone("rider")
    Authenticator.objects.create(user=rider, type=Authenticator.Type.TOTP, data={"secret": "x"})
    trainer = client_as("trainer")
    assert "Take the second step away" in text_of(trainer, f"/person/{rider.pk}/")
    trainer.post(f"/person/{rider.pk}/second/take/")
    assert not Authenticator.objects.filter(user=rider).exists()
    assert "Second step when signing in taken away" in text_of(trainer, f"/person/{rider.pk}/")


def test_a_device_is_ended_from_the_persons_page(client_as: ClientAs) -> None:
    """A lost phone is ended by the secretary; one of somebody else under this address is not."""
    rider, carer = someone("rider"), someone("carer")
    (device, token), (_, others) = add_own(rider, "lost phone"), add_own(carer, "kept phone")
    browser = client_as("secretary")
    assert browser.post(f"/person/{rider.pk}/device/{device_of(others).pk}/end/").status_code == 404
    browser.post(f"/person/{rider.pk}/device/{device.pk}/end/")
    assert device_of(token) is None
    assert device_of(others) is not None


def test_actions_need_a_post(client_as: ClientAs) -> None:
    """Opening the address of an action does nothing."""
    browser, rider = client_as("trainer"), someone("rider")
    for action in ("invite", "pin", "pin/clear", "second/take", "close", "reopen"):
        assert browser.get(f"/person/{rider.pk}/{action}/").status_code == 405
    assert someone("rider").pin == rider.pin


def test_nobody_there(client_as: ClientAs) -> None:
    """A number that nobody has leads to the page for what is not there."""
    for address in ("/person/999999/", "/person/999999/change/", "/person/999999/erase/"):
        assert client_as("trainer").get(address).status_code == 404
