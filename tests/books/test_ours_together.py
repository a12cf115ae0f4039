"""Horses of ours in one race, and their chance of a run: in the chance, in what it is worth, in what is worked out."""

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

import worlds
from kept_levels import kept
from medicine_yard import boosted
from programmed_yard import a_chance, code_of, engage_for, keep_chances, marked, programmed, take, usual_rows
from upsides.books import clock
from upsides.books.chances import RaceChance
from upsides.books.jobs import chances as job
from upsides.books.models import Engagement, Horse, Person
from upsides.books.queries import let_go, moments
from upsides.books.queries.chances_standing import chances_standing
from upsides.books.queries.chances_wanted import Wanted, wanted_races
from upsides.books.queries.entrants import entrants
from upsides.books.queries.getting_a_run import TAKEN_OUT, room_for
from upsides.books.queries.placing import case_of
from upsides.books.queries.race_chances import Working
from upsides.books.queries.results import state_of
from upsides.books.services.race_day import write_runners
from upsides.placing import Terms
from upsides.placing.chance import ExpectedField
from upsides.rules import NONE
from upsides.web.programme.chance_words import TOO_LATE, against, earned, shown

pytestmark = pytest.mark.django_db
LEVEL = 70.0


@pytest.fixture
def horses(loaded: worlds.Yard) -> list[Horse]:
    """Three horses with marks, the only ones in training, and the small programme."""
    found = list(Horse.objects.order_by("pk")[:3])
    Horse.objects.exclude(pk__in=[one.pk for one in found]).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    for one in found:
        boosted(marked(one, 100), clock.today() - timedelta(days=30))
    return found


@pytest.fixture
def field(monkeypatch: pytest.MonkeyPatch) -> None:
    """The field to expect is nine horses of 70 lb, whatever the race."""
    each = tuple(np.full(9, LEVEL) for _ in range(5))
    three, none = tuple(np.full(9, 3.0) for _ in each), tuple(np.full(9, np.nan) for _ in each)
    ones = (9.0,) * 3, (LEVEL,) * 3, (LEVEL,) * 3
    like = ExpectedField(each, three, none, tuple(np.zeros(9) for _ in each), np.full(5, 0.2), *ones)
    monkeypatch.setattr("upsides.placing.chance.expected_field", lambda *_: like)


def working(loaded: worlds.Yard, horses: list[Horse], level: float) -> Working:
    """Return what works chances out where ours are of a level and nothing else of a fit is known."""
    made: Any = Working.__new__(Working)
    made.folder, made.moment, made._own, made.horses = loaded.library, moments.now(), {}, horses
    made.state, made.facts, made.rules = state_of(loaded.library), {}, NONE
    made.fit, made._fit, made._ruled = type("Fit", (), {"as_of": clock.today()})(), "", ""
    made.kept = kept({one.horse_key: level for one in horses}, sd=2.0)
    return made


def wanted_of(loaded: worlds.Yard, code: str) -> Wanted:
    return next(one for one in wanted_races(loaded.library, moments.now()) if one.code == code)


def enter(loaded: worlds.Yard, code: str, *horses: Horse) -> None:
    for one in horses:
        engage_for(one, code, loaded.library, Person.objects.get(login="trainer"), "enter")


@pytest.mark.usefixtures("field")
def test_ours_that_are_entered_meet_each_other(loaded: worlds.Yard, horses: list[Horse]) -> None:
    """Two strong ones entered in one race are each among the other's rivals and the third's, by name; together they
    win it at most once; an entry changes what the race is made from."""
    code, made = code_of(loaded.library, "Sedge Handicap"), working(loaded, horses, LEVEL + 20)
    before = wanted_of(loaded, code)
    alone = made.chances(before)
    enter(loaded, code, *horses[:2])
    after = wanted_of(loaded, code)
    found = made.chances(after)
    assert sum(one.win[0] for one in alone.values()) > 1.2
    assert found[horses[0].pk].known == (horses[1].name,)
    assert set(found[horses[2].pk].known) == {one.name for one in horses[:2]}
    assert sum(found[one.pk].win[0] for one in horses[:2]) < 1.0
    assert made.made_from(before) != made.made_from(after)
    assert horses[1].name in against(found[horses[0].pk])[0]


def test_a_chance_of_a_run_is_in_what_is_expected(loaded: worlds.Yard, horses: list[Horse]) -> None:
    """Where two of three heavier entries of a field for two must be taken out, the chance of a run is the page's own
    and the prize is by it; rivals are thinned as entries are, and once stalls are drawn nobody is."""
    horse = horses[0]
    take(loaded.library, [usual_rows(clock.today())[0] | {"Max": "2"}])
    code, made = code_of(loaded.library, "Sedge Handicap"), working(loaded, horses, LEVEL)
    enter(loaded, code, horse)
    write_runners(loaded.library, code, "\n".join(f"Heavy {k} 11-0" for k in "abc") + f"\n{horse.name}")
    wanted = wanted_of(loaded, code)
    found = made.chances(wanted)[horse.pk]
    entrant = entrants(loaded.library, made.moment, [horse])[horse.pk]
    room = room_for(loaded.library, made.moment, case_of(code, wanted.race, horse, entrant, Terms()), Terms())
    assert room is not None
    stays = 1 - TAKEN_OUT
    assert found.runs == pytest.approx(room.most) == pytest.approx(TAKEN_OUT**3 + 3 * stays * TAKEN_OUT**2)
    assert found.prize is not None
    assert found.prize <= found.runs * 6000
    assert found.size[0] < 4
    assert f"{100 * found.runs:.0f}" in earned(found)[0][0]
    write_runners(loaded.library, code, f"Heavy a 1 11-0\n{horse.name} 2")
    settled = made.chances(wanted_of(loaded, code))[horse.pk]
    assert (settled.runs, settled.size[0]) == (1.0, 2.0)
    assert settled.prize > found.prize


def test_no_chance_once_a_step_was_missed(
    loaded: worlds.Yard, horses: list[Horse], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An entered horse that was not declared in time is no longer asked for, and what was kept of it is not told; one
    that was declared, and one that the card names, keep theirs; an hour before, all had theirs."""
    code = code_of(loaded.library, "Sedge Handicap")
    enter(loaded, code, *horses)
    Engagement.objects.filter(horse=horses[0]).update(state=Engagement.State.DECLARED)
    keep_chances(code, {one.pk: a_chance() for one in horses})
    declare = next(due.at for due in wanted_of(loaded, code).race.dues if due.stage == "declare")
    monkeypatch.setattr(clock, "now", lambda: declare - timedelta(hours=1))
    assert len(wanted_of(loaded, code).asked) == 3
    assert set(told(loaded, code).horses) == {one.pk for one in horses}
    write_runners(loaded.library, code, f"{horses[0].name}\n{horses[1].name}")
    monkeypatch.setattr(clock, "now", lambda: declare + timedelta(hours=1))
    assert [one.horse.pk for one in wanted_of(loaded, code).asked] == [horses[0].pk, horses[1].pk]
    found = told(loaded, code)
    assert set(found.horses) == {horses[0].pk, horses[1].pk}
    assert found.late == {horses[2].pk}
    assert shown(found, horses[2].pk) == {"none": str(TOO_LATE)}


def told(loaded: worlds.Yard, code: str) -> Any:
    return chances_standing(loaded.library, moments.now(), [code])[code]


def test_what_changed_is_worked_out_first_and_alone(
    loaded: worlds.Yard, horses: list[Horse], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of three races, one entered last and one of which nothing is known, the entered one is done first; where one
    horse of a race changed the others keep what was worked out of them."""
    done: list[tuple[str, tuple[int, ...]]] = []

    class Simple:
        def __init__(self, *_: object) -> None: ...

        def made_from(self, wanted: Wanted) -> dict[str, Any]:
            return {"fit": "2026-06-01", "horses": {str(one.horse.pk): [one.fees] for one in wanted.asked}}

        def chances(self, wanted: Wanted) -> dict[int, RaceChance]:
            done.append((wanted.race.title, tuple(one.horse.pk for one in wanted.asked)))
            return {one.horse.pk: a_chance(fees=one.fees) for one in wanted.asked}

    monkeypatch.setattr(job, "Working", Simple)
    job.work_out(loaded.library, clock.today(), lambda _share, _doing: None, 1)
    assert {title for title, _ in done} == {"Sedge Handicap"}
    done.clear()
    enter(loaded, code_of(loaded.library, "Bracken Stakes"), horses[0])
    enter(loaded, code_of(loaded.library, "Sedge Handicap"), horses[1])
    job.work_out(loaded.library, clock.today(), lambda _share, _doing: None)
    assert [title for title, _ in done][:2] == ["Sedge Handicap", "Bracken Stakes"]
    assert done[0][1] == (horses[1].pk,)
    assert len(told(loaded, code_of(loaded.library, "Sedge Handicap")).horses) == 3


def test_a_race_let_go_had_ours_in_it(
    loaded: worlds.Yard, horses: list[Horse], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The chance of a horse that was not entered is asked for against those of ours that were."""
    code = code_of(loaded.library, "Sedge Handicap")
    enter(loaded, code, horses[0])
    asked: list[Any] = []
    monkeypatch.setattr(let_go, "chances_in", lambda _folder, _moment, *told: asked.extend(told) or {})
    race = wanted_of(loaded, code).race
    found = let_go.passed_in(loaded.library, moments.now(), {code: race})
    assert {one.case.horse.pk for one in found} == {one.pk for one in horses[1:]}
    passed, inside = asked
    assert {one.horse.pk for one in passed[code]} == {one.pk for one in horses[1:]}
    assert [one.horse.pk for one in inside[code]] == [horses[0].pk]
