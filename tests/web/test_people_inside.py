from datetime import timedelta

import pytest
from django.test import Client

from upsides.books import clock
from upsides.books.models import Horse, Inside, Person, Release, Role, Share, Sight
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def main_of(browser: Client, address: str) -> str:
    response = browser.get(address)
    assert response.status_code == 200
    return str(response.content.decode().split("<main")[1])


@pytest.mark.parametrize("role", list(Role))
def test_who_may_release_and_who_may_look_it_up(client_as: ClientAs, role: Role) -> None:
    """Trainer and assistant read what is released; only the trainer releases, ends, and sees who looked."""
    browser = client_as(role.value)
    given = Release.objects.create(what="plans", role="rider", given_by=someone("trainer"), given_at=clock.now())
    reads, trainer = role in {Role.TRAINER, Role.ASSISTANT}, role is Role.TRAINER
    assert browser.get("/people/released/").status_code == (200 if reads else 403)
    assert browser.get("/people/looked/").status_code == (200 if trainer else 403)
    form = {"what": ["figures"], "to": "role-rider"}
    assert browser.post("/people/released/give/", form).status_code == (302 if trainer else 403)
    assert Release.objects.count() == (2 if trainer else 1)
    assert browser.post(f"/people/released/{given.pk}/end/").status_code == (302 if trainer else 403)
    assert (Release.objects.get(pk=given.pk).ended_at is not None) is trainer
    if role is Role.ASSISTANT:
        assert 'method="post"' not in main_of(browser, "/people/released/")


def test_a_release_is_given_and_ended(client_as: ClientAs) -> None:
    """Several things are released at once to one person for one horse; each stands on the pages until it is ended."""
    browser, owner = client_as("trainer"), someone("owner")
    horse = Share.objects.get(owner=owner).horse
    assert "and to nobody else" in main_of(browser, "/people/released/")
    form = {"what": ["figures", "plans"], "to": f"person-{owner.pk}", "horse": horse.pk}
    browser.post("/people/released/give/", form)
    assert set(Release.objects.values_list("what", "person", "horse")) == {
        ("figures", owner.pk, horse.pk),
        ("plans", owner.pk, horse.pk),
    }
    text = main_of(browser, "/people/released/")
    assert "2 releases stand" in text
    assert text.count("End it</button>") == 2
    assert horse.name.replace("'", "&#x27;") in main_of(browser, f"/person/{owner.pk}/").split("Inside information")[1]
    for given in Release.objects.all():
        browser.post(f"/people/released/{given.pk}/end/")
    assert "and to nobody else" in main_of(browser, "/people/released/")


def test_what_cannot_be_released_is_refused_whole(client_as: ClientAs) -> None:
    """When one of the ticked things is released already none is given, and the page says why."""
    browser = client_as("trainer")
    browser.post("/people/released/give/", {"what": ["plans"], "to": "role-rider"})
    response = browser.post("/people/released/give/", {"what": ["figures", "plans"], "to": "role-rider"})
    assert response.status_code == 200
    assert "released already" in response.content.decode()
    assert Release.objects.count() == 1
    for wrong in ({"what": []}, {"to": "role-secretary"}, {"to": f"person-{someone('assistant').pk}"}, {"to": ""}):
        form = {"what": ["figures"], "to": "role-vet"} | wrong
        assert browser.post("/people/released/give/", form).status_code == 200
    assert Release.objects.count() == 1


def test_who_looked_is_listed_and_cut(client_as: ClientAs) -> None:
    """The log lists who saw what, of which horse, on which page; filters and pages cut it without losing a row."""
    rider, vet, horse = someone("rider"), someone("vet"), Horse.objects.order_by("pk")[0]
    morning = clock.now()
    Sight.objects.bulk_create(
        Sight(person=rider, at=morning - timedelta(days=number), what=Inside.FIGURES, page=f"/page/{number}/")
        for number in range(60)
    )
    Sight.objects.create(person=vet, at=morning, what=Inside.PLANS, page="/plan/", horse=horse)
    browser = client_as("trainer")
    text = main_of(browser, "/people/looked/")
    assert "shown 61 times" in text
    assert text.count('<th scope="row">') == 50
    assert main_of(browser, "/people/looked/?page=2").count('<th scope="row">') == 11
    cut = main_of(browser, f"/people/looked/?person={vet.pk}&what=plans&horse={horse.pk}")
    assert "shown 1 time." in cut
    assert "/plan/" in cut
    today = f"{clock.today():%Y-%m-%d}"
    assert "shown 2 times" in main_of(browser, f"/people/looked/?first_day={today}&last_day={today}")
    assert "Nothing of the kind" in main_of(browser, f"/people/looked/?person={someone('owner').pk}")
    assert "shown 61 times" in main_of(browser, "/people/looked/?first_day=tomorrow&person=x")
