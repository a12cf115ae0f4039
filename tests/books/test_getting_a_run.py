"""Where a horse stands among entries that are written down, and its chance of a run."""

from datetime import timedelta
from itertools import product
from math import comb

import pytest

import worlds
from medicine_yard import boosted
from programmed_yard import code_of, marked, programmed, take, usual_rows
from upsides.books import clock
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.chances_wanted import pounds_of
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.getting_a_run import TAKEN_OUT, room_for
from upsides.books.queries.placing import Case, case_of
from upsides.books.queries.programme import programme
from upsides.placing import Carried, Stage
from upsides.placing.carried import Line
from upsides.results.race_cards import keep_card, read_lines

pytestmark = pytest.mark.django_db


@pytest.fixture
def case(loaded: worlds.Yard) -> Case:
    """A horse with a mark, and a British handicap for four runners: the lowest weight goes out first."""
    horse = marked(Horse.objects.order_by("pk")[0], 100)
    programmed(loaded.library)
    take(loaded.library, [usual_rows(clock.today())[0] | {"Max": "4"}])
    boosted(horse, clock.today() - timedelta(days=30))
    code = code_of(loaded.library, "Sedge Handicap")
    race = programme(loaded.library, moments.now()).races[code]
    entrant = entrants(loaded.library, moments.now(), [horse])[horse.pk]
    return case_of(code, race, horse, entrant, terms_of(loaded.library))


def card(loaded: worlds.Yard, case: Case, text: str) -> None:
    keep_card(loaded.library, case.code, read_lines(text), clock.now())


def test_without_entries_nothing_is_told(loaded: worlds.Yard, case: Case) -> None:
    """Before entries are written down there is no rank, and no chance of a run."""
    assert room_for(loaded.library, moments.now(), case, terms_of(loaded.library)) is None


def test_a_horse_that_can_no_longer_run_has_no_rank(
    loaded: worlds.Yard, case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A horse that was taken out, or that was not entered before entries closed, stands nowhere among the entries; one
    that is in, or that the card names, does."""
    card(loaded, case, "Heavy 9-12\nLight 8-2")
    terms, later = terms_of(loaded.library), clock.now() + timedelta(days=3)
    assert room_for(loaded.library, moments.now(), case, terms, Stage.WITHDRAW) is None
    assert room_for(loaded.library, moments.now(), case, terms) is not None
    monkeypatch.setattr(clock, "now", lambda: later)
    assert room_for(loaded.library, moments.now(), case, terms) is None
    assert room_for(loaded.library, moments.now(), case, terms, Stage.ENTER) is not None
    card(loaded, case, f"Heavy 9-12\n{case.horse.name.upper()} (IRE) 9-0")
    found = room_for(loaded.library, moments.now(), case, terms)
    assert found is not None
    assert found.entries == 2


def test_rank_and_chance_are_those_counted_by_hand(loaded: worlds.Yard, case: Case) -> None:
    """With five heavier and one lighter entry, room for four and the others taken out at the usual rate, it is sixth
    and runs where at most three of the five stay: the binomial sum, and every one of the 32 ways counted."""
    assert case.carried is not None
    mine = case.carried.published
    heavy = [f"Heavy {k} {mine + more:g}lb" for more, k in enumerate("abcde", start=1)]
    card(loaded, case, "\n".join([*heavy, f"Light {mine - 9:g}lb"]))
    found = room_for(loaded.library, moments.now(), case, terms_of(loaded.library))
    assert found is not None
    stays = 1 - TAKEN_OUT
    by_sum = sum(comb(5, k) * stays**k * TAKEN_OUT ** (5 - k) for k in range(4))
    by_ways = sum(stays ** sum(way) * TAKEN_OUT ** (5 - sum(way)) for way in product((0, 1), repeat=5) if sum(way) < 4)
    assert (found.best, found.worst, found.entries, found.unknown) == (6, 6, 7, 0)
    assert found.most == found.least == pytest.approx(by_sum) == pytest.approx(by_ways)


def test_those_without_a_weight_widen_it(loaded: worlds.Yard, case: Case) -> None:
    """Entries of which no weight is written down may stand before or behind; with stalls drawn nobody is left out."""
    card(loaded, case, "\n".join(f"Nobody {k}" for k in "abcdef"))
    found = room_for(loaded.library, moments.now(), case, terms_of(loaded.library))
    assert found is not None
    assert (found.best, found.worst, found.unknown) == (1, 7, 6)
    assert found.most == 1.0
    assert found.least < 0.5
    card(loaded, case, "\n".join(f"Nobody {k} {stall}" for stall, k in enumerate("abc", start=1)))
    drawn = room_for(loaded.library, moments.now(), case, terms_of(loaded.library))
    assert drawn is not None
    assert (drawn.least, drawn.most) == (1.0, 1.0)


def test_kilograms_are_pounds_as_the_library_keeps_them() -> None:
    """A weight in kilograms is compared with rivals' in exact pounds (international pound, 0.45359237 kg)."""
    assert pounds_of(Carried("kg", (Line("base", 60.5),))) == pytest.approx(60.5 / 0.45359237)
    assert pounds_of(Carried("lb", (Line("base", 131.0),))) == 131.0
    assert pounds_of(None) is None
