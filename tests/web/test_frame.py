import re
from pathlib import Path

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.storage import Storage
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.test.utils import override_settings
from django.urls import reverse
from django.views import defaults

import worlds
from upsides.books.models import Person, Role, Yard
from upsides.books.queries.visitors import Visitor
from upsides.charts import engine
from upsides.charts.theme import DARK, LIGHT
from upsides.web.shell.finders import VEGA, MadeFinder
from worlds import ClientAs

EARLIER = "as_of=2026-06-01T17:30"


def page(client: Client, address: str) -> str:
    return client.get(address).content.decode()


def head(text: str) -> str:
    return text.split("<main", 1)[0]


def inside(text: str) -> str:
    return text.split("<main", 1)[1].split("</main>", 1)[0]


def test_the_frame_says_which_yard_day_and_person(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """Above every page stand the yard's name, its day, who is signed in, and the way out."""
    text = head(page(client_as("trainer"), "/string/"))
    today = loaded.world.today
    assert Yard.objects.get().name in text
    assert f'<time datetime="{today.isoformat()}">' in text
    assert f'<a class="name" href="{reverse("me")}">trainer one</a>' in text
    assert re.search(
        rf'<form method="post" action="{reverse("account_logout")}">.*?<button class="link">Sign out<', text
    )


def test_one_can_leave(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """What the way out sends ends the session."""
    browser = client_as("trainer")
    assert browser.post(reverse("account_logout")).status_code == 302
    assert "account/login" in browser.get("/string/").headers["Location"]


def test_a_barn_phone_is_handed_on_not_signed_out_of() -> None:
    """On a barn phone the way out leads to the names, for whoever takes it next."""
    who = Visitor(Person(pk=1, name="Somebody"), frozenset({Role.CARER}), barn=True)
    text = render_to_string("shell/you.html", {"visitor": who})
    assert f'<form method="post" action="{reverse("hand_over")}">' in text
    assert ">Somebody else</button>" in text
    assert "Sign out" not in text


def test_places_are_those_that_one_may_open(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """Each sees the pages that are open to him, with the one he is on marked; somebody with one place needs no list."""
    places = re.compile(r'<nav class="places".*?</nav>', re.S)
    trainer = places.search(page(client_as("trainer"), "/string/")).group(0)
    assert 'href="/people/"' in trainer
    assert re.findall(r'href="([^"]+)" aria-current="page"', trainer) == ["/string/"]
    assert "/people/" not in head(page(client_as("rider"), "/string/"))
    for text in (page(client_as("owner"), "/string/"), page(client_as("rider"), "/string/")):
        found = places.search(text)
        assert found is None or found.group(0).count("<a ") > 1


def test_a_stranger_sees_no_person(loaded: worlds.Yard, client: Client) -> None:
    """Who has not signed in is shown no name and nowhere to go."""
    text = page(client, reverse("account_login"))
    assert 'class="you"' not in text
    assert 'class="places"' not in text


def test_the_browser_paints_the_papers_colour_around_the_page(loaded: worlds.Yard, client: Client) -> None:
    """Light and dark, what the browser adds around a page has the colour of its paper."""
    text = page(client, reverse("account_login"))
    for scheme, tokens in (("light", LIGHT), ("dark", DARK)):
        assert f'<meta name="theme-color" content="{tokens.paper}" media="(prefers-color-scheme: {scheme})">' in text


def test_an_earlier_moment_is_said_above_the_page(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """A page that looks back says so outside what it shows, with the way back to now that keeps the rest."""
    text = page(client_as("trainer"), f"/string/?{EARLIER}&sex=colt")
    banner = re.search(r'<section class="earlier".*?</section>', text, re.S).group(0)
    assert "The books as they stood on" in banner
    assert 'datetime="2026-06-01T17:30+01:00"' in banner
    assert 'href="/string/?sex=colt"' in banner
    assert "earlier" not in inside(text)
    assert 'class="earlier"' not in page(client_as("trainer"), "/string/")


def test_any_page_of_data_can_look_back(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """In the foot, outside what the page shows, one can ask for an earlier moment."""
    text = page(client_as("trainer"), "/string/")
    assert 'name="as_of"' in text.split("</main>", 1)[1]
    assert 'name="as_of"' not in inside(text)


def test_nothing_can_be_done_from_an_earlier_moment(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """No page that looks back holds a form that changes something."""
    trainer = client_as("trainer")
    for address in ("/string/", "/people/", "/diary/", "/barn/devices/"):
        text = page(trainer, f"{address}?{EARLIER}")
        assert 'class="earlier"' in text, address
        assert 'method="post"' not in inside(text), address


def test_a_moment_that_cannot_be_read_is_refused(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """A moment that is none gets a page that says how one is written, and a way on."""
    answer = client_as("trainer").get("/string/?as_of=yesterday")
    text = answer.content.decode()
    assert answer.status_code == 400
    assert "yesterday" in text
    assert "2026-06-01T17:30" in text
    assert 'href="/string/"' in inside(text)


def test_a_page_for_others_says_so(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """Who may not open a page is told whom to ask, and where he can go."""
    answer = client_as("rider").get("/people/")
    assert answer.status_code == 403
    assert "for other people of the yard" in answer.content.decode()
    assert 'href="/string/"' in inside(answer.content.decode())


def test_what_django_refuses_looks_the_same(loaded: worlds.Yard) -> None:
    """A refusal of Django's own gets the same page."""
    request = RequestFactory().get("/string/")
    request.visitor = None
    answer = defaults.permission_denied(request, PermissionDenied())
    assert answer.status_code == 403
    assert "Not open to you" in answer.content.decode()


def test_pages_of_last_resort_stand_alone() -> None:
    """The pages for when all else fails need no template, no database, and lead back; their style sheets are there."""
    request = RequestFactory().get("/string/")
    for answer in (defaults.server_error(request), defaults.bad_request(request, ValueError())):
        text = answer.content.decode()
        assert text.count("<h1>") == 1
        assert 'href="/"' in text
        assert "{%" not in text
        for address in re.findall(r'href="(/static/[^"]+)"', text):
            assert Client(headers={"host": "localhost"}).get(address).status_code == 200


def collected() -> dict[str, Storage]:
    return dict(MadeFinder().list(None))


def test_theme_and_engine_are_made_when_collected() -> None:
    """Both made files are found under their names, and hold what charts says they hold."""
    found = collected()
    assert found.keys() == {"theme.css", VEGA}
    assert LIGHT.ink in found["theme.css"].open("theme.css").read().decode()
    assert found[VEGA].open(VEGA).read().decode().startswith(engine.stamp())


def test_the_engine_is_made_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was collected before is used again, until the library that it comes from is another."""
    monkeypatch.setattr(engine, "script", lambda: f"{engine.stamp()}\nmade anew")
    with override_settings(STATIC_ROOT=tmp_path):
        (tmp_path / VEGA).write_text(f"{engine.stamp()}\nkept")
        assert collected()[VEGA].open(VEGA).read().endswith(b"kept")
        (tmp_path / VEGA).write_text("// another: of last year\nkept")
        assert collected()[VEGA].open(VEGA).read().endswith(b"made anew")


def test_only_pages_with_charts_load_what_draws_them(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """A horse with a level has the script that draws; the list has not."""
    trainer = client_as("trainer")
    listed = page(trainer, "/string/")
    assert "charts." not in listed
    addresses = re.findall(r'href="(/horse/\d+/)"', listed)
    text = page(trainer, addresses[0])
    assert re.search(r'<script type="module" src="/static/charts\.\w+\.js" data-vega="/static/vega\.\w+\.js">', text)
    assert "data-spec=" in text
