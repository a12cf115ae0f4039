import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import worlds
from upsides.books.models import Horse
from upsides.books.queries import levels
from upsides.errors import FitMissingError
from worlds import ClientAs

STRICT = ("default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'")


@pytest.fixture
def trainer(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


def a_horse(yard: worlds.Yard, *, raced: bool = True) -> Horse:
    known = yard.levels.horses["horse_key"].to_list()
    horses = Horse.objects.order_by("pk")
    return (horses.filter(horse_key__in=known) if raced else horses.exclude(horse_key__in=known)).first()


def a_race(yard: worlds.Yard) -> str:
    ran = yard.world.runs.filter(pl.col("source_horse") == a_horse(yard).horse_key, pl.col("position").is_not_null())
    return str(ran["race_key"][0])


def addresses(yard: worlds.Yard) -> list[str]:
    return [
        "/string/",
        "/string/?q=a&sort=-age&show=sire&show=joined",
        f"/horse/{a_horse(yard).pk}/",
        f"/horse/{a_horse(yard, raced=False).pk}/",
        f"/race/{a_race(yard)}/",
        "/horse/999999/",
        "/nowhere",
    ]


def answer_of(text: str) -> str:
    return re.search(r'<p class="answer"[^>]*>(.*?)</p>', text, re.DOTALL).group(1)


def test_every_page_refuses_what_is_not_ours(loaded: worlds.Yard, trainer: Client) -> None:
    """Every page, missing ones too, carries the strict policy and holds nothing inline."""
    for address in addresses(loaded):
        response = trainer.get(address)
        policy = response.headers["Content-Security-Policy"]
        assert all(part in policy for part in STRICT)
        assert "unsafe" not in policy
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert response.headers["X-Frame-Options"] == "DENY"
        text = response.content.decode()
        assert not re.search(r"<script(?![^>]*\ssrc=\"/static/)|<style|\sstyle=|\son[a-z]+=|javascript:", text)
        assert "https://" not in text.replace("http://www.w3.org", "")


def test_every_page_is_whole(loaded: worlds.Yard, trainer: Client) -> None:
    """Every page states its language and title, has one first heading, a skip link, and no id twice."""
    for address in addresses(loaded):
        text = trainer.get(address).content.decode()
        assert '<html lang="en-GB">' in text
        assert re.search(r"<title>[^<]+ · Upsides</title>", text)
        assert text.count("<h1") == 1
        assert 'class="skip" href="#content"' in text
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(set(ids)) == len(ids)
        assert "{{" not in text
        assert "{%" not in text
        assert "None" not in text


def test_string_answers_first(loaded: worlds.Yard, trainer: Client) -> None:
    """The list opens with a sentence that names the best horse, and holds every horse, each level with its curve."""
    text = trainer.get("/string/").content.decode()
    own = loaded.world.string["source_horse"].to_list()
    known = loaded.levels.horses.filter(pl.col("horse_key").is_in(own))
    best = known.sort("level_lb")["horse_key"][-1]
    name = loaded.world.string.filter(pl.col("source_horse") == best)["name"][0]
    assert f"{name.replace(chr(39), '&#x27;')} is worth most on our figures" in answer_of(text)
    assert text.count('scope="row"') == len(own)
    assert text.count('class="spark"') == known.height
    assert "yet to run" in answer_of(text)


def test_horse_answers_first(loaded: worlds.Yard, trainer: Client) -> None:
    """A horse's page opens with its level, its range and what they rest on, in whole pounds."""
    for horse in Horse.objects.order_by("pk")[:12]:
        text = trainer.get(f"/horse/{horse.pk}/").content.decode()
        row = loaded.levels.horses.filter(pl.col("horse_key") == horse.horse_key)
        if row.is_empty():
            assert answer_of(text).startswith("No figure yet")
            continue
        level, sd = row["level_lb"][0], row["sd_lb"][0]
        # 80 % of a normal distribution lie within 1.2816 standard deviations (standard table).
        low, high = round(level - 1.2816 * sd), round(level + 1.2816 * sd)
        expected = f"Worth {round(level)}\u00a0lb on our figures, four times in five between {low} and {high}; "
        assert answer_of(text).startswith(expected)
        assert re.search(r"\d+ runs?, last on \d+\s[A-Z][a-z]+\s20\d\d\.$", answer_of(text))
        figures = loaded.levels.figures.filter(pl.col("horse_key") == horse.horse_key)
        assert len(re.findall(r'class="figure"><b>', text)) == figures.height


def test_race_page_links_our_horses(loaded: worlds.Yard, trainer: Client) -> None:
    """A race's page names the winner, shows every runner, and links those in the string."""
    key = a_race(loaded)
    runs = loaded.world.runs.filter(pl.col("race_key") == key)
    text = trainer.get(f"/race/{key}/").content.decode()
    assert text.count('class="finish"') == runs.height
    assert f'href="/horse/{a_horse(loaded).pk}/"' in text
    assert runs.filter(pl.col("position") == 1)["horse_name"][0].split("'")[0] in answer_of(text)


def test_a_race_is_known_from_the_next_morning_on(loaded: worlds.Yard, trainer: Client) -> None:
    """As of the day it was run a race is not there yet; as of the day after it is."""
    key = a_race(loaded)
    day = loaded.world.races.filter(pl.col("race_key") == key)["date"][0]
    assert trainer.get(f"/race/{key}/?as_of={day}T23:00").status_code == 404
    assert trainer.get(f"/race/{key}/?as_of={day + timedelta(days=1)}T06:00").status_code == 200


def test_an_unknown_horse_gets_a_helpful_page(trainer: Client) -> None:
    """An unknown number says so, with the way back."""
    response = trainer.get("/horse/999999/")
    assert response.status_code == 404
    assert "There is no horse 999999 in this string." in response.content.decode()
    assert 'href="/string/"' in response.content.decode()


def test_an_unknown_address_gets_a_helpful_page(trainer: Client) -> None:
    """A mistyped address says so without showing the server's insides."""
    response = trainer.get("/nowhere")
    assert response.status_code == 404
    assert "There is no page at this address." in response.content.decode()
    assert "urlpatterns" not in response.content.decode()


def test_an_empty_string_gets_a_helpful_page(trainer: Client) -> None:
    """Without horses the page says which commands enter them, and which builds a yard to look at."""
    Horse.objects.all().delete()
    text = trainer.get("/string/").content.decode()
    assert "There is no horse in the books yet." in text
    assert "upsides new" in text
    assert "upsides demo --library" in text


def test_a_library_without_a_fit_shows_what_is_known(
    loaded: worlds.Yard, trainer: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a fit pages show horses and results all the same, and say which command makes one, and why."""

    def missing(*_: object) -> None:
        raise FitMissingError("here", None)

    monkeypatch.setattr(levels, "read_levels", missing)
    horse = a_horse(loaded)
    for address in ("/string/", f"/horse/{horse.pk}/"):
        text = trainer.get(address).content.decode()
        assert horse.name in text
        assert "upsides fit --library" in text
        assert "has no fit" in text
        assert 'class="spark"' not in text
    assert trainer.get(f"/horse/{horse.pk}/curve.json").status_code == 404
    race = trainer.get(f"/race/{a_race(loaded)}/").content.decode()
    assert "upsides fit" in race
    assert "Our figure" not in race


def test_a_yard_without_results_shows_its_horses(
    loaded: worlds.Yard, trainer: Client, settings: Any, tmp_path: Path
) -> None:
    """Without a library the horses of the books are shown, and the page says which command brings results in."""
    settings.UPSIDES_LIBRARY = tmp_path
    horse = a_horse(loaded)
    for address in ("/string/", f"/horse/{horse.pk}/"):
        text = trainer.get(address).content.decode()
        assert horse.name in text
        assert "upsides results add FILE" in text
    assert trainer.get(f"/race/{a_race(loaded)}/").status_code == 400


def test_a_horse_that_no_result_names_says_what_to_do(loaded: worlds.Yard, trainer: Client) -> None:
    """A horse without a key of the library is shown, and its page says how results are added."""
    horse = Horse.objects.create(
        horse_key="yard:new-2023", name="Newly Come", foaled=2023, sex="filly", joined=loaded.world.today
    )
    text = trainer.get(f"/horse/{horse.pk}/").content.decode()
    assert "The library holds no run of it." in text
    assert "upsides results add FILE" in text
    assert "Newly Come" in trainer.get("/string/?q=newly").content.decode()


def test_words_in_names_are_escaped(loaded: worlds.Yard, trainer: Client) -> None:
    """A name with mark-up in it is shown, not obeyed, in page and picture alike."""
    raced = a_horse(loaded)
    raced.name, raced.barn, raced.sire = '<b>Bold</b> & "Co"', "<i>Low</i>", "<u>Sire</u>"
    raced.save()
    for address in ("/string/?show=barn&show=sire&q=%3Cb%3E", f"/horse/{raced.pk}/"):
        text = trainer.get(address).content.decode()
        assert "<b>Bold" not in text
        assert "&lt;b&gt;Bold" in text
        assert "<i>Low" not in text
        assert "<u>Sire" not in text


def test_pages_ask_the_books_little(loaded: worlds.Yard, trainer: Client) -> None:
    """The list asks the books as often for 90 horses as for 9, and no page asks often, as of a moment neither."""
    horse, race = a_horse(loaded), a_race(loaded)
    asked: dict[str, list[int]] = {}
    trainer.get("/string/")  # the first page on a browser that is not known yet writes it down
    for _ in range(2):
        for address in ("/string/", "/string/?as_of=2026-06-20T23:59:59", f"/horse/{horse.pk}/", f"/race/{race}/"):
            with CaptureQueriesContext(connection) as queries:
                assert trainer.get(address).status_code == 200
            asked.setdefault(address, []).append(len(queries))
        kept = Horse.objects.order_by("-pk")[:8].values_list("pk", flat=True)
        Horse.objects.exclude(pk__in=[horse.pk, *kept]).delete()
    assert all(many == few for many, few in asked.values())
    assert max(max(counts) for counts in asked.values()) <= 26


def test_style_sheets_are_served_for_ever(trainer: Client) -> None:
    """Style sheets carry their content in their name, may be kept for good, and use the theme's tokens."""
    text = trainer.get("/string/").content.decode()
    found = re.findall(r'href="(/static/[^"]+\.css)"', text)
    assert len(found) == 3
    for address in found:
        response = trainer.get(address)
        sheet = b"".join(response.streaming_content).decode()
        assert "immutable" in response.headers["Cache-Control"]
        assert re.search(r"\.[0-9a-f]{12}\.css$", address)
        assert "--ink" in sheet


def test_a_strange_host_is_refused(db: None) -> None:
    """A request for a host that was not allowed is turned away."""
    assert Client().get("/string/", headers={"host": "elsewhere.example"}).status_code == 400
