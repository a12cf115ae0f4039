"""The shape of a horse in the books: what can be entered, what it says, who may read it, what stands."""

from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import numpy as np
import polars as pl
import pytest
from django.utils.translation import override
from hypothesis import given
from hypothesis import strategies as st

from upsides.books import clock
from upsides.books.diary import kind_of, read
from upsides.books.diary.shape import named
from upsides.books.diary.trait_words import WORDS
from upsides.books.models import Entry, Horse, Person, Yard
from upsides.books.queries import diary, moments
from upsides.books.queries import shape as reads
from upsides.books.queries.visitors import Visitor, visitor
from upsides.books.services.diary import Draft, correct, record, withdraw
from upsides.errors import EntryNotYoursError, EntryRefusedError
from upsides.trip.traits import TRAITS, agreement

NAMES = [trait.name for trait in TRAITS]
NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)
SCORES = st.dictionaries(st.sampled_from(NAMES), st.integers(1, 9), min_size=1)


@pytest.fixture
def days(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """A yard whose clock begins at noon and goes on by a minute with every look at it."""
    ticks = iter(range(10**6))
    monkeypatch.setattr(clock, "now", lambda: NOON + timedelta(minutes=next(ticks)))
    Yard.objects.update(fixed_day=None)


def who(login: str) -> Person:
    return Person.objects.get(login=login)


def horse(place: int = 0) -> Horse:
    return Horse.objects.order_by("pk")[place]


def scored(login: str, values: dict[str, object], place: int = 0, **more: object) -> Entry:
    draft = {"client_id": uuid4(), "kind": "shape", "horse": horse(place).pk, "values": values, "made_at": clock.now()}
    return record(Draft(**draft | more), who(login))


def test_the_words_are_those_of_the_traits() -> None:
    """Every trait has its words, in the order of the traits, and untranslated they are what the traits say."""
    with override("en-gb"):
        said = [(name, str(words.title), str(words.low), str(words.high)) for name, words in WORDS.items()]
        every = [str(words) for one in WORDS.values() for words in (one.as_low, one.as_high, one.about)]
    assert said == [(trait.name, trait.title, trait.low, trait.high) for trait in TRAITS]
    assert len(set(every)) == 3 * len(TRAITS)


@given(SCORES)
def test_what_was_scored_is_kept_and_nothing_else(scores: dict[str, int]) -> None:
    """Any traits but none can be scored; what a form sends empty is not kept, least of all as the middle."""
    typed = dict.fromkeys(NAMES, "") | {name: str(score) for name, score in scores.items()}
    kept = read("shape", typed).kept()
    assert kept == read("shape", scores).kept() == scores
    assert kind_of("shape").kept_as(kept).kept() == scores


@pytest.mark.parametrize(
    ("values", "field", "reason"),
    [
        ({}, "shape", "no trait was scored"),
        (dict.fromkeys(NAMES, ""), "shape", "no trait was scored"),
        ({"walk": "10"}, "Walk", "whole number from 1 to 9"),
        ({"walk": "7", "bone": 5.5}, "Bone", "whole number from 1 to 9"),
        ({"walk": None}, "Walk", "whole number from 1 to 9"),
        ({"temper": "7"}, "temper", "no such trait"),
    ],
)
def test_what_cannot_be_scored_is_refused(values: dict[str, object], field: str, reason: str) -> None:
    """No score at all, no whole number from 1 to 9, no such trait: refused with what is at fault, reason and remedy."""
    with pytest.raises(EntryRefusedError, match=reason) as refused:
        read("shape", values)
    assert refused.value.field == field
    assert refused.value.remedy


def test_a_shape_reads_back_as_a_short_sentence() -> None:
    """The traits 2 or more from the middle are named, furthest first and six at most, with how many were scored."""
    values = {"frame": 3, "walk": 6, "quarters": 8, "shoulder_slope": 1, "bone": 5}
    assert read("shape", values).words() == (
        f"Shape: upright shoulder, strong quarters, compact; 5 of {len(TRAITS)} traits scored."
    )
    assert read("shape", {"bone": 5, "walk": 4}).words() == (
        f"Shape: nothing far from the average; 2 of {len(TRAITS)} traits scored."
    )
    assert named(dict.fromkeys(NAMES, 9.0)) == [str(WORDS[name].as_high) for name in NAMES[:6]]


def test_a_trait_that_is_no_longer_scored_can_still_be_read() -> None:
    """A value that was kept once is readable for ever: an unknown trait is passed over, not stumbled on."""
    kept = kind_of("shape").kept_as({"tail": 9, "bone": 8})
    assert kept.words() == f"Shape: plenty of bone; 1 of {len(TRAITS)} traits scored."
    assert kept.kept() == {"tail": 9, "bone": 8}


def test_of_each_person_the_latest_score_of_each_trait_stands(days: None) -> None:
    """Looked at again a trait that was left out keeps its score; corrections replace, withdrawals undo, others stay."""
    first = scored("carer", {"walk": 7, "bone": 3})
    scored("carer", {"walk": 5}, happened_at=NOON + timedelta(minutes=90))
    scored("rider", {"walk": 2})
    carer, rider = sorted(reads.shape_of(horse().pk, moments.now()), key=lambda one: -len(one.scores))
    assert (carer.judge, carer.scores) == (who("carer").pk, {"bone": 3, "walk": 5})
    assert carer.seen == {"walk": NOON + timedelta(minutes=90), "bone": first.happened_at}
    assert (rider.judge, rider.scores) == (who("rider").pk, {"walk": 2})
    scored("carer", {"bone": 9}, supersedes=first.client_id)
    assert {one.judge: one.scores for one in reads.shape_of(horse().pk, moments.now())} == {
        who("carer").pk: {"bone": 9, "walk": 5},
        who("rider").pk: {"walk": 2},
    }
    other = scored("rider", {"walk": 9}, 1)
    scored("rider", {}, 1, supersedes=other.client_id, withdrawn=True)
    assert reads.shape_of(horse(1).pk, moments.now()) == []


def test_an_older_look_entered_later_does_not_replace_a_newer_one(days: None) -> None:
    """The latest score is that of the latest look, whatever was entered first."""
    scored("carer", {"walk": 7})
    scored("carer", {"walk": 2}, happened_at=NOON - timedelta(days=30))
    assert [one.scores for one in reads.shape_of(horse().pk, moments.now())] == [{"walk": 7}]


def test_as_of_a_moment_shapes_are_as_they_stood(days: None) -> None:
    """What was recorded or corrected later changes neither one horse's shape nor the yard's as of before."""
    first = scored("carer", {"walk": 7})
    before = moments.as_of(first.recorded_at)
    scored("rider", {"walk": 2})
    scored("carer", {"walk": 1}, supersedes=first.client_id)
    assert [one.scores for one in reads.shape_of(horse().pk, before)] == [{"walk": 7}]
    assert reads.shapes(before)["walk"].to_list() == [7]
    assert reads.shapes(moments.now())["walk"].to_list() == [1, 2]


def test_the_yards_shapes_are_a_table(days: None) -> None:
    """Horse, judge, time and a column a trait, a row for each standing entry, null where nothing was scored."""
    assert reads.shapes(moments.now()).schema == reads.SCHEMA
    one = scored("carer", {"walk": 7, "bone": 3}, 1)
    scored("carer", {"walk": 8}, 1)
    scored("rider", {"frame": 1})
    table = reads.shapes(moments.now())
    assert table.columns == ["horse", "judge", "happened_at", *NAMES]
    assert table.height == 3
    assert table.row(0, named=True) == dict.fromkeys(NAMES) | {
        "horse": horse(1).pk,
        "judge": who("carer").pk,
        "happened_at": one.happened_at,
        "walk": 7,
        "bone": 3,
    }
    last = reads.latest(table).filter(pl.col("horse") == horse(1).pk)
    assert last.select("walk", "bone", "frame").rows() == [(8, 3, None)]


def test_the_yards_agreement_is_that_of_the_table(days: None) -> None:
    """Over the yard people agree as far as the same scores do that are handed in as an array, latest looks only."""
    assert reads.agreement_of_yard(moments.now()) == (dict.fromkeys(NAMES), None)
    logins, table = ("carer", "rider", "vet"), np.array([[9, 7, 8], [2, 1, 4], [5, 6, 6], [3, 3, 5]])
    for place, row in enumerate(table):
        for login, score in zip(logins, row, strict=True):
            scored(login, {"walk": 10 - int(score)}, place)
            scored(login, {"walk": int(score)}, place)
    each, overall = reads.agreement_of_yard(moments.now())
    expected = agreement(table.astype(float)[:, :, None])[1]
    assert expected is not None
    assert overall is not None
    assert each["bone"] is None
    assert each["walk"] == overall
    assert overall.absolute == pytest.approx(expected.absolute, abs=1e-10)
    assert (overall.horses, overall.judges) == (4, 3)


def reads_as(login: str) -> Visitor:
    return visitor(who(login), barn=False)


def test_nobody_reads_a_judgement_before_his_own(days: None) -> None:
    """In the diary others read how much was scored, not what, until they have scored the horse, also as of before."""
    entry = scored("carer", {"walk": 9})
    moment = moments.now()
    whole, outline = (f"Shape: {what}1 of {len(TRAITS)} traits scored." for what in ("overtracks; ", ""))

    def told(reader: Visitor | None, moment: moments.Moment = moment) -> set[tuple[str, bool]]:
        day = moments.Moment(NOON.date(), moment.at)
        lists = diary.of_day(day, reader), diary.of_horse(horse().pk, day, reader=reader)
        rows = [
            row for row in (*lists[0], *lists[1], *diary.history(entry.pk, day, reader)) if row.entry.pk == entry.pk
        ]
        assert len(rows) == 3
        return {(row.words, bool(row.typed)) for row in rows}

    assert told(reads_as("carer")) == {(whole, True)}
    assert told(reads_as("trainer")) == told(None) == {(outline, False)}
    scored("trainer", {"walk": 1}, 1)
    assert told(reads_as("trainer")) == {(outline, False)}
    own = scored("trainer", {"bone": 5}, happened_at=NOON - timedelta(days=2))
    entry = scored("carer", {"walk": 9}, supersedes=entry.client_id)
    assert diary.history(entry.pk, moment, reads_as("trainer"))[-1].words == whole
    before = moments.as_of(own.recorded_at - timedelta(seconds=1))
    assert {row.words for row in diary.of_horse(horse().pk, before, reader=reads_as("trainer"))} == {outline}


def test_rival_corrections_are_no_way_around_it(days: None) -> None:
    """Two corrections of one judgement are told in outline to who has yet to score, also where he is to decide."""
    entry = scored("carer", {"walk": 9})
    for score in (8, 7):
        scored("carer", {"walk": score}, supersedes=entry.client_id)
    for reader, words in ((reads_as("head_person"), False), (reads_as("carer"), True)):
        (conflict,) = diary.conflicts(moments.now(), reader)
        assert ["overtracks" in one.words for one in conflict.rivals] == [words, words]


def test_what_was_entered_today_can_be_put_right(days: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is the person's own last standing entry of this horse that was recorded today, and tomorrow it is none."""
    person = who("carer")
    scored("rider", {"walk": 1})
    scored("carer", {"walk": 4}, 1)
    assert reads.entered_today(person, horse().pk, moments.now()) is None
    first = scored("carer", {"walk": 7}, happened_at=NOON - timedelta(days=3))
    assert reads.entered_today(person, horse().pk, moments.now()) == first
    second = scored("carer", {"walk": 6}, supersedes=first.client_id)
    assert reads.entered_today(person, horse().pk, moments.now()) == second
    monkeypatch.setattr(clock, "now", lambda: NOON + timedelta(days=1))
    assert reads.entered_today(person, horse().pk, moments.now()) is None
    assert reads.last_recorded(person, horse().pk) == second
    assert reads.last_recorded(who("vet"), horse().pk) is None


def test_an_entry_sent_twice_is_one(days: None) -> None:
    """A shape under a number that the diary has is the same entry, as for every kind."""
    number = UUID(int=7)
    assert scored("carer", {"walk": "7"}, client_id=number) == scored("carer", {"walk": 7}, client_id=number)
    assert Entry.objects.filter(kind="shape").count() == 1


def test_nobody_scores_in_anothers_name(days: None) -> None:
    """Whoever may mend others' entries takes scores back, but puts none in their place."""
    entry = scored("carer", {"walk": 7})
    with pytest.raises(EntryNotYoursError):
        correct(entry, {"walk": 2}, who("trainer"), client_id=uuid4(), made_at=clock.now())
    assert withdraw(entry, who("trainer"), client_id=uuid4(), made_at=clock.now()).withdrawn
