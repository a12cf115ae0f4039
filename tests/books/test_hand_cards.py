"""What reports by hand take from the card, and what they say beside an import that holds a part of the race."""

from datetime import timedelta
from pathlib import Path

import polars as pl
import pytest

import programmed_yard as programmed
import worlds
from hand_reports import RESULT, declared, ours, say, told_differently, with_a_race
from upsides.books import clock
from upsides.books.models import Horse, Person
from upsides.books.queries.hand_results import hand_results
from upsides.books.queries.horse import horse
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import visitor
from upsides.books.services.hand_results import bring_in
from upsides.results.importing import add_frames
from upsides.results.library import Library
from upsides.results.race_cards import keep_card, read_lines
from upsides.web.string.horse_page import horse_page

pytestmark = pytest.mark.django_db


@pytest.fixture
def library(loaded: worlds.Yard, folder: Path) -> Path:
    """A library of this test alone, with a handicap of today."""
    return with_a_race(loaded, folder)


def test_a_part_of_a_race_does_not_say_how_many_ran(loaded: worlds.Yard, library: Path) -> None:
    """An import that holds none but ours, or lacks places before them, has as many rows as it has; that more ran by the
    report is no disagreement."""
    horse = declared(library, ours(loaded))
    say(horse, **RESULT)
    races = pl.DataFrame({"race_id": ["part"], "date": [clock.today()], "course": ["Larkmoor"], "distance_m": [1600.0]})
    runs = pl.DataFrame({"race_key": ["invented:part"], "source_horse": [horse.horse_key], "horse_name": [horse.name],
                         "date": [clock.today()], "outcome": ["finished"], "position": [3]})  # fmt: skip
    add_frames(Library.open(library), races, runs, "invented")
    bring_in(library)
    assert not [line for line in told_differently(library, "invented:part") if "How many ran" in line]


def test_a_card_in_capitals_tells_the_weights(loaded: worlds.Yard, library: Path) -> None:
    """What our horse and the winner carried is taken from the card, however it writes their names: in capitals, with
    their country."""
    horse, winner = declared(library, ours(loaded)), "Marram"
    code = programmed.code_of(library, "Sedge Handicap")
    lines = read_lines(f"{horse.name.upper()} (IRE) 3 9-1\nMARRAM (GB) 1 9-6")
    keep_card(library, code, lines, clock.now())
    say(horse, place="2", ran="9", margin="1", other=winner)
    runs = hand_results(library).runs.values()
    assert {run["horse_name"]: run["carried_lb"] for run in runs} == {horse.name: 127.0, winner: 132.0}


def test_a_horse_page_tells_reports_that_disagree(loaded: worlds.Yard, library: Path) -> None:
    """On the page of a horse what is told differently of its last races stands beside its runs, for those who may read
    reports; for an owner it does not."""
    known = set(loaded.world.runs["source_horse"])
    one, other = [declared(library, each) for each in Horse.objects.order_by("pk") if each.horse_key in known][:2]
    say(one, **RESULT)
    say(other, **RESULT | {"place": "4", "ran": "10"})
    bring_in(library)
    moment = Moment(clock.today() + timedelta(days=1))
    shown = horse(library, visitor(Person.objects.get(login="trainer"), barn=False), moment, one.pk)
    assert shown is not None
    ((key, words),) = horse_page(shown, None)["told"]
    assert key.startswith("by_hand:")
    assert words.startswith(f"How many ran: 10 by the report on {other.name}, 9 by that on {one.name}.")
    owner = visitor(Person.objects.get(login="owner"), barn=False)
    seen = [horse(library, owner, moment, each.pk) for each in (one, other)]
    assert not any(each.told for each in seen if each is not None)
