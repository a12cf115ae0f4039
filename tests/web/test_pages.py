import re

import polars as pl
import pytest
from django.test import Client

import worlds
from upsides.books.models import Horse
from upsides.books.queries import levels
from upsides.errors import LibraryMissingError

STRICT = ("default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'")


def addresses(yard: worlds.Yard) -> list[str]:
    raced = Horse.objects.filter(horse_key__in=yard.levels.horses["horse_key"].to_list()).first()
    unraced = Horse.objects.exclude(horse_key__in=yard.levels.horses["horse_key"].to_list()).first()
    race = yard.world.runs.filter(pl.col("source_horse") == raced.horse_key)["race_key"][0]
    return [
        "/",
        f"/horse/{raced.pk}/",
        f"/horse/{unraced.pk}/",
        f"/race/{race}/",
        "/horse/999999/",
        "/nowhere",
    ]


def test_every_page_refuses_what_is_not_ours(loaded: worlds.Yard, client: Client) -> None:
    """Every page, missing ones too, carries the strict policy and holds nothing inline."""
    for address in addresses(loaded):
        response = client.get(address)
        policy = response.headers["Content-Security-Policy"]
        assert all(part in policy for part in STRICT)
        assert "unsafe" not in policy
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert response.headers["X-Frame-Options"] == "DENY"
        text = response.content.decode()
        assert not re.search(r"<script|<style|\sstyle=|\son[a-z]+=|javascript:", text)
        assert "https://" not in text.replace("http://www.w3.org", "")


def test_every_page_is_whole(loaded: worlds.Yard, client: Client) -> None:
    """Every page states its language and title, has one first heading, a skip link, and no id twice."""
    for address in addresses(loaded):
        text = client.get(address).content.decode()
        assert '<html lang="en-GB">' in text
        assert re.search(r"<title>[^<]+ · Upsides</title>", text)
        assert text.count("<h1") == 1
        assert 'class="skip" href="#content"' in text
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(set(ids)) == len(ids)
        assert "{{" not in text
        assert "None" not in text


def test_string_answers_first(loaded: worlds.Yard, client: Client) -> None:
    """The list opens with a sentence that names the best horse, and holds every horse with its range."""
    text = client.get("/").content.decode()
    answer = re.search(r'<p class="answer">(.*?)</p>', text).group(1)
    own = loaded.world.string["source_horse"].to_list()
    known = loaded.levels.horses.filter(pl.col("horse_key").is_in(own))
    best = known.sort("level_lb")["horse_key"][-1]
    name = loaded.world.string.filter(pl.col("source_horse") == best)["name"][0]
    assert f"{name.replace(chr(39), '&#x27;')} is worth most" in answer
    assert text.count("<li>") == 24
    assert text.count("four times in five\n") + text.count("four times in five between") >= known.height
    assert text.count('class="spark"') == known.height
    assert "yet to run" in answer


def test_horse_answers_first(loaded: worlds.Yard, client: Client) -> None:
    """A horse's page opens with its level, its range and what they rest on, in whole pounds."""
    for horse in Horse.objects.all():
        text = client.get(f"/horse/{horse.pk}/").content.decode()
        answer = re.search(r'<p class="answer">(.*?)</p>', text).group(1)
        row = loaded.levels.horses.filter(pl.col("horse_key") == horse.horse_key)
        if row.is_empty():
            assert answer.startswith("No figure yet")
            continue
        level, sd = row["level_lb"][0], row["sd_lb"][0]
        # 80 % of a normal distribution lie within 1.2816 standard deviations (standard table).
        low, high = round(level - 1.2816 * sd), round(level + 1.2816 * sd)
        expected = f"Worth {round(level)}\u00a0lb on our figures, four times in five between {low} and {high}; "
        assert answer.startswith(expected)
        assert re.search(rf"{row['runs'][0]} runs?, last on \d+\s[A-Z][a-z]+\s20\d\d\.$", answer)
        assert text.count('<td role="cell" class="figure">') == row["runs"][0]


def test_race_page_links_our_horses(loaded: worlds.Yard, client: Client) -> None:
    """A race's page names the winner, shows every runner, and links those in the string."""
    horse = Horse.objects.filter(horse_key__in=loaded.levels.horses["horse_key"].to_list()).first()
    key = loaded.world.runs.filter(pl.col("source_horse") == horse.horse_key)["race_key"][0]
    runs = loaded.world.runs.filter(pl.col("race_key") == key)
    text = client.get(f"/race/{key}/").content.decode()
    assert text.count('<td role="cell" class="finish">') == runs.height
    assert f'href="/horse/{horse.pk}/"' in text
    assert runs.filter(pl.col("position") == 1)["horse_name"][0].split("'")[0] in text


def test_an_unknown_horse_gets_a_helpful_page(loaded: worlds.Yard, client: Client) -> None:
    """An unknown number says so, with the way back."""
    response = client.get("/horse/999999/")
    assert response.status_code == 404
    assert "There is no horse 999999 in this string." in response.content.decode()
    assert 'href="/"' in response.content.decode()


def test_an_unknown_address_gets_a_helpful_page(loaded: worlds.Yard, client: Client) -> None:
    """A mistyped address says so without showing the server's insides."""
    response = client.get("/nowhere")
    assert response.status_code == 404
    assert "There is no page at this address." in response.content.decode()
    assert "urlpatterns" not in response.content.decode()


def test_an_empty_string_gets_a_helpful_page(
    books: None, yard: worlds.Yard, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without horses the page says which command builds a yard to look at."""
    monkeypatch.setattr(levels, "read_levels", lambda _: yard.levels)
    text = client.get("/").content.decode()
    assert "There is no horse in the books yet." in text
    assert "upsides demo --library" in text


def test_a_library_without_a_fit_gets_a_helpful_page(
    books: None, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a fit every page says which command makes one, and why."""

    def missing(_: object) -> None:
        raise LibraryMissingError("here")

    monkeypatch.setattr(levels, "read_levels", missing)
    for address in ("/", "/horse/1/", "/race/x/"):
        text = client.get(address).content.decode()
        assert "upsides fit --library" in text
        assert "no library of results in here" in text


def test_words_in_names_are_escaped(loaded: worlds.Yard, client: Client) -> None:
    """A name with mark-up in it is shown, not obeyed, in page and picture alike."""
    raced = Horse.objects.filter(horse_key__in=loaded.levels.horses["horse_key"].to_list()).first()
    raced.name = '<b>Bold</b> & "Co"'
    raced.save()
    for address in ("/", f"/horse/{raced.pk}/"):
        text = client.get(address).content.decode()
        assert "<b>Bold" not in text
        assert "&lt;b&gt;Bold" in text


def test_pages_ask_the_books_little(loaded: worlds.Yard, client: Client) -> None:
    """The list needs one question to the books however long it is; a horse one."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    horse = Horse.objects.first()
    for address in ("/", f"/horse/{horse.pk}/"):
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        assert len(asked) == 1


def test_style_sheets_are_served_for_ever(loaded: worlds.Yard, client: Client) -> None:
    """Style sheets carry their content in their name, may be kept for good, and hold the theme's tokens."""
    text = client.get("/").content.decode()
    found = re.findall(r'href="(/static/[^"]+\.css)"', text)
    assert len(found) == 2
    for address in found:
        response = client.get(address)
        sheet = b"".join(response.streaming_content).decode()
        assert "immutable" in response.headers["Cache-Control"]
        assert re.search(r"\.[0-9a-f]{12}\.css$", address)
        assert "--ink" in sheet


def test_a_strange_host_is_refused(loaded: worlds.Yard) -> None:
    """A request for a host that was not allowed is turned away."""
    assert Client().get("/", headers={"host": "elsewhere.example"}).status_code == 400
