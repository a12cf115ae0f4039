"""A horse's pedigree: five generations, those that stand twice, inbreeding with how much is known."""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path

import polars as pl
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import worlds
from upsides.books import clock
from upsides.books.models import Horse, Person, Sight, Yard
from upsides.books.queries import pedigree as pedigrees
from upsides.pedigree import page, pedigree_of, table_of
from upsides.results.importing import add_frames
from upsides.results.library import Library
from upsides.web.shell.middleware import BARN
from worlds import ClientAs

AT = datetime(2026, 6, 1, 9, tzinfo=UTC)


@pytest.fixture
def trainer(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


@pytest.fixture
def store(settings: object, tmp_path: Path) -> Iterator[Path]:
    """Let pages read another library, empty for now."""
    Library.create(tmp_path / "library")
    settings.UPSIDES_LIBRARY = tmp_path / "library"
    return tmp_path / "library"


class Bracket(HTMLParser):
    """Reads the large bracket of a page: every place with its generation, whether as sire, its name and its letter."""

    def __init__(self) -> None:
        super().__init__()
        self.places: list[dict[str, str]] = []
        self.inside = self.generation = 0
        self.reading = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        kind = str(dict(attrs).get("class", ""))
        if tag == "section":
            self.inside = kind == "ancestors"
        elif self.inside and kind.startswith("branch"):
            self.places.append({"generation": kind[-1], "role": "", "name": "", "mark": "", "born": ""})
        elif self.inside and tag == "span":
            self.reading = {"unseen": "role", "soft": "name"}.get(kind, kind)

    def handle_endtag(self, tag: str) -> None:
        if tag == "span":
            self.reading = "name" if self.reading == "mark" else ""

    def handle_data(self, data: str) -> None:
        if self.inside and self.reading:
            self.places[-1][self.reading] += data.strip()


def read(client: Client, address: str) -> tuple[str, list[dict[str, str]]]:
    response = client.get(address)
    assert response.status_code == 200, address
    text = response.content.decode()
    found = Bracket()
    found.feed(text)
    return text, found.places


def answer_of(text: str) -> str:
    return re.search(r'<p class="answer">(.*?)</p>', text, re.DOTALL)[1].replace("\xa0", " ").replace("&#x27;", "'")


def address(horse: Horse) -> str:
    return f"/horse/{horse.pk}/pedigree/"


def twice_of(text: str) -> list[tuple[str, str, str, str]]:
    """Return the legend: letter, name, where, what it adds."""
    row = r'<span class="mark">(\w+)</span> (.*?)</th><td>(.*?)</td><td class="number">(.*?)</td>'
    return [tuple(part.replace("\xa0", " ") for part in found) for found in re.findall(row, text)]


def test_five_generations_agree_with_the_whole_library(loaded: worlds.Yard, trainer: Client) -> None:
    """The page's places, letters and inbreeding are those of the pedigree of all the library's horses."""
    whole = pedigree_of(table_of(Library.open(loaded.library))).pedigree
    for horse in Horse.objects.order_by("pk")[:6]:
        printed = page(whole, whole.place(horse.horse_key))
        text, places = read(trainer, address(horse))
        order = list(top_to_bottom(printed.places, whole.printed))
        assert [place["name"] for place in places] == [name for name, _ in order]
        letters = {one.animal: chr(ord("a") + i) for i, one in enumerate(printed.duplicates)}
        assert [place["mark"] for place in places] == [letters.get(animal, "") for _, animal in order]
        assert [(name, where) for _, name, where, _ in twice_of(text)] == [
            (whole.printed[one.animal], one.notation) for one in printed.duplicates
        ]
        assert f"Inbreeding {100 * printed.within:.1f} % over five generations" in answer_of(text)
        assert f"{100 * printed.f:.1f} %; its longest line goes back {printed.depth.longest[0]}" in text.replace(
            "\xa0", " "
        )


def top_to_bottom(places: tuple[int, ...], names: tuple[str, ...], i: int = 0) -> Iterator[tuple[str, int]]:
    """Yield the places as the page holds them: each, then its sire and all behind it, then its dam."""
    yield (names[places[i]], places[i]) if places[i] >= 0 else ("not known", -1)
    behind = (2 * i + 1, 2 * i + 2)
    if behind[1] < len(places) and any(places[place] >= 0 for place in behind):
        for place in behind:
            yield from top_to_bottom(places, names, place)


def test_the_sire_stands_above_the_dam(loaded: worlds.Yard, trainer: Client) -> None:
    """At every step the sire comes first and the dam second, and those who hear the page are told which is which."""
    horse = Horse.objects.order_by("pk")[0]
    text, places = read(trainer, address(horse))
    register = {row["name"]: (row["sire"], row["dam"]) for row in loaded.world.register.to_dicts()}
    roles = [place["role"] for place in places[1:]]
    assert roles.count("Sire:") == roles.count("Dam:") == len(roles) // 2
    line = [(int(place["generation"]), place["role"], place["name"]) for place in places]
    children = {0: horse.name}
    for generation, role, name in line[1:]:
        assert register[children[generation - 1]][role == "Dam:"] == name
        children[generation] = name
    assert "By" in answer_of(text)


def test_the_sentence_names_sire_dam_and_damsire(loaded: worlds.Yard, trainer: Client) -> None:
    """The page opens with whose foal it is, how inbred, and how many generations that rests on."""
    register = {row["name"]: row for row in loaded.world.register.to_dicts()}
    horse = Horse.objects.order_by("pk")[0]
    text, places = read(trainer, address(horse))
    filled = [
        sum(place["generation"] == str(g) and place["name"] != "not known" for place in places) for g in range(1, 6)
    ]
    full = next((i for i, count in enumerate(filled) if count < 2 ** (i + 1)), 5)
    words = (
        "all of them fully known" if full == 5 else f"of which {('', '', 'two', 'three', 'four')[full]} are fully known"
    )
    assert answer_of(text).startswith(
        f"By {horse.sire} out of {horse.dam}, by {register[horse.dam]['sire']}. Inbreeding"
    )
    assert answer_of(text).endswith(f"over five generations, {words}.")
    assert f"{filled[0]} of 2 parents, {filled[1]} of 4 grandparents" in text


def test_generations_behind_the_third_stand_below_for_a_phone(loaded: worlds.Yard, trainer: Client) -> None:
    """What a phone does not show abreast stands below once more: every name behind the third generation."""
    text, places = read(trainer, address(Horse.objects.order_by("pk")[0]))
    below = text.partition('<section class="below">')[2].partition("</section>")[0]
    for place in places:
        if int(place["generation"]) > 3:
            assert place["name"].replace("'", "&#x27;") in below


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ([], "Neither its sire nor its dam is known."),
        (
            [("H", "Oak", "", "")],
            "By Oak; its dam is not known. Too little is known of its ancestors to tell its inbreeding.",
        ),
        ([("H", "", "Elm", "Fir")], "Out of Elm, by Fir; its own sire is not known. Too little"),
        ([("H", "", "Elm", "")], "Out of Elm; its sire is not known. Too little"),
        ([("H", "Oak", "Elm", "")], "By Oak out of Elm. Too little"),
        ([("H", "Oak", "Elm", "Fir")], "By Oak out of Elm, by Fir. Too little"),
        ([("H", "Oak", "Elm", "Oak")], "By Oak out of Elm, by Oak. Inbreeding at least 25.0 %"),
        (
            [("H", "Oak", "Elm", ""), ("Oak", "Fir", "Ash", ""), ("Elm", "Fir", "Yew", "")],
            "By Oak out of Elm, by Fir. Inbreeding 12.5 % over five generations, of which two are fully known.",
        ),
    ],
)
def test_what_is_not_known_is_said(
    trainer: Client, store: Path, rows: list[tuple[str, str, str, str]], sentence: str
) -> None:
    """With gaps the sentence says what is known, and never a figure that rests on nothing (Wright 1922: 1/8, 1/4)."""
    horse = Horse.objects.order_by("pk")[0]
    Horse.objects.filter(pk=horse.pk).update(sire="", dam="")
    own = {"source_horse": horse.horse_key, "name": horse.name, "foaled": horse.foaled}
    listed = [
        (own if name == "H" else {"source_horse": f"invented:{name}", "name": name, "foaled": 2005})
        | dict(zip(("sire", "dam", "dam_sire"), parents, strict=True))
        for name, *parents in rows
    ]
    races = pl.DataFrame({"race_id": ["1"], "date": [date(2020, 1, 1)]})
    runs = pl.DataFrame(schema={"race_key": pl.String, "source_horse": pl.String})
    add_frames(Library.open(store), races, runs, "invented", pl.DataFrame(listed) if listed else None)
    text, places = read(trainer, address(horse))
    assert answer_of(text).startswith(sentence)
    assert [place["name"] for place in places if place["generation"] == "0"] == ([horse.name] if rows else [])
    assert ("upsides results add" in text) == (not rows)
    assert ("cannot be told" in text) == ("Too little" in sentence)


def test_a_horse_that_no_library_knows(trainer: Client, settings: object, tmp_path: Path) -> None:
    """Where there is no library at all the parents of the horse's own entry stand, and the page opens."""
    settings.UPSIDES_LIBRARY = tmp_path / "nothing"
    horse = Horse.objects.order_by("pk")[0]
    _, places = read(trainer, address(horse))
    assert [place["name"] for place in places] == [horse.name, horse.sire, horse.dam]


def test_a_later_state_of_the_library_is_seen(trainer: Client, store: Path) -> None:
    """What is kept of a pedigree holds as long as the library stands as it did, and no longer."""
    horse = Horse.objects.order_by("pk")[0]
    assert len(read(trainer, address(horse))[1]) == 3
    kept = pedigrees._printed.cache_info().hits
    assert len(read(trainer, address(horse))[1]) == 3
    assert pedigrees._printed.cache_info().hits == kept + 1
    races = pl.DataFrame({"race_id": ["1"], "date": [date(2020, 1, 1)]})
    runs = pl.DataFrame(schema={"race_key": pl.String, "source_horse": pl.String})
    known = {
        "source_horse": ["x:1"],
        "name": [horse.sire],
        "foaled": [horse.foaled - 9],
        "sire": ["Oak"],
        "dam": ["Ash"],
    }
    add_frames(Library.open(store), races, runs, "x", pl.DataFrame(known))
    assert [place["name"] for place in read(trainer, address(horse))[1]] == [
        horse.name,
        horse.sire,
        "Oak",
        "Ash",
        horse.dam,
    ]


def test_everybody_sees_a_pedigree_and_an_owner_his_own(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """It is public knowledge: riders see it, barn phones show it, nobody is written down for looking."""
    own, others = Horse.objects.order_by("pk")[:2]
    seen = Sight.objects.count()
    for login in ("trainer", "rider", "vet"):
        assert client_as(login).get(address(others)).status_code == 200
    phone = client_as("carer")
    session = phone.session
    session[BARN] = True
    session.save()
    assert phone.get(address(others)).status_code == 200
    assert client_as("owner").get(address(own)).status_code == 200
    assert client_as("owner").get(address(others)).status_code == 404
    assert client_as("trainer").get("/horse/999999/pedigree/").status_code == 404
    assert Sight.objects.count() == seen


def test_the_horse_is_as_the_books_had_it(trainer: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """As of a moment the horse has the name and the parents that its entry had; links stay at the moment."""
    monkeypatch.setattr(clock, "now", lambda: AT)
    Yard.objects.update(fixed_day=None)
    for model in (Horse, Person, Yard):
        model.history.update(history_date=AT - timedelta(days=400))
    horse = Horse.objects.order_by("pk")[0]
    before = horse.name, horse.sire
    monkeypatch.setattr(clock, "now", lambda: AT + timedelta(hours=2))
    horse.name, horse.sire = "Renamed", "Another Sire"
    horse.save()
    assert [place["name"] for place in read(trainer, address(horse))[1][:2]] == ["Renamed", "Another Sire"]
    text, places = read(trainer, f"{address(horse)}?as_of=2026-06-01T11:00")
    assert (places[0]["name"], places[1]["name"]) == before
    assert f'href="/horse/{horse.pk}/?as_of=2026-06-01T11%3A00"' in text


def test_the_horses_page_leads_there(trainer: Client) -> None:
    """The line that says whose foal a horse is leads to its pedigree, and stays at the moment."""
    horse = Horse.objects.order_by("pk")[0]
    Horse.history.update(history_date=AT - timedelta(days=400))
    text = trainer.get(f"/horse/{horse.pk}/", {"as_of": "2026-06-01T12:00"}).content.decode()
    link = re.search(rf'<a href="/horse/{horse.pk}/pedigree/(.*?)">(.*?)</a>', text)
    assert link[1] == "?as_of=2026-06-01T12%3A00"
    assert link[2].endswith(f"by {horse.sire} out of {horse.dam}".replace("'", "&#x27;"))


def test_the_page_asks_the_books_little(trainer: Client) -> None:
    """The books are asked no more than for who looks, the yard and the horse, however many ancestors there are."""
    asked = []
    for horse in Horse.objects.order_by("pk")[:3]:
        with CaptureQueriesContext(connection) as queries:
            read(trainer, address(horse))
        asked.append(len(queries))
    assert asked[1] == asked[2] <= 8  # the first asks for the session besides
