"""Whom to look at first over the string: entries, readings that stand out, what was not read; at most so many."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import numpy as np
import pytest

import worlds
from mornings import Hands, enter, who
from upsides.books.models import Entry, Horse, Outing
from upsides.books.models.answer import WATCH
from upsides.books.outings import kept
from upsides.books.queries import condition_tracked, moments
from upsides.books.queries.condition_first import FREED, UNEVEN, LookAt, finding_words, look_at, missed_words
from upsides.books.queries.condition_watch import yard_readings
from upsides.books.services.answers import store
from upsides.books.watched import watched_on
from upsides.cli.look_at import UNWATCHED, _as_lines, _as_value
from upsides.recordings.bouts.evenness import Evenness
from upsides.recordings.measured import Measured
from upsides.rules import NONE, Overrides, override
from upsides.web.condition.look_page import about_looks

pytestmark = pytest.mark.django_db
DAWN = datetime(2026, 6, 20, 4, tzinfo=UTC)


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, DAWN)


@pytest.fixture
def horses(hands: Hands) -> list[Horse]:
    """Six horses, all looked at; the others are gone."""
    here = list(Horse.objects.order_by("pk")[:6])
    Horse.objects.exclude(pk__in=[one.pk for one in here]).update(left=DAWN.date(), joined="2025-01-01")
    Horse.objects.update(joined="2025-01-01")
    for one in here:
        enter("as_usual", one, hands.back(hours=10))
    return here


def finding(horse: Horse, kind: str = "mass", **more: object) -> dict[str, object]:
    return {
        "horse": horse.pk, "kind": kind, "way": "below", "usual": 500.0, "now": 493.0, "last": "2026-06-19",
        "lately": 494.0, "readings": 4, "since": "2026-06-01", "nearness": 1.4, "new": False, "of_barn": 0.0,
        "of_all": 0.0, "with": [],
    } | more  # fmt: skip


def found(most: int | None = None, overrides: Overrides = NONE) -> LookAt:
    return look_at(moments.now(), most, overrides)


def test_entries_stand_before_readings_and_readings_before_what_is_missing(horses: list[Horse], hands: Hands) -> None:
    """Not right comes first, then who stands out, then who was not read; each with its reason in words."""
    store(
        WATCH,
        DAWN.date(),
        {
            "horses": [finding(horses[3])],
            "groups": [],
            "missed": [{"horse": horses[1].pk, "kind": "temperature", "days": 9, "usual": 1.0}],
            "swapped": [],
        },
        {},
    )
    enter("not_right", horses[5], hands.back(hours=2), text="off its feed")
    told = found()
    assert [one.horse for one in told.first] == [horses[5], horses[3], horses[1]]
    assert [one.reasons[0].source for one in told.first] == ["entered", "stands out", "not read"]
    words = told.first[1].reasons[0].words.replace("\u00a0", " ")
    assert words == "Mass below its usual 500 kg since 1 June: 494 kg on average, last 493 kg."
    assert told.first[2].reasons[0].words == "Temperature not read for 9 days."


@pytest.mark.parametrize(
    ("days", "never", "words"),
    [
        (1, False, "Mass not read for 1 day."),
        (30, True, "Mass not read since it came."),
        (1319, True, "Mass not read in a year."),
    ],
)
def test_what_was_never_read_is_not_told_by_days(days: int, never: bool, words: str) -> None:  # noqa: FBT001 -- a case
    """Of a horse that was never read it is not said for how many days it was not, as if it had been before."""
    assert missed_words({"kind": "mass", "days": days, "never": never}) == words


def test_what_an_entry_says_already_is_not_said_twice(horses: list[Horse], hands: Hands) -> None:
    """A temperature that somebody's entry points at is not told again from the readings."""
    enter("temperature", horses[0], hands.back(hours=2), celsius="39.1")
    more = {"usual": 37.8, "now": 39.1, "lately": 39.1, "readings": 1, "way": "above"}
    store(WATCH, DAWN.date(), {"horses": [finding(horses[0], "temperature", **more)]}, {})
    assert [why.source for why in found().first[0].reasons] == ["entered"]


def test_the_yard_says_how_many_it_can_look_at(horses: list[Horse], hands: Hands) -> None:
    """At most eight, or as many as the yard's own rule says; how many more have a reason is told."""
    for one in horses:
        enter("not_right", one, hands.back(hours=2))
    assert (len(found().first), found().more) == (6, 0)
    two = override("looking first", "Horses", "anywhere", "the yard", kind="horses", unit="horses", value=2)
    assert (len(found(overrides=two).first), found(overrides=two).more) == (2, 4)
    assert (len(found(most=1).first), found(most=1).more) == (1, 5)


def test_what_is_left_over_is_not_all_called_able_to_wait(horses: list[Horse], hands: Hands) -> None:
    """Of the horses beyond what is looked at those whom an entry asks for, and those that stand out, are counted apart
    from what can wait: none becomes harmless because others were hotter. Page, sheet and command say so."""
    for one in horses[:3]:
        enter("temperature", one, hands.back(hours=2), celsius="39.4")
    missed = [{"horse": horses[5].pk, "kind": "mass", "days": 20, "usual": 3.0}]
    store(WATCH, DAWN.date(), {"horses": [finding(horses[4])], "missed": missed}, {})
    one, four, all_ = found(most=1), found(most=4), found()
    assert [(len(told.first), told.more, told.beyond) for told in (one, four, all_)] == [
        (1, 4, 3),
        (4, 1, 0),
        (5, 0, 0),
    ]
    assert about_looks(one) == (
        "1 of 6 to look at first; 3 more ask for eyes beyond what the yard can look at; 1 has something that can wait."
    )
    assert about_looks(found(most=2)).startswith("2 of 6 to look at first; 2 more ask for eyes beyond")
    assert about_looks(four) == "4 of 6 to look at first; 1 more has something that can wait."
    assert _as_lines(one)[0] == "1 of 6 to look at first; 3 more ask for eyes beyond what is looked at; 1 can wait."
    assert _as_lines(four)[0] == "4 of 6 to look at first; 1 more can wait."
    assert "Readings were watched up to 2026-06-20." in _as_lines(one)


def test_those_beyond_what_is_looked_at_are_named(horses: list[Horse], hands: Hands) -> None:
    """Who else asks for eyes, and who can wait, is named with the first reason: by the command the former
    in a line each, in its JSON both with whether they can wait; never twice, and none of those looked at first."""
    for one in horses[:3]:
        enter("temperature", one, hands.back(hours=2), celsius="39.4")
    missed = [{"horse": horses[5].pk, "kind": "mass", "days": 20, "usual": 3.0}]
    store(WATCH, DAWN.date(), {"horses": [finding(horses[4])], "missed": missed}, {})
    told = found(most=2)
    lines = _as_lines(told)
    place = lines.index("Beyond what is looked at:")
    assert [line.split(",")[0].split(":")[0].strip() for line in lines[place + 1 : place + 3]] == [
        one.horse.name for one in told.asking
    ]
    assert {one.horse for one in told.asking} | {one.horse for one in told.first} == {*horses[:3], horses[4]}
    assert [one.horse for one in told.waiting] == [horses[5]]
    value = _as_value(told, moments.now())
    assert [(one["horse"], one["can_wait"]) for one in value["others"]] == [
        *((one.horse.name, False) for one in told.asking), (horses[5].name, True)
    ]  # fmt: skip
    assert value["others"][-1]["reasons"][0]["words"] == "Mass not read for 20 days."
    assert found().others == ()


def test_that_nothing_was_watched_is_said(horses: list[Horse], hands: Hands) -> None:
    """Where no reading was watched by then the command says so, whether or not there is anybody to look at."""
    assert _as_lines(found())[-1] == UNWATCHED
    enter("not_right", horses[0], hands.back(hours=2))
    assert _as_lines(found())[-1] == UNWATCHED


def test_an_uneven_trot_is_told_with_whom_to_ask(horses: list[Horse]) -> None:
    """A trot that stands out is told in its numbers, with "Ask the vet", and with no leg and no cause."""
    told = {"usual": 0.95, "now": 0.871, "lately": 0.88, "way": "below", "last": "2026-06-19"}
    store(WATCH, DAWN.date(), {"horses": [finding(horses[2], UNEVEN, **told)]}, {})
    words = found().first[0].reasons[0].words
    assert words == (
        "The evenness of its trot below its usual 0.95 since 1 June: 0.88 on average, last 0.87. Ask the vet."
    )


def trotted(horse: Horse, at: datetime, half: float) -> Outing:
    even = kept(Measured(even=Evenness(half=half, half_sd=0.011, windows=9)))["even"]
    measured = {"speeds": {}, "even": even}
    return Outing(
        horse=horse, day=at.date(), began=at, matched="hand", metres=0.0, fast_m=0.0, measured=measured, recorded_at=at
    )


def test_the_watch_finds_the_horse_that_grows_uneven(horses: list[Horse]) -> None:
    """Of six horses whose trackers tell their trot every other day that which grows less even for three weeks is the
    first to stand out; the readings have the error that each recording gave itself."""
    rng = np.random.default_rng(8)
    rows = []
    for place, one in enumerate(horses):
        for back in range(300, 0, -2):
            lost = 0.1 * min(max((21 - back) / 21, 0.0), 1.0) if place == 4 else 0.0
            rows.append(trotted(one, DAWN - timedelta(days=back), 0.9 + 0.01 * place + rng.normal(0, 0.011) - lost))
    Outing.objects.bulk_create(rows)
    read = yard_readings(moments.now())
    assert set(read.readings.sd.tolist()) == {0.011}
    told = watched_on(read, DAWN.date())
    first = told["horses"][0]
    assert (first["horse"], first["kind"], first["way"]) == (horses[4].pk, UNEVEN, "below")
    assert first["lately"] < first["usual"] - 0.02


def test_the_watch_knows_fast_work_from_a_rise(horses: list[Horse]) -> None:
    """Of six horses that canter and do fast work in turn one does fast work only in its last three weeks, and another's
    heart comes down worse by 12 a minute: that one stands out first, and the first does not."""
    rng = np.random.default_rng(6)
    rows = []
    for place, one in enumerate(horses):
        for n, back in enumerate(range(300, 0, -2)):
            fast = back <= 21 if place == 1 else n % 3 == 0
            bpm = 118 + 2 * place + 16 * fast + rng.normal(0, 3.0) + (12 if place == 3 and back <= 21 else 0)
            told = {"heart": {"after": {"60": bpm}}, "works": [{"kind": "fast" if fast else "canter", "speed": 9.0}]}
            at = DAWN - timedelta(days=back)
            rows.append(
                Outing(
                    horse=one, day=at.date(), began=at, matched="hand", metres=0.0, fast_m=0.0, measured=told,
                    recorded_at=at,
                )
            )  # fmt: skip
    Outing.objects.bulk_create(rows)
    told = watched_on(yard_readings(moments.now()), DAWN.date())["horses"]
    assert (told[0]["horse"], told[0]["kind"], told[0]["way"]) == (horses[3].pk, "recovery", "above")
    assert horses[1].pk not in {one["horse"] for one in told}


def test_the_watch_knows_a_heart_at_work_by_its_speed(horses: list[Horse]) -> None:
    """Of six horses with a heart 6 higher for each m/s one goes faster by 1.5 m/s for three weeks, and the heart
    of another is 9 a minute higher at the speed that it always goes: that one stands out first, the first does not."""
    rng = np.random.default_rng(7)
    rows = []
    for place, one in enumerate(horses):
        for n, back in enumerate(range(300, 0, -2)):
            late, fast = back <= 21, n % 3 == 0
            speed = (14.0 if fast else 8.5) + rng.normal(0, 0.5) + (1.5 if place == 1 and late else 0.0)
            held = 120 + 2 * place + 6 * speed + rng.normal(0, 2.5) + (9 if place == 3 and late else 0)
            told = {"heart": {"held": held}, "works": [{"kind": "fast" if fast else "canter", "speed": speed}]}
            at = DAWN - timedelta(days=back)
            row = {"horse": one, "day": at.date(), "began": at, "matched": "hand", "metres": 0.0, "fast_m": 0.0}
            rows.append(Outing(**row, measured=told, recorded_at=at))
    Outing.objects.bulk_create(rows)
    told = watched_on(yard_readings(moments.now()), DAWN.date())["horses"]
    assert (told[0]["horse"], told[0]["kind"], told[0]["way"]) == (horses[3].pk, "heart at work", "above")
    assert horses[1].pk not in {one["horse"] for one in told}


def test_the_watch_knows_a_rise_from_an_illness(horses: list[Horse]) -> None:
    """Of six horses whose hearts are 10 a minute higher a minute after work up a rise of 4 in 100 one goes up it only
    in its last three weeks, and another's heart comes down worse by 12: that one stands out, the first does not."""
    rng = np.random.default_rng(8)
    rows = []
    for place, one in enumerate(horses):
        for n, back in enumerate(range(300, 0, -2)):
            up = back <= 21 if place == 1 else (n + place) % 3 == 0
            bpm = 118 + 2 * place + 10 * up + rng.normal(0, 3.0) + (12 if place == 3 and back <= 21 else 0)
            piece = {"kind": "fast", "speed": 14.5, "metres": 1000.0, "rise": 40.0 * up, "start": 0.0}
            told = {"heart": {"after": {"60": bpm}}, "works": [piece]}
            at = DAWN - timedelta(days=back)
            row = {"horse": one, "day": at.date(), "began": at, "matched": "hand", "metres": 0.0, "fast_m": 0.0}
            rows.append(Outing(**row, measured=told, recorded_at=at))
    Outing.objects.bulk_create(rows)
    told = watched_on(yard_readings(moments.now()), DAWN.date())["horses"]
    assert (told[0]["horse"], told[0]["kind"], told[0]["way"]) == (horses[3].pk, "recovery", "above")
    assert horses[1].pk not in {one["horse"] for one in told}


def test_what_was_taken_out_is_said(horses: list[Horse]) -> None:
    """A heart or a speed that stands out is told as it would be after the usual work, and the words say so; so is it of
    every kind that is freed, and of no other."""
    freed = "Work, ground, warmth and rider are taken out."
    for kind in ("mass", "temperature", "recovery", "heart at work", "speed", "stride length", UNEVEN):
        assert (freed in finding_words(finding(horses[0], kind))) == (kind in condition_tracked.FREED)
    assert frozenset(condition_tracked.FREED) == FREED


def test_a_horse_that_has_gone_is_not_on_the_list(horses: list[Horse]) -> None:
    """What was found last night of a horse that left this morning is not shown."""
    store(WATCH, DAWN.date(), {"horses": [finding(horses[2]), finding(horses[4])]}, {})
    Horse.objects.filter(pk=horses[2].pk).update(left=DAWN.date())
    assert [one.horse for one in found().first] == [horses[4]]


def weighed(horse: Horse, at: datetime, kg: float) -> Entry:
    when = dict.fromkeys(("happened_at", "made_at", "recorded_at"), at)
    values = {"kg": round(kg, 1), "scale": "Platform"}
    return Entry(client_id=uuid4(), kind="mass", horse=horse, author=who("trainer"), values=values, **when)


def test_the_watch_finds_the_horse_that_loses_mass(horses: list[Horse]) -> None:
    """Of six horses weighed every third day for a year only that which loses 12 kg in three weeks stands out."""
    rng = np.random.default_rng(5)
    rows = []
    for place, one in enumerate(horses):
        for back in range(360, 0, -3):
            lost = 12.0 * min(max((21 - back) / 15, 0.0), 1.0) if place == 2 else 0.0
            kg = 480 + 10 * place + rng.normal(0, 1.5) - lost
            rows.append(weighed(one, DAWN - timedelta(days=back), kg))
    Entry.objects.bulk_create(rows)
    told = watched_on(yard_readings(moments.now()), DAWN.date())
    assert {one["horse"] for one in told["horses"]} == {horses[2].pk}
    (one,) = told["horses"]
    assert (one["kind"], one["way"]) == ("mass", "below")
    assert one["lately"] < one["usual"] - 5
    assert told["missed"] == []
