"""Answers of the worker: kept as they were, read as of a moment, written and read back without loss."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from django.db import IntegrityError, transaction

from upsides.books import clock
from upsides.books.answers import kept_changes, kept_gaps, kept_usual, plain, read_change, read_gaps, read_usual
from upsides.books.models import Answer
from upsides.books.models.answer import EXERCISES, HEARTS
from upsides.books.queries import moments
from upsides.books.queries.condition_answers import changes_of, gaps_between_runs, usual_exercises
from upsides.books.queries.moments import Moment
from upsides.books.services.answers import store
from upsides.condition.done.exercises import exercises
from upsides.condition.done.usual import usual
from upsides.condition.fresh.gaps import learn_gaps
from upsides.recordings.bouts.bins import COUNT
from upsides.recordings.heart.trends import Change

pytestmark = pytest.mark.django_db
DAY = date(2026, 5, 11)
CHANGE = Change(7, date(2026, 4, 20), date(2026, 5, 10), 0.031, -0.004, 0.068, 0.7, 0.01)


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """The clock, which a test moves."""
    moment = [datetime(2026, 5, 11, 4, tzinfo=UTC)]
    monkeypatch.setattr(clock, "now", lambda: moment[0])
    return moment


def test_the_last_answer_that_was_known_is_read(at: list[datetime]) -> None:
    """As of a moment an answer recorded later is not there, nor one of a later day; now the last of the day is."""
    first = store("hearts", DAY, {"said": 1}, {})
    at[0] += timedelta(hours=3)
    second = store("hearts", DAY, {"said": 2}, {})
    at[0] += timedelta(days=1)
    third = store("hearts", DAY + timedelta(days=1), {"said": 3}, {})

    def read(moment: Moment) -> Answer | None:
        return moments.answer("hearts", moment)

    assert read(moments.as_of(first.recorded_at - timedelta(seconds=1))) is None
    assert read(moments.as_of(first.recorded_at)) == first
    assert read(moments.as_of(second.recorded_at)) == second
    assert read(Moment(DAY)) == second
    assert read(Moment(DAY + timedelta(days=9))) == third
    assert moments.answer("gaps", Moment(DAY)) is None


def test_the_same_answer_is_kept_once(at: list[datetime]) -> None:
    """What comes out the same from the same is not written again; what was made from more is."""
    one = store("gaps", DAY, {"said": 1}, {"runs": 5})
    assert store("gaps", DAY, {"said": 1}, {"runs": 5}) == one
    assert store("gaps", DAY, {"said": 1}, {"runs": 6}) != one
    assert Answer.objects.count() == 2


def test_answers_are_never_changed(at: list[datetime]) -> None:
    """The database refuses to change or remove one, in words."""
    one = store("gaps", DAY, {"said": 1}, {})
    for change in (lambda: Answer.objects.update(values={}), one.delete, lambda: Answer.objects.all().delete()):
        with pytest.raises(IntegrityError, match="answers are never changed"), transaction.atomic():
            change()
    assert Answer.objects.get().values == {"said": 1}


def test_what_exercises_come_to_is_read_back(at: list[datetime], tmp_path: object) -> None:
    """What was measured comes back to the 10 cm that are kept; of the rest the table speaks."""
    table = exercises()
    metres = np.zeros((2, COUNT))
    metres[:, 13] = 1234.56
    learned = usual(table, ["half_speed", "half_speed"], metres)
    again = read_usual(kept_usual(learned), table)
    np.testing.assert_allclose(again.metres, learned.metres, atol=0.06)
    np.testing.assert_array_equal(again.measured, learned.measured)
    store(EXERCISES, DAY, kept_usual(learned), {})
    np.testing.assert_allclose(usual_exercises(tmp_path, Moment(DAY)).metres, learned.metres, atol=0.06)


def test_changes_are_read_back_by_horse(at: list[datetime]) -> None:
    """Each horse's change comes back by the kind of evidence, and a horse without one has none."""
    store(HEARTS, DAY, {"recovery": kept_changes({7: CHANGE})}, {})
    assert changes_of(Moment(DAY), 7) == {"recovery": CHANGE}
    assert changes_of(Moment(DAY), 8) == {}
    assert read_change(7, kept_changes({7: CHANGE})["7"]) == CHANGE


def test_gaps_are_read_back(at: list[datetime]) -> None:
    """Usual gaps and what results say of each come back to four places, cells without runs as unknown."""
    rng = np.random.default_rng(4)
    gaps = learn_gaps(rng.uniform(5, 7, 400), rng.integers(5, 80, 400), rng.normal(0, 4, 400))
    again = read_gaps(kept_gaps(gaps))
    np.testing.assert_allclose(again.effects, gaps.effects, atol=5e-5)
    np.testing.assert_array_equal(again.runs, gaps.runs)
    told, said = again.effect(6.0, 20), gaps.effect(6.0, 20)
    assert (told.says, told.runs) == (said.says, said.runs)
    assert again.usual_after(6.0).middle == pytest.approx(gaps.usual_after(6.0).middle)
    assert again.effect(12.0, 20).says == "too few runs"
    assert gaps_between_runs(Moment(DAY)) is None
    assert plain([float("nan"), DAY]) == [None, "2026-05-11"]
