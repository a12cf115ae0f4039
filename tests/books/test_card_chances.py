"""Chances against the runners of a card: each matched to the library where it can be, the others told as not known."""

import json
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest
from click.testing import CliRunner

import worlds
from kept_levels import kept
from medicine_yard import boosted
from programmed_yard import code_of, engage_for, marked, programmed
from upsides.books import clock
from upsides.books.models import Horse, Job, Person
from upsides.books.queries import moments
from upsides.books.queries.black_type import BUILDS, black_type_history, black_type_said, build_of
from upsides.books.queries.carded import keys_named
from upsides.books.queries.chances_wanted import wanted_races
from upsides.books.queries.race_chances import Working, stall_worth
from upsides.books.queries.results import state_of
from upsides.books.services import opening
from upsides.books.services.black_type import say_black_type
from upsides.books.services.race_day import write_runners
from upsides.cli.main import main
from upsides.errors import FigureRefusedError
from upsides.ratings.draw.fitting import Block, DrawFit, Slopes
from upsides.ratings.draw.worth import Start, draw_at
from upsides.results.library import Library
from upsides.rules import NONE
from upsides.rules.lookup import override

pytestmark = pytest.mark.django_db
STAR_LB = 150.0


@pytest.fixture
def code(loaded: worlds.Yard) -> str:
    """A handicap to come; the only horse in training is entered for it."""
    horse = Horse.objects.order_by("pk")[0]
    Horse.objects.exclude(pk=horse.pk).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    boosted(marked(horse), clock.today() - timedelta(days=30))
    code = code_of(loaded.library, "Sedge Handicap")
    engage_for(horse, code, loaded.library, Person.objects.get(login="trainer"), "enter")
    return code


def others(loaded: worlds.Yard, count: int) -> list[tuple[str, str]]:
    """Return key and name of horses of the library whose name no other has, none of them ours."""
    ours = set(Horse.objects.values_list("horse_key", flat=True))
    rows = Library.open(loaded.library).horses().filter(pl.col("runs") > 3).collect()
    once = rows.filter(pl.col("name").is_unique(), ~pl.col("horse_key").is_in(ours)).sort("horse_key")
    return once.select("horse_key", "name").rows()[:count]


def working(loaded: worlds.Yard, levels: dict[str, float]) -> Working:
    """Return what works chances out, from levels that are given and nothing else of a fit."""
    made: Any = Working.__new__(Working)
    made.folder, made.moment, made._own = loaded.library, moments.now(), {}
    made.horses = list(Horse.objects.order_by("pk")[:1])
    made.state, made.facts, made.rules = state_of(loaded.library), {}, NONE
    made.black_type = {}
    made.fit, made._fit, made._ruled = None, "", ""
    made.kept = kept(levels, sd=2.0)
    return made


def test_names_of_a_card_find_their_horses(loaded: worlds.Yard) -> None:
    """A name that one horse has finds it whatever its case, with its country too; another country's, and one that
    nobody has, find none."""
    rows = Library.open(loaded.library).horses().filter(pl.col("runs") > 3).collect()
    (key, name), day = others(loaded, 1)[0], clock.today()
    state = state_of(loaded.library)
    assert keys_named(state, name.upper(), day) == (key,)
    country = rows.filter(pl.col("horse_key") == key)["suffix"][0]
    if country:
        assert keys_named(state, f"{name} ({country})", day) == (key,)
        assert keys_named(state, f"{name} (XYZ)", day) == ()
    assert keys_named(state, "Nobody At All", day) == ()
    assert keys_named(state, name, rows["first_run"].min()) == ()


def test_a_race_is_worked_out_on_its_runners(loaded: worlds.Yard, code: str) -> None:
    """Of a card with one known rival and one that nobody knows the answer says which is which; ours is none of them,
    its stall and weight are the card's; a known star in the other's place costs chance, and the answer was made from
    the card."""
    horse, ((mild, plain), (star, bright)) = Horse.objects.order_by("pk")[0], others(loaded, 2)
    made = working(loaded, {horse.horse_key: 70.0, mild: 70.0, star: STAR_LB})
    (before,) = [one for one in wanted_races(loaded.library, made.moment) if one.code == code]
    write_runners(loaded.library, code, f"{plain} 2 9-0\n{horse.name} 1 8-12\nNobody At All 3")
    assert Job.objects.filter(kind="chances", state=Job.State.WAITING).exists()
    (wanted,) = [one for one in wanted_races(loaded.library, made.moment) if one.code == code]
    found = made.chances(wanted)[horse.pk]
    assert (found.known, found.drawn, found.races) == ((plain,), ("Nobody At All",), 0)
    assert (found.size, found.stall, found.weight) == ((3.0, 3.0, 3.0), 1, 124.0)
    assert "card" not in _made(made, before)
    write_runners(loaded.library, code, f"{plain} 2 9-0\n{horse.name} 1 8-12\n{bright} 3")
    (starred,) = [one for one in wanted_races(loaded.library, made.moment) if one.code == code]
    beaten = made.chances(starred)[horse.pk]
    assert (beaten.known, beaten.drawn) == ((plain, bright), ())
    assert beaten.win[0] < found.win[0]
    assert _made(made, starred)["card"] != _made(made, wanted)["card"]


def test_a_non_runner_taken_off_the_card_changes_the_chance(loaded: worlds.Yard, code: str) -> None:
    """Without the best of its rivals on the card a horse's chance is better, in a smaller field."""
    horse, ((mild, plain), (star, bright)) = Horse.objects.order_by("pk")[0], others(loaded, 2)
    made = working(loaded, {horse.horse_key: 70.0, mild: 70.0, star: STAR_LB})
    told = {}
    for card in (f"{plain} 1\n{bright} 2\n{horse.name} 3", f"{plain} 1\n{horse.name} 3"):
        write_runners(loaded.library, code, card)
        (wanted,) = [one for one in wanted_races(loaded.library, made.moment) if one.code == code]
        told[card] = made.chances(wanted)[horse.pk]
    whole, fewer = told.values()
    assert (whole.size[0], fewer.size[0]) == (3.0, 2.0)
    assert fewer.win[0] > whole.win[0]


def _made(made: Any, wanted: Any) -> dict[str, Any]:
    made.fit = type("Fit", (), {"as_of": clock.today()})()
    return made.made_from(wanted)


def test_black_type_is_worth_what_the_trainer_says(loaded: worlds.Yard, code: str) -> None:
    """In a listed race the yard's own number by the chance of the first three is added to what is expected; in its own
    currency alone, in no other race, and nothing by default."""
    horse, ((mild, plain),) = Horse.objects.order_by("pk")[0], others(loaded, 1)
    made = working(loaded, {horse.horse_key: 70.0, mild: 70.0})
    write_runners(loaded.library, code, f"{plain}\n{horse.name}")
    (wanted,) = [one for one in wanted_races(loaded.library, made.moment) if one.code == code]
    listed = replace(wanted, race=replace(wanted.race, race_class="listed"))
    assert made.chances(listed)[horse.pk].black_type == 0.0
    said = {"valid_from": date(2025, 1, 1), "value": 5000}
    made.rules = override("black type", "ours", "Britain", "the trainer, 2026", unit="GBP", **said)
    told = made.chances(listed)[horse.pk]
    assert told.black_type == pytest.approx(5000 * told.place[0])
    assert told.net == pytest.approx(told.share * (told.prize or 0) + told.black_type - (told.fees or 0))
    assert made.chances(wanted)[horse.pk].black_type == 0.0
    made.rules = override("black type", "ours", "Britain", "the trainer, 2026", unit="EUR", **said)
    assert made.chances(listed)[horse.pk].black_type == 0.0


def test_what_the_trainer_says_of_black_type_goes_first(loaded: worlds.Yard, code: str) -> None:
    """What is said on the page counts for a filly, a colt or a gelding as it was said, in its own currency, before the
    file of rules; a change of it has the race worked out again, and races without black type stay as they are."""
    horse, ((mild, plain),) = Horse.objects.order_by("pk")[0], others(loaded, 1)
    made = working(loaded, {horse.horse_key: 70.0, mild: 70.0})
    write_runners(loaded.library, code, f"{plain}\n{horse.name}")
    (wanted,) = [one for one in wanted_races(loaded.library, made.moment) if one.code == code]
    listed = replace(wanted, race=replace(wanted.race, race_class="listed"))
    rule = {"valid_from": date(2025, 1, 1), "value": 5000}
    made.rules = override("black type", "ours", "Britain", "the trainer, 2026", unit="GBP", **rule)
    before = [_made(made, one) for one in (wanted, listed)]
    trainer, build = Person.objects.get(login="trainer"), build_of(horse)
    made.black_type = say_black_type("gbp", {build: 20000.0}, trainer)
    after = [_made(made, one) for one in (wanted, listed)]
    assert (before[0] == after[0], before[1] == after[1]) == (True, False)
    told = made.chances(listed)[horse.pk]
    assert told.black_type == pytest.approx(20000 * told.place[0])
    Job.objects.all().delete()
    other = next(one for one in BUILDS if one != build)
    made.black_type = say_black_type("GBP", {other: 9000.0}, trainer)
    assert made.chances(listed)[horse.pk].black_type == 0.0
    assert Job.objects.filter(kind="chances").count() == 1
    made.black_type = say_black_type("GBP", {}, trainer)
    assert made.chances(listed)[horse.pk].black_type == pytest.approx(5000 * told.place[0])
    history = black_type_history(moments.now())
    assert [set(one.worth) for one in history] == [set(), {"GBP"}, {"GBP"}]
    assert {one.by for one in history} == {trainer.name}
    assert history[2].worth["GBP"][build] == 20000.0


def test_only_the_trainer_says_what_black_type_is_worth(loaded: worlds.Yard) -> None:
    """Somebody else is refused, and so are a currency that is none and a worth below nought."""
    trainer, secretary = (Person.objects.get(login=login) for login in ("trainer", "secretary"))
    for currency, value, by in (("GBP", 1.0, secretary), ("pounds", 1.0, trainer), ("GBP", -1.0, trainer)):
        with pytest.raises(FigureRefusedError):
            say_black_type(currency, {"female": value}, by)
    assert black_type_said(moments.now()) == {}


def test_the_command_says_it_too(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    """`upsides black-type` keeps and tells the same, in the trainer's name."""
    monkeypatch.setattr(opening, "open_books", lambda _library: None)
    asked = ["black-type", "--library", str(loaded.library), "--json"]
    done = CliRunner().invoke(main, [*asked, "--currency", "EUR", "--female", "15000"])
    told = json.loads(done.output)
    assert told["worth"] == {"EUR": {"female": 15000.0, "entire": 0.0, "gelding": 0.0}}
    assert told["said"][0]["by"] == Person.objects.get(login="trainer").name
    assert json.loads(CliRunner().invoke(main, asked).output) == told
    assert black_type_said(moments.now()) == told["worth"]


def test_a_stall_is_worth_its_place_among_the_runners() -> None:
    """With 6 lb from lowest to highest over five, stall 4 is worth +1.5; where the card has every stall and 2 and 3 did
    not stand their ground it is second of its runners, -1.5; before the draw nothing is told.
    """
    block = Block(("whole",), np.array([6.0]), np.array([[1.0]]), 120)
    fit = DrawFit(date(2026, 5, 1), Slopes({(): block}, {"race": 2.0}, 7.0), None)
    draw = draw_at(fit, Start("Larkmoor", 1600.0, "turf", runners=5))
    for card, middle in (((), 1.5), ((1, 4, 5, 6, 7), -1.5), ((1, None, 5), 1.5)):
        found = stall_worth(draw, 4, card)
        assert found is not None
        assert found[0] == pytest.approx(middle)
        assert found[1] < found[0] < found[2]
    assert stall_worth(draw, None) is None
    assert stall_worth(None, 4) is None
