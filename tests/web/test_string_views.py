"""Views of the string's list that somebody keeps."""

import re

import pytest
from django.http import HttpResponse
from django.test import Client

import worlds
from upsides.books.models import Person, SavedView
from worlds import ClientAs


@pytest.fixture
def trainer(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


def keep(client: Client, name: str, query: str, number: int | str = "") -> HttpResponse:
    return client.post("/view/keep/", {"name": name, "query": query, "view": number})


def kept(login: str) -> dict[str, str]:
    return dict(SavedView.objects.filter(person__login=login).values_list("name", "query"))


def tabs(client: Client) -> list[str]:
    found = re.search(r'<nav class="views".*?</nav>', client.get("/string/").content.decode(), re.DOTALL)
    return re.findall(r"<a [^>]+>([^<]+)</a>", found[0]) if found else []


def test_a_view_is_kept_and_opened(trainer: Client) -> None:
    """A list kept under a name opens again with the same horses, order and columns, and is marked as open."""
    answer = keep(trainer, "  Two-year-olds  ", "age=2&sort=barn&show=barn&sex=")
    assert kept("trainer") == {"Two-year-olds": "age=2&sort=barn&show=barn"}
    assert answer.headers["Location"].startswith("/string/?age=2&sort=barn&show=barn&view=")
    text = trainer.get(answer.headers["Location"]).content.decode()
    assert re.search(r'aria-current="page">Two-year-olds</a>', text)
    assert re.findall(r'scope="col" class="(\w+)"', text) == ["name", "barn"]
    assert tabs(trainer) == ["Two-year-olds"]


def test_keeping_under_the_same_name_replaces(trainer: Client) -> None:
    """A name stands once: kept again it holds what was kept last."""
    keep(trainer, "Mine", "age=2")
    keep(trainer, "Mine", "age=3")
    assert kept("trainer") == {"Mine": "age=3"}


def test_an_open_view_takes_a_new_name(trainer: Client) -> None:
    """Keeping an open view under another name renames it; there is no second one."""
    keep(trainer, "Mine", "age=2")
    number = SavedView.objects.get().pk
    keep(trainer, "Ours", "age=2&sex=filly", number)
    assert kept("trainer") == {"Ours": "sex=filly&age=2"}
    assert SavedView.objects.get().pk == number


def test_a_name_that_another_view_bears_is_refused(trainer: Client) -> None:
    """An open view cannot take the name of another; both stay as they were."""
    keep(trainer, "One", "age=2")
    keep(trainer, "Two", "age=3")
    answer = keep(trainer, "One", "age=4", SavedView.objects.get(name="Two").pk)
    assert answer.status_code == 400
    assert "another of your views is called that" in answer.content.decode()
    assert kept("trainer") == {"One": "age=2", "Two": "age=3"}


@pytest.mark.parametrize("name", ["", "   ", 61 * "x", "nul \x00", "bell \x07"])
def test_a_view_needs_a_name(trainer: Client, name: str) -> None:
    """A view without a name, or with one that no row holds, is refused in words."""
    answer = keep(trainer, name, "age=2")
    assert answer.status_code == 400
    assert "at most 60 letters" in answer.content.decode()
    assert kept("trainer") == {}


def test_a_view_is_forgotten(trainer: Client) -> None:
    """A forgotten view is gone and the list stays as it was; forgetting twice does no harm."""
    keep(trainer, "Mine", "age=2")
    number = SavedView.objects.get().pk
    for _ in range(2):
        answer = trainer.post(f"/view/{number}/forget/", {"query": "age=2"})
        assert answer.headers["Location"] == "/string/?age=2"
        assert kept("trainer") == {}
    gone = keep(trainer, "Mine", "age=2", number)
    assert gone.status_code == 400
    assert "forgotten in the meantime" in gone.content.decode()


def test_views_are_their_owners_alone(trainer: Client, client_as: ClientAs) -> None:
    """Nobody sees, opens, changes or forgets the view of somebody else."""
    secretary = client_as("secretary")
    theirs = SavedView.objects.create(
        person=Person.objects.get(login="trainer"), page="string", name="Mine", query="age=2"
    )
    assert tabs(secretary) == []
    assert keep(secretary, "Taken", "age=3", theirs.pk).status_code == 400
    secretary.post(f"/view/{theirs.pk}/forget/")
    assert kept("trainer") == {"Mine": "age=2"}
    keep(secretary, "Mine", "age=4")
    assert (kept("trainer"), kept("secretary")) == ({"Mine": "age=2"}, {"Mine": "age=4"})


def test_what_is_kept_is_what_a_list_can_ask(trainer: Client) -> None:
    """Whatever else is sent along with a view is left out of it."""
    keep(trainer, "Mine", "age=2&next=http://elsewhere.example/&show=nonsense&as_of=2020-01-01")
    assert kept("trainer") == {"Mine": "age=2"}


def test_looking_changes_nothing(trainer: Client) -> None:
    """Views are kept and forgotten by sending, never by following a link."""
    keep(trainer, "Mine", "age=2")
    number = SavedView.objects.get().pk
    assert trainer.get("/view/keep/").status_code == 405
    assert trainer.get(f"/view/{number}/forget/").status_code == 405
    assert kept("trainer") == {"Mine": "age=2"}
