"""The pace to expect on race day: by where runners of the card were early in past races, and what is not known."""

from datetime import timedelta
from html import unescape

import polars as pl
import pytest

import worlds
from medicine_yard import boosted
from programmed_yard import code_of, engage_for, marked, programmed
from upsides.books import clock
from upsides.books.models import Horse, Person
from upsides.books.queries import moments, pace
from upsides.books.queries.pace import Early, early_places
from upsides.errors import FigureRefusedError
from upsides.results.library import Library
from upsides.results.race_cards import CardRunner, keep_card, read_card, read_lines
from upsides.web.programme.pace_words import pace_words
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def test_runners_are_read_as_people_type_them() -> None:
    """A number behind a name is its stall; a line without a name, a name or a stall twice, or what can be neither stall
    nor weight is refused in words. A name that ends with a number is put in quotes, and comes back so.
    """
    assert read_lines("Marram 4\n\n  Sea  Holly\nRule of 3 12\n") == (
        CardRunner("Marram", 4), CardRunner("Sea Holly"), CardRunner("Rule of 3", 12),
    )  # fmt: skip
    for text, words in (("12\n", "write a name"), ("Marram\nmarram 3", "marram stands in it twice; write each runner"),
                        ("Marram\nMARRAM (IRE) 3", "stands in it twice"), ("Tern 61 9-0", "they go from 1 to 60"),
                        ("Marram 3\nReed 3", "another runner has stall 3"), ("Tern 0 9-0", "no stall"),
                        ("Tallow Sundial -3 9-7", "a name"), ("A 99-99", "a name")):  # fmt: skip
        with pytest.raises(FigureRefusedError, match=words):
            read_lines(text)
    quoted = (CardRunner("Tern 66", None, 126.0), CardRunner("Tern 8", 60, 120.0), CardRunner("Tern 9"))
    assert read_lines('"Tern 66" 9-0\n"Tern 8" 60 8-8\n"Tern 9"') == quoted
    assert read_lines("\n".join(str(one) for one in quoted)) == quoted
    assert [str(one) for one in read_lines("Marram 4 9-7\nReed 60.5kg")] == ["Marram 4 9-7", "Reed 133.38lb"]


def test_the_last_card_that_was_known_counts(loaded: worlds.Yard) -> None:
    """As of a moment the card that stood then is read; before the first none."""
    at = clock.now()
    keep_card(loaded.library, "abc", [CardRunner("Marram", 1)], at)
    keep_card(loaded.library, "abc", [CardRunner("Marram", 9)], at + timedelta(hours=2))
    assert read_card(loaded.library, "abc")[0].stall == 9
    assert read_card(loaded.library, "abc", at + timedelta(hours=1))[0].stall == 1
    assert read_card(loaded.library, "abc", at - timedelta(hours=1)) == ()
    assert read_card(loaded.library, "other") == ()


def test_early_places_are_those_of_the_results(loaded: worlds.Yard) -> None:
    """A rival's place early is its position there over the field, counted by hand from the results; a name that no
    result has is not known."""
    runs = loaded.world.runs.filter(pl.col("date") < clock.today(), pl.col("section_position").is_not_null())
    races = loaded.world.races.select("race_key", "section_m", "distance_m", "runners")
    counts = runs.group_by("source_horse").len().sort("len", "source_horse", descending=True)
    code = counts["source_horse"][0]
    mine = runs.filter(pl.col("source_horse") == code).join(races, on="race_key").sort("date", descending=True)
    by_hand = []
    for row in mine.iter_rows(named=True):
        to_go, place = row["distance_m"], None
        for metres, position in zip(row["section_m"], row["section_position"], strict=False):
            to_go -= metres
            if abs(to_go - 800) < 0.5:
                place = position
        if place is not None and row["runners"] > 1 and place <= row["runners"]:
            by_hand.append((place - 1) / (row["runners"] - 1))
    horses = Library.open(loaded.library).horses().filter(pl.col("source_horse").str.ends_with(code)).collect()
    name = str(horses["name"][0])
    found = early_places(loaded.library, moments.now(), (CardRunner(name), CardRunner("Nobody At All")), {})
    assert [one.name for one in found] == [name, "Nobody At All"]
    assert found[0].runs == min(len(by_hand), pace.LAST)
    assert found[0].place == pytest.approx(sum(by_hand[: pace.LAST]) / found[0].runs)
    assert found[0].front == sum(one <= pace.IN_FRONT for one in by_hand[: pace.LAST])
    assert not found[1].known


def test_words_say_who_leads_and_who_is_not_known() -> None:
    """One that was often in front is named, two make the pace strong, and those not known are named as such."""
    led, also, back = (Early("Marram", ours=False, runs=8, front=6, place=0.1),
                       Early("Reed", ours=False, runs=5, front=3, place=0.2),
                       Early("Ours", ours=True, runs=4, front=0, place=0.9))  # fmt: skip
    text = " ".join(pace_words([led, also, back, Early("Fern", ours=False)], card=True))
    assert "Marram is likely to lead: in front early in 6 of its last 8 timed races." in text
    assert "the pace may be strong" in text
    assert "Ours has usually been towards the rear early, over 4 timed races." in text
    assert "Nothing is known of where these go early: Fern." in text
    assert "nobody is likely to lead by habit" in " ".join(pace_words([back], card=True))
    assert "The other runners are not written down" in pace_words([back], card=False)[0]


def test_a_card_is_written_on_race_day(client_as: ClientAs, loaded: worlds.Yard) -> None:
    """The office writes the runners down, the page then tells the pace; others may not write."""
    Horse.objects.exclude(pk=Horse.objects.order_by("pk")[0].pk).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    horse, trainer = marked(Horse.objects.order_by("pk")[0]), Person.objects.get(login="trainer")
    boosted(horse, clock.today() - timedelta(days=30))
    code = code_of(loaded.library, "Sedge Handicap")
    engage_for(horse, code, loaded.library, trainer, "enter")
    row = engage_for(horse, code, loaded.library, trainer, "declare")
    browser, address = client_as("secretary"), f"/race-day/?day={row.day}"
    assert "The other runners are not written down" in browser.get(address).content.decode()
    sent = browser.post(f"/race-day/race/{code}/runners/", {"runners": "Nobody At All 3"})
    assert sent.status_code == 302
    text = browser.get(address).content.decode()
    assert "Nothing is known of where these go early" in text
    assert "Nobody At All" in text
    assert client_as("rider").post(f"/race-day/race/{code}/runners/", {"runners": "x"}).status_code == 403


def test_entries_are_written_down_on_the_page_of_a_race(client_as: ClientAs, loaded: worlds.Yard) -> None:
    """The office writes entries on the page of the race and stays there; the page of a horse in it then tells its rank
    among them and its chance of a run, and the form has them as they were typed."""
    Horse.objects.exclude(pk=Horse.objects.order_by("pk")[0].pk).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    horse, trainer = marked(Horse.objects.order_by("pk")[0]), Person.objects.get(login="trainer")
    boosted(horse, clock.today() - timedelta(days=30))
    code = code_of(loaded.library, "Sedge Handicap")
    engage_for(horse, code, loaded.library, trainer, "enter")
    browser, address = client_as("secretary"), f"/programme/race/{code}/"
    entry = f"{address}horse/{horse.pk}/"
    assert "its chance of a run" not in browser.get(entry).content.decode()
    assert "Entries, or runners on the card" in browser.get(address).content.decode()
    typed = f"Reed 10-0\n{horse.name}\nFern 7-0"
    sent = browser.post(f"/race-day/race/{code}/runners/", {"runners": typed, "to": "race"})
    assert (sent.status_code, sent.headers["Location"]) == (302, address)
    text = " ".join(browser.get(entry).content.decode().replace("\u00a0", " ").split())
    assert "Among the 3 entries it stands" in text
    assert "its chance of a run is 100 %." in text
    assert typed in unescape(browser.get(address).content.decode())
    assert "Entries, or runners on the card" not in client_as("head_person").get(address).content.decode()
