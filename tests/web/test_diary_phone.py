"""What a phone keeps for the time without signal: whole, small, and nothing of anybody's."""

import json
import re
from typing import Any

import pytest
from django.test import Client

from upsides.books.models import Horse, Person
from upsides.books.services import devices
from upsides.web.diary import scripts

pytestmark = pytest.mark.django_db


def settings_of(client: Client) -> dict[str, Any]:
    text = client.get("/worker.js").content.decode()
    return json.loads(re.search(r"serve\((\{.*\})\);", text).group(1))


def test_the_worker_may_have_every_page_and_is_never_stale(client: Client) -> None:
    """It lies at the root, is a script, and is looked for anew each time."""
    response = client.get("/worker.js")
    assert response.headers["Content-Type"] == "text/javascript; charset=utf-8"
    assert response.headers["Cache-Control"] == "no-cache"
    assert response.status_code == 200


def test_everything_that_is_kept_is_there_for_anyone(client: Client) -> None:
    """Each page, script and style that a phone keeps can be had by somebody who has not signed in."""
    settings = settings_of(client)
    assert {scripts.address(name) for name in scripts.SCRIPTS} <= set(settings["parts"])
    assert any(part.startswith("/static/upsides.") for part in settings["parts"])
    assert any(part.startswith("/static/diary/diary.") for part in settings["parts"])
    assert any(part.startswith("/static/checks/checks.") for part in settings["parts"])
    assert settings["pages"].keys() == {"/diary/", "/checks/", "/clock/"}
    for address in (*settings["pages"].values(), settings["no_signal"], *settings["parts"]):
        assert client.get(address).status_code == 200, address


def test_every_import_is_kept(client: Client) -> None:
    """What a script imports is one of the scripts, at the same version's address."""
    for name, text in scripts.SCRIPTS.items():
        for imported in re.findall(rb'from "([^"]+)"', text):
            assert re.fullmatch(r"\./(\w+)\.js", imported.decode()), name
            assert imported.decode()[2:-3] in scripts.SCRIPTS


def test_scripts_of_another_version_are_gone(client: Client) -> None:
    """A script's address says its version; it may be kept for good, and one of another version is not answered."""
    response = client.get(scripts.address("page"))
    assert "immutable" in response.headers["Cache-Control"]
    assert response.headers["Content-Type"] == "text/javascript; charset=utf-8"
    assert client.get("/diary/scripts/0123/page.js").status_code == 404
    assert client.get(scripts.address("page").replace("page.js", "other.js")).status_code == 404


@pytest.mark.parametrize("address", ["/diary/shell/", "/checks/shell/", "/clock/shell/", "/diary/no-signal/"])
def test_kept_pages_hold_nothing_of_anybody(client_as: Any, address: str) -> None:
    """They are the same whoever asks, and name neither people nor horses, marks nor tokens."""
    pages = [client_as(login).get(address).content.decode() for login in ("trainer", "carer")]
    assert pages[0] == pages[1]
    names = [*Person.objects.values_list("name", flat=True), *Horse.objects.values_list("name", flat=True)]
    assert [name for name in names if name in pages[0]] == []
    assert "csrfmiddlewaretoken" not in pages[0]
    assert "Tallowmere" not in pages[0]


def test_the_manifest_opens_the_diary(client: Client) -> None:
    """It names the program, begins at the diary, and has a picture that is there."""
    response = client.get("/manifest.webmanifest")
    assert response.headers["Content-Type"] == "application/manifest+json"
    manifest = response.json()
    assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("/diary/", "/", "standalone")
    assert client.get(manifest["icons"][0]["src"]).status_code == 200


def test_a_known_phone_gets_its_authors_mark(client_as: Any) -> None:
    """The mark that entries carry is the visitor's on that phone; it reads back as both."""
    client = client_as("carer")
    author = client.get("/diary/author.json").json()["author"]
    device, person = devices.read_author_token(author["token"])
    assert person.login == "carer"
    assert author["number"] == person.pk
    assert device.person == person
    assert author["name"] in client.get("/diary/").content.decode()


def test_horses_are_numbers_and_names(client_as: Any) -> None:
    """The list that a phone keeps is the same for everybody, and holds no more than is needed to choose."""
    lists = [client_as(login).get("/diary/horses.json").json()["horses"] for login in ("trainer", "carer")]
    assert lists[0] == lists[1]
    assert {frozenset(horse) for horse in lists[0]} == {frozenset({"number", "name"})}


def test_nothing_on_the_pages_breaks_the_strict_policy(client_as: Any) -> None:
    """No page that is entered on has a script, a style or a handler written into it."""
    client = client_as("trainer")
    entered = [f"/{page}/{kept}" for page in ("diary", "checks", "clock") for kept in ("", "shell/")]
    for address in (*entered, "/diary/no-signal/", "/diary/conflicts/"):
        text = client.get(address).content.decode()
        assert not re.search(r"<style|<script(?![^>]*\ssrc=)|\sstyle=|\son[a-z]+=|javascript:", text)
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(set(ids)) == len(ids)
