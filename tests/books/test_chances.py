"""Chances in races to come: worked out by the job, kept a race each, read as they were known."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import worlds
from medicine_yard import boosted
from programmed_yard import a_chance, code_of, engage_for, keep_chances, marked, programmed, take, usual_rows
from upsides.books import clock
from upsides.books.chances import RaceChance, read_chance
from upsides.books.jobs import chances as job
from upsides.books.models import Answer, Engagement, Horse, Job, Person
from upsides.books.queries import moments
from upsides.books.queries.chance_answers import chances_worked
from upsides.books.queries.chances_wanted import Wanted, wanted_races
from upsides.books.queries.moments import Moment
from upsides.books.services.meanwhile import last_change
from upsides.books.services.race_day import Card, write_card
from upsides.errors import CannotFitError
from upsides.errors.wording import of_kept

pytestmark = pytest.mark.django_db


@dataclass
class Simple:
    """Stands for what works chances out: each is the horse's weight over a thousand, by a fit of one name."""

    folder: Path
    moment: Moment
    horses: Any
    fit: str = "2026-06-01"
    why: str = ""

    def made_from(self, wanted: Wanted) -> dict[str, Any]:
        return {"fit": self.fit, "horses": {str(one.horse.pk): [one.weight, one.stall, one.fees]
                                            for one in wanted.asked}}  # fmt: skip

    def chances(self, wanted: Wanted) -> dict[int, RaceChance]:
        if self.why:
            raise CannotFitError("expected field", self.why, "wait")
        return {
            one.horse.pk: a_chance(
                win=((one.weight or 0) / 1000, 0.0, 1.0), weight=one.weight, stall=one.stall, fees=one.fees
            )
            for one in wanted.asked
        }


@pytest.fixture
def horse(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Horse:
    """A horse with a mark, the only one in training; chances are simple."""
    monkeypatch.setattr(job, "Working", Simple)
    one = Horse.objects.order_by("pk")[0]
    Horse.objects.exclude(pk=one.pk).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    boosted(one, clock.today() - timedelta(days=30))
    return marked(one)


def work(library: Path) -> dict[str, Any]:
    return job.work_out(library, clock.today(), lambda _share, _doing: None)


def trainer() -> Person:
    return Person.objects.get(login="trainer")


def test_a_chance_is_read_back_as_it_was_kept() -> None:
    """Kept as JSON and read back a chance is the same to the digits that are kept; what it nets is share and fees."""
    one = a_chance(win=(0.123456, 0.07, 0.19), notes=("no draw",))
    again = read_chance(one.kept())
    assert again.win == (0.1235, 0.07, 0.19)
    assert again == read_chance(again.kept())
    assert again.net == pytest.approx(0.8 * 1200 - 80)
    assert a_chance(prize=None).net is None
    assert a_chance(fees=None).net is None


def test_what_has_not_changed_is_not_worked_out_again(loaded: worlds.Yard, horse: Horse) -> None:
    """A second night finds everything as it was; an entry changes one race's fees, and that race alone is redone."""
    first = work(loaded.library)
    assert first["worked_out"] >= 2
    assert work(loaded.library) == {"worked_out": 0, "stood": first["worked_out"]}
    code = code_of(loaded.library, "Sedge Handicap")
    engage_for(horse, code, loaded.library, trainer(), "enter")
    assert work(loaded.library) == {"worked_out": 1, "stood": first["worked_out"] - 1}
    wanted = {one.code: one for one in wanted_races(loaded.library, moments.now())}
    (asked,) = wanted[code].asked
    assert asked.fees == 40.0  # of entry and declaration, 40 each, only the declaration is still to pay


def test_an_invented_day_that_ends_does_not_hide_what_is_new(
    loaded: worlds.Yard, horse: Horse, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An invented yard's clock is back at the start of its day after midnight; what is worked out then is still the
    last that is known, and stands the next time."""
    today, now = clock.today(), clock.now
    with monkeypatch.context() as evening:
        evening.setattr(clock, "now", lambda: now() + timedelta(hours=3))
        count = job.work_out(loaded.library, today, lambda _share, _doing: None)["worked_out"]
    code = code_of(loaded.library, "Sedge Handicap")
    engage_for(horse, code, loaded.library, trainer(), "enter")
    assert work(loaded.library)["worked_out"] == 1
    assert chances_worked(moments.now(), [code])[code].horses[horse.pk].fees == 40.0
    assert work(loaded.library) == {"worked_out": 0, "stood": count}


def test_a_newer_fit_is_worked_out_again(loaded: worlds.Yard, horse: Horse, monkeypatch: pytest.MonkeyPatch) -> None:
    """Made from another fit every race is worked out again, and both answers stay to be read as of their moments."""
    count = work(loaded.library)["worked_out"]
    monkeypatch.setattr(job, "Working", lambda *args: Simple(*args, fit="2026-06-08"))
    assert work(loaded.library)["worked_out"] == count
    assert Answer.objects.filter(name__startswith="chances ").count() == 2 * count


def test_the_draw_goes_in(loaded: worlds.Yard, horse: Horse) -> None:
    """Once its stall is written down the horse's chance is asked for from it, and the job is asked for again."""
    code = code_of(loaded.library, "Sedge Handicap")
    row = engage_for(horse, code, loaded.library, trainer(), "enter")
    Job.objects.all().delete()
    write_card(row.pk, last_change(row), Card(draw=7), trainer())
    assert Job.objects.filter(kind="chances", state=Job.State.WAITING).count() == 1
    work(loaded.library)
    assert chances_worked(moments.now(), [code])[code].horses[horse.pk].stall == 7


def test_news_asks_for_them_again(loaded: worlds.Yard, horse: Horse) -> None:
    """A decision and a programme ask for the job; one that runs already may have read what was before, so another
    waits behind it, and never more than one."""
    Job.objects.all().delete()
    code = code_of(loaded.library, "Sedge Handicap")
    engage_for(horse, code, loaded.library, trainer())
    engage_for(horse, code, loaded.library, trainer(), "enter")
    assert Job.objects.filter(kind="chances").count() == 1
    Job.objects.update(state=Job.State.RUNNING)
    take(loaded.library, [usual_rows(clock.today())[0] | {"1st": "9000"}])
    take(loaded.library, [usual_rows(clock.today())[0] | {"1st": "9500"}])
    assert Job.objects.filter(kind="chances", state=Job.State.WAITING).count() == 1


def test_why_there_are_none_is_kept(loaded: worlds.Yard, horse: Horse, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing can be told the reason is kept; without any fit nothing is written."""
    monkeypatch.setattr(job, "Working", lambda *args: Simple(*args, why="too few races are like it"))
    work(loaded.library)
    code = code_of(loaded.library, "Sedge Handicap")
    found = chances_worked(moments.now(), [code])[code]
    assert "too few races are like it" in found.why
    assert not found.horses

    def none(*_: object) -> Simple:
        raise CannotFitError("figures", "there are none", "fit")

    monkeypatch.setattr(job, "Working", none)
    before = Answer.objects.count()
    assert "there are none" in of_kept(work(loaded.library)["why"])
    assert Answer.objects.count() == before


def test_the_last_of_each_race_is_read_as_of_a_moment(
    loaded: worlds.Yard, horse: Horse, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of each race the last answer recorded by the moment is read, whatever came of others or later."""
    at = [clock.now()]
    monkeypatch.setattr(clock, "now", lambda: at[0])

    def keep(code: str, win: float) -> datetime:
        at[0] += timedelta(hours=1)
        return keep_chances(code, {horse.pk: a_chance(win=(win, 0.0, 1.0))}, win=win).recorded_at

    first, second, third = keep("a", 0.1), keep("b", 0.2), keep("a", 0.3)

    def read(moment: Moment) -> dict[str, float]:
        found = chances_worked(moment, ["a", "b", "c"])
        return {code: one.horses[horse.pk].win[0] for code, one in found.items()}

    assert read(moments.as_of(first)) == {"a": 0.1}
    assert read(moments.as_of(second)) == {"a": 0.1, "b": 0.2}
    assert read(moments.as_of(third)) == read(Moment(clock.today())) == {"a": 0.3, "b": 0.2}
    assert read(moments.as_of(first - timedelta(seconds=1))) == {}


def test_wanted_are_those_it_is_meant_for_and_the_soonest(loaded: worlds.Yard, horse: Horse) -> None:
    """Of a horse that is meant for nothing so many of the soonest are wanted; what it is meant for always is, until it
    is taken out."""
    rows = usual_rows(clock.today())
    days = {k: str(clock.today() + timedelta(days=9 + k)) for k in range(2, 6)}
    later = [{"Id": f"x{k}", "No": f"{k}", "Title": f"Sedge {k}", "Date": day} for k, day in days.items()]
    take(loaded.library, [rows[0] | one for one in later])
    wanted = wanted_races(loaded.library, moments.now(), 2)
    assert [one.race.title for one in wanted] == ["Sedge Handicap", "Sedge 2"]
    code = code_of(loaded.library, "Sedge 5")
    row = engage_for(horse, code, loaded.library, trainer())
    titles = [one.race.title for one in wanted_races(loaded.library, moments.now(), 1)]
    assert titles == ["Sedge Handicap", "Sedge 5"]
    Engagement.objects.filter(pk=row.pk).update(state=Engagement.State.WITHDRAWN)
    assert len(wanted_races(loaded.library, moments.now(), 1)) == 1


def test_the_job_says_what_it_did(loaded: worlds.Yard, horse: Horse) -> None:
    """The job's result counts the races that were worked out and those that stood."""
    running = SimpleNamespace(folder=loaded.library, progress=lambda _share, _doing: None)
    assert set(job.chances(running)) == {"worked_out", "stood"}  # type: ignore[arg-type]  # what a job uses of it
