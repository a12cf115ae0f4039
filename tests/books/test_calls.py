"""Calls in the books: kept with what the tool held, never changed, seen by few, and what came of them."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

import numpy as np
import polars as pl
import pytest
from django.db import IntegrityError, transaction

import worlds
from mornings import Hands, enter, who
from upsides.books.export.tables import Asked, sheets
from upsides.books.models import Answer, Call, Engagement, Horse, Inside
from upsides.books.models.answer import CALLS
from upsides.books.queries import levels, levels_held, moments
from upsides.books.queries.calls import calls_of, coming_runs, made_today, standings_of
from upsides.books.queries.levels import Levels
from upsides.books.queries.settling import first_day, settled
from upsides.books.queries.tools_word import known_now, shares_of
from upsides.books.queries.visitors import Visitor, visitor
from upsides.books.services.answers import store
from upsides.books.services.calls import Said, call, take_back
from upsides.books.services.releases import release
from upsides.books.services.sights import saw
from upsides.condition.calls import About
from upsides.errors import CallGoneError, CallRefusedError, ReleaseRefusedError

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 6, 20, 6, tzinfo=UTC)
SHARES = {"off": [x / 10 for x in range(-100, 101)], "spread": 6.0, "well": {"quiet": 0.9, "after something": 0.6}}


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, MORNING)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    """The horse of the yard that ran last before the yard's day."""
    runs = worlds.world().runs.filter(pl.col("outcome") == "finished").sort("date", descending=True)
    ours = {one.horse_key: one for one in moments.in_training(moments.now())}
    key = next(one for one in runs["source_horse"] if one in ours)
    return ours[key]


def as_(login: str) -> Visitor:
    return visitor(who(login), barn=False)


def say(horse: Horse, about: About, chance: float = 0.7, login: str = "trainer", trip_f: float | None = None) -> Call:
    return call(worlds.yard().library, horse, [Said(uuid4(), about, chance, trip_f)], who(login))[0]


def last_run(horse: Horse) -> datetime:
    runs = worlds.world().runs.filter(pl.col("source_horse") == horse.horse_key, pl.col("outcome") == "finished")
    return datetime.combine(runs["date"].max(), MORNING.time(), UTC)  # type: ignore[arg-type]  # a date


def test_a_call_keeps_what_the_tool_held(horse: Horse, hands: Hands) -> None:
    """The row holds the level of that moment, and the tool's chance from what the last night had worked out."""
    store(CALLS, moments.now().day, SHARES, {})
    row = say(horse, "fit")
    fit = worlds.yard().levels.horses.lazy().filter(pl.col("horse_key") == horse.horse_key).collect().row(0, named=True)
    assert row.known["level_lb"] == pytest.approx(fit["level_lb"], abs=0.005)
    assert row.known["as_of"] == str(worlds.world().today)
    assert 0.5 < row.known["chance"] < 0.6
    assert (row.unseen, row.recorded_at) == (True, MORNING)
    assert say(horse, "fresh").known["chance"] == 0.9
    assert "chance" not in say(horse, "first four").known
    assert "chance" not in say(horse, "would run").known


def test_what_is_learned_later_changes_no_call(horse: Horse, hands: Hands) -> None:
    """Shares worked out after a call leave what its row holds as it is."""
    store(CALLS, moments.now().day, SHARES, {})
    row = say(horse, "fresh")
    store(CALLS, moments.now().day, SHARES | {"well": {"quiet": 0.2, "after something": 0.2}}, {})
    row.refresh_from_db()
    assert row.known["chance"] == 0.9


def test_something_for_the_vet_lately_is_heard(horse: Horse, hands: Hands) -> None:
    """A horse that was not right in the last fortnight has the share of such horses."""
    store(CALLS, moments.now().day, SHARES, {})
    enter("not_right", horse, hands.back(days=5), "carer", limb="near_fore")
    told = known_now(worlds.yard().library, moments.now(), horse, {"fresh": None})
    assert told["fresh"]["chance"] == 0.6


def test_who_was_shown_the_tool_s_answer_says_so(horse: Horse, hands: Hands) -> None:
    """A call after the tool's answer on that horse was shown the same day is marked; the day before does not count."""
    saw(as_("trainer"), Inside.FIGURES, "/horse/", horse.pk)
    assert not say(horse, "fit").unseen
    hands.to(MORNING + timedelta(days=1))
    assert say(horse, "fit").unseen


def test_rows_are_never_changed(horse: Horse) -> None:
    """Neither the chance nor what the tool held can be changed or removed afterwards."""
    row = say(horse, "fit")
    for change in ({"chance": 0.1}, {"known": {}}):
        with pytest.raises(IntegrityError, match="never changed or removed"), transaction.atomic():
            Call.objects.filter(pk=row.pk).update(**change)
    with pytest.raises(IntegrityError), transaction.atomic():
        Call.objects.filter(pk=row.pk).delete()


def test_one_answer_a_question_and_day(horse: Horse, hands: Hands) -> None:
    """The same question is answered once a day by the same person; another person and another day are free."""
    say(horse, "fit")
    with pytest.raises(CallRefusedError, match="answered this today"):
        say(horse, "fit", 0.3)
    say(horse, "fit", 0.3, "assistant")
    hands.to(MORNING + timedelta(days=1))
    say(horse, "fit", 0.3)
    assert Call.objects.count() == 3


def test_nothing_is_half_written(horse: Horse) -> None:
    """Where one of several answers is refused none is kept."""
    both = [Said(uuid4(), "fit", 0.5), Said(uuid4(), "trip", 0.5)]
    with pytest.raises(CallRefusedError, match="furlongs"):
        call(worlds.yard().library, horse, both, who("trainer"))
    assert not Call.objects.exists()


@pytest.mark.parametrize(
    ("said", "word"),
    [
        ([], "nothing was said"),
        ([Said(UUID(int=1), "fit", 1.0)], "between 0 and 1"),
        ([Said(UUID(int=1), "fit", float("nan"))], "between 0 and 1"),
        ([Said(UUID(int=1), "gait", 0.5)], "no such"),  # type: ignore[arg-type]  # what is refused
        ([Said(UUID(int=1), "trip", 0.5, 40.0)], "4 to 24 furlongs"),
        ([Said(UUID(int=1), "fit", 0.5, 8.0)], "asks for none"),
    ],
)
def test_what_cannot_be_is_refused(horse: Horse, said: list[Said], word: str) -> None:
    """Nothing said, certainty, an unknown question and a trip that is none are refused in words."""
    with pytest.raises(CallRefusedError, match=word):
        call(worlds.yard().library, horse, said, who("trainer"))


def test_sent_twice_is_one_call(horse: Horse) -> None:
    """The same number with the same content is the same call; with another content it is refused."""
    said = Said(uuid4(), "fit", 0.7)
    one, two = (call(worlds.yard().library, horse, [said], who("trainer"))[0] for _ in range(2))
    assert one.pk == two.pk
    with pytest.raises(CallRefusedError, match="another has its number"):
        call(worlds.yard().library, horse, [Said(said.client_id, "fit", 0.3)], who("trainer"))


def test_taken_back_on_its_day_only_and_counted(horse: Horse, hands: Hands) -> None:
    """A call is taken back by its author on its own day; it is counted, and can be taken back once."""
    row = say(horse, "fit")
    with pytest.raises(CallGoneError):
        take_back(row, who("assistant"), uuid4())
    take_back(row, who("trainer"), uuid4())
    with pytest.raises(CallGoneError):
        take_back(row, who("trainer"), uuid4())
    assert made_today(as_("trainer"), moments.now(), horse.pk) == []
    other = say(horse, "fit", 0.3)
    (standing,) = standings_of(as_("trainer"), moments.now())
    assert (standing.made, standing.taken_back) == (1, 1)
    hands.to(MORNING + timedelta(days=1))
    with pytest.raises(CallGoneError):
        take_back(other, who("trainer"), uuid4())


def test_calls_are_private(horse: Horse, hands: Hands) -> None:
    """One's own calls and, for the trainer, everybody's are seen; others' only by a release, of that horse or all."""
    say(horse, "fit", login="assistant")
    say(horse, "fit", login="trainer")

    def sees(login: str) -> set[str]:
        return {str(one.author.login) for one in calls_of(as_(login), moments.now())}

    assert sees("trainer") == {"trainer", "assistant"}
    assert sees("assistant") == {"assistant"}
    assert sees("secretary") == set()
    release(who("trainer"), Inside.CALLS, person=who("assistant"), horse=horse)
    assert sees("assistant") == {"trainer", "assistant"}
    assert [one.author.login for one in standings_of(as_("assistant"), moments.now())] == ["assistant"]
    release(who("trainer"), Inside.CALLS, person=who("secretary"))
    assert sees("secretary") == {"trainer", "assistant"}
    assert len(standings_of(as_("secretary"), moments.now())) == 2
    with pytest.raises(ReleaseRefusedError, match="without a release"):
        release(who("trainer"), Inside.CALLS, person=who("trainer"))


def test_as_of_a_moment_calls_are_as_they_were(horse: Horse, hands: Hands) -> None:
    """What was called or taken back later is not seen from an earlier moment."""
    row = say(horse, "fit")
    then = moments.as_of(hands.at)
    hands.to(MORNING + timedelta(hours=3))
    take_back(row, who("trainer"), uuid4())
    say(horse, "fresh")
    assert [one.row.pk for one in calls_of(as_("trainer"), then)] == [row.pk]
    assert [one.row.about for one in calls_of(as_("trainer"), moments.now())] == ["fresh"]
    assert standings_of(as_("trainer"), then)[0].taken_back == 0


def test_a_run_shows_what_was_called_before_it(horse: Horse, hands: Hands) -> None:
    """A call two days before the last run is shown by it, by its place and by our figure; the tool knew the field."""
    ran = last_run(horse)
    hands.to(ran - timedelta(days=2))
    spread = {"spread_lb": 6.0}
    level = worlds.yard().levels.horses.lazy().filter(pl.col("horse_key") == horse.horse_key).collect()
    held = spread | {"level_lb": 0.0, "sd_lb": 4.0, "as_of": str(worlds.world().today)}
    for about, known in (("fit", held), ("fit", held | {"level_lb": 300.0}), ("first four", held), ("would run", held)):
        Call.objects.create(
            client_id=uuid4(), horse=horse, author=who("trainer"), about=about, chance=0.7, unseen=True, known=known,
            recorded_at=hands.at,
        )  # fmt: skip
    assert level.height == 1
    hands.to(MORNING)
    told = list(settled(worlds.yard().library, moments.now()).values())
    assert [one["came"] for one in told[:2]] == [True, False]
    assert told[3] == {"came": True, "why": "ran", "day": str(ran.date()), "tool": None}
    runs = worlds.world().runs
    mine = runs.filter(pl.col("source_horse") == horse.horse_key, pl.col("date") == ran.date()).row(0, named=True)
    field = runs.filter(pl.col("race_key") == mine["race_key"], pl.col("outcome") != "withdrawn")
    assert told[2]["came"] == (mine["position"] <= 4)
    assert 0.0 < told[2]["tool"] < 1.0
    assert field.height > 4


def test_before_racing_a_call_speaks_of_the_day(hands: Hands) -> None:
    """A call before ten in the morning, the yard's time, counts for that day's races, a later one from the next on."""
    assert first_day(datetime(2026, 6, 20, 8, 59, tzinfo=UTC)).day == 20
    assert first_day(datetime(2026, 6, 20, 9, 0, tzinfo=UTC)).day == 21


def test_shares_of_the_past_are_counted(horse: Horse, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """Runs of the last year tell how they lay about the level that the last fit before each held, and fortnights how
    often horses were well. What was run before any fit was kept is held against nothing, and a fit that is made
    later, with whatever it says of earlier levels, changes none of it."""
    fit = worlds.yard().levels
    figures = fit.figures.lazy().collect()
    begun, today = date(2026, 1, 5), MORNING.date()
    # the fit of January holds each horse 3 lb above its mean figure, the one of May 1 lb below
    means = figures.group_by("horse_key").agg(mean=pl.col("figure_lb").mean())
    level = {begun: 3.0, date(2026, 5, 4): -1.0}

    def read(_library: Path, until: date) -> Levels:
        more = [by for day, by in level.items() if day <= until][-1]
        told = means.select("horse_key", level_lb=pl.col("mean") + more, sd_lb=pl.lit(0.0))
        return Levels(until, fit.levels, figures, told)

    monkeypatch.setattr(levels, "read_levels", read)
    monkeypatch.setattr(levels_held, "fit_days", lambda _library: sorted(level))
    told = shares_of(worlds.yard().library, moments.now())
    since = figures.filter(pl.col("date") >= begun, pl.col("date") < today).drop_nulls("figure_lb")
    assert told["runs"] == since.height
    apart = since.join(means, on="horse_key").with_columns(
        off=pl.col("figure_lb") - pl.col("mean") - pl.when(pl.col("date") < date(2026, 5, 4)).then(3.0).otherwise(-1.0)
    )
    assert told["spread"] == pytest.approx(float(apart["off"].to_numpy().std()), abs=0.01)
    assert told["off"][0] == pytest.approx(float(np.quantile(apart["off"].to_numpy(), 0.0025)), abs=0.01)
    assert told["well"]["quiet"] > 0.8
    level[today + timedelta(days=1)] = 50.0
    assert shares_of(worlds.yard().library, moments.now()) == told
    level.clear()
    assert shares_of(worlds.yard().library, moments.now())["runs"] == 0
    level[today] = 3.0
    assert shares_of(worlds.yard().library, moments.now())["runs"] == 0


def test_a_level_held_is_that_of_the_last_fit_before(hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of fits made every night one a week is read; a day before the first one holds no level."""
    fit = worlds.yard().levels
    key = fit.horses.lazy().collect()["horse_key"][0]
    days = [date(2026, 6, 1) + timedelta(days=k) for k in range(18)]

    def read(_library: Path, until: date) -> Levels:
        told = pl.DataFrame({"horse_key": [key], "level_lb": [float(until.day)], "sd_lb": [1.0]})
        return Levels(until, fit.levels, fit.figures, told)

    monkeypatch.setattr(levels, "read_levels", read)
    monkeypatch.setattr(levels_held, "fit_days", lambda _library: days)
    held = levels_held.levels_held(worlds.yard().library, date(2026, 6, 20), date(2026, 1, 1), {key})
    assert [day.day for day, _told in held.by_fit] == [1, 8, 15]
    assert held.at(key, date(2026, 5, 31)) is None
    assert [held.at(key, date(2026, 6, day)) for day in (1, 7, 8, 19)] == [1.0, 1.0, 8.0, 15.0]
    assert held.at("nobody", date(2026, 6, 19)) is None


def test_the_horses_to_call_are_those_with_a_run_to_come(horse: Horse, hands: Hands) -> None:
    """Races of the next fortnight are listed, soonest first and once a horse, with what was said today."""
    day = MORNING.date()
    for ahead, state in ((9, "entered"), (3, "entered"), (20, "entered"), (1, "withdrawn")):
        Engagement.objects.create(
            horse=horse, race=f"Race {ahead}", course="Moor", zone="Europe/London", day=day + timedelta(days=ahead),
            state=state,
        )  # fmt: skip
    say(horse, "fresh")
    (one,) = coming_runs(as_("trainer"), moments.now())
    assert (one.engagement.race, one.answered) == ("Race 3", ("fresh",))
    assert coming_runs(as_("assistant"), moments.now())[0].answered == ()


def test_what_came_is_read_from_the_night_s_answer(horse: Horse, hands: Hands) -> None:
    """A call is shown as the last night found it, scored with the tool beside; one made since waits."""
    first = say(horse, "fit", 0.9)
    came = {str(first.pk): {"came": True, "why": "ran", "day": "2026-06-19", "tool": 0.5}}
    store(CALLS, moments.now().day, SHARES | {"came": came}, {})
    say(horse, "fresh", 0.9)
    fresh, fit = calls_of(as_("trainer"), moments.now())
    assert (fresh.why, fit.came, fit.tool) == ("waits", True, 0.5)
    (standing,) = standings_of(as_("trainer"), moments.now())
    (scored,) = standing.scored
    assert scored.person is not None
    assert scored.person.score == pytest.approx(0.01)
    assert scored.better == pytest.approx(0.24)
    assert (standing.waiting["fresh"], standing.made, standing.unseen) == (1, 2, 2)
    assert Answer.objects.filter(name=CALLS).count() == 1


def test_calls_are_given_out_as_far_as_they_may_be_read(horse: Horse, hands: Hands) -> None:
    """The table of calls holds one's own, and all for the trainer; the tool's chance is in none of it."""
    store(CALLS, moments.now().day, SHARES, {})
    say(horse, "fresh", 0.3, "assistant")
    say(horse, "trip", 0.7, "trainer", 7.5)
    rows = {
        login: [row[1:] for row in sheets(["calls"], Asked(as_(login)))[0].rows()] for login in ("assistant", "trainer")
    }
    assert rows["assistant"] == [[horse.name, "fresh", 0.3, None, None, who("assistant").name]]
    assert [row[1:4] for row in rows["trainer"]] == [["trip", 0.7, 7.5], ["fresh", 0.3, None]]
