"""The job that plans the string's work: what it keeps, what it is made from, and which earlier moment knew it."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Any

import pytest
from django.conf import settings

import worlds
from mornings import Hands, enter, only
from upsides.books.diary.work import ALLOWED
from upsides.books.jobs import plans
from upsides.books.jobs.plans import plan_all
from upsides.books.jobs.running import JobStopped, run
from upsides.books.models import Answer, Box, Engagement, Horse, Job, Stand
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.planned_work import Wished, routine, to_work
from upsides.books.services.jobs import ask
from upsides.errors import StoppedEarlyError
from upsides.planning.rule import Clash
from upsides.planning.solving import Progress
from upsides.planning.work.said import Said, plain

pytestmark = pytest.mark.django_db
DAWN = datetime(2026, 6, 20, 4, tzinfo=UTC)


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, DAWN)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Three horses that cantered for a fortnight, with a day off a week."""
    here = only(3)
    Horse.objects.filter(pk__in=[one.pk for one in here]).update(joined="2026-01-05", left=None)
    Horse.objects.exclude(pk__in=[one.pk for one in here]).update(left="2026-06-01")
    for one in here:
        for back in range(14, 0, -1):
            enter("exercise", one, hands.back(days=back), exercise="off" if back % 7 == 6 else "hack_canter")
    return here


@pytest.fixture
def do(seat: Any) -> Callable[[], Job]:
    """A function that asks for the plan and makes it as a worker would."""

    def done() -> Job:
        job = ask("plans")
        run(job.pk)
        job.refresh_from_db()
        assert (job.state, job.failure) == ("done", "")
        return job

    return done


def kept() -> dict[str, Any]:
    found = moments.answer(PLAN, moments.now())
    assert found is not None
    return dict(found.values)


def test_the_plan_is_kept_horse_by_horse(string: list[Horse], do: Callable[[], Job]) -> None:
    """Ten days from tomorrow on of each horse in training, with weeks by speed, sentences, bound and gap."""
    job, values = do(), kept()
    assert values["first"] == "2026-06-21"
    assert set(values["horses"]) == {str(one.pk) for one in string}
    assert values["gap"] == pytest.approx(values["cost"] - values["bound"], abs=1e-3)
    for one in values["horses"].values():
        assert len(one["days"]) == values["days"] == 10
        assert {name for pair in one["days"] for name in pair} <= set(values["orders"])
        assert plain(Said.of_json(one["says"][0])).endswith("10 days.")
        assert all(len(week[4]) == 44 for week in one["weeks"])
        fast = sum(values["orders"][order][2] or 0 for order, _ in one["days"] if "fast" in order or "half" in order)
        assert sum(week[2] for week in one["weeks"]) == pytest.approx(fast, abs=0.05)
    assert job.result is not None
    assert (job.result["horses"], job.result["without a plan"]) == (3, 0)


def test_what_a_vet_leaves_open_is_kept_and_the_reason_told(
    string: list[Horse], hands: Hands, do: Callable[[], Job]
) -> None:
    """Until the last day of a vet's advice the plan keeps to it, and says that the vet is the reason."""
    enter("vet_finding", string[0], hands.back(hours=1), "vet", text="short behind", advice="walk", until="2026-06-26")
    do()
    values = kept()
    own = values["horses"][str(string[0].pk)]
    assert {values["orders"][order][1] for order, _ in own["days"][:6]} <= ALLOWED["walk"]
    assert any("the vet leaves" in plain(Said.of_json(one)) for one in own["says"])


def test_a_horse_without_a_plan_stands_with_its_rules(string: list[Horse], hands: Hands, do: Callable[[], Job]) -> None:
    """A horse that is declared for a day on which the vet lets it walk has no plan; the others have theirs."""
    enter("vet_finding", string[0], hands.back(hours=1), "vet", text="short behind", advice="walk", until="2026-06-26")
    Engagement.objects.create(horse=string[0], race="Coombe Stakes", course="Coombe", zone="Europe/London",
                              day="2026-06-24", distance_m=1200, state="declared")  # fmt: skip
    do()
    values = kept()
    assert set(values["clashes"]) == {str(string[0].pk)}
    found = Clash.of_kept(values["clashes"][str(string[0].pk)], lambda one: plain(Said.of_json(one)))
    assert found.any_one
    words = " ".join(found.rules)
    assert "runs on Wed 24 Jun" in words
    assert "the vet leaves" in words
    assert set(values["horses"]) == {str(one.pk) for one in string[1:]}


def test_an_earlier_moment_knows_the_plan_of_then(string: list[Horse], hands: Hands, do: Callable[[], Job]) -> None:
    """Plans are added and never changed: as of a moment the last that had been made by then stands."""
    do()
    before, first = hands.at, kept()
    hands.to(DAWN + timedelta(hours=6))
    enter("vet_finding", string[0], hands.back(hours=1), "vet", text="short behind", advice="box", until="2026-06-30")
    do()
    assert Answer.objects.filter(name=PLAN).count() == 2
    assert kept() != first
    then = moments.answer(PLAN, moments.as_of(before))
    assert then is not None
    assert then.values == first
    assert moments.answer(PLAN, moments.as_of(before - timedelta(hours=1))) is None


@pytest.mark.parametrize(("exercise", "fast", "rest"), [("fast", True, False), ("off", False, True)])
def test_today_counts_as_it_was_ordered_until_it_is_written(
    string: list[Horse], hands: Hands, loaded: worlds.Yard, exercise: str, *, fast: bool, rest: bool
) -> None:
    """Before anybody wrote what a horse did today its order of today is what a plan from tomorrow on goes by."""
    enter("ordered", string[0], hands.at, exercise=exercise)

    def today() -> tuple[bool, bool] | None:
        settings = routine(loaded.library, moments.now())
        wished = Wished(moments.now().day + timedelta(days=1))
        found = to_work(loaded.library, moments.now(), string[:1], wished, settings)[0].did.get(-1)
        return None if found is None else (found.fast, found.rest)

    assert today() == (fast, rest)
    enter("exercise", string[0], hands.at, exercise="hack_canter")
    assert today() == (False, False)


def test_the_yards_file_says_kind_and_natures(string: list[Horse], tmp_path: Path) -> None:
    """What work.toml says of a horse is what it is planned as, asked for or not; what is asked for goes before."""
    text = f'[horse."{string[0].name}"]\nkind = "stayer"\nnatures = ["idle"]\n'
    (tmp_path / "work.toml").write_text(text, encoding="utf-8")
    moment = moments.now()
    settings = routine(tmp_path, moment)

    def kinds(**asked: Any) -> list[str]:
        wished = Wished(moment.day + timedelta(days=1), **asked)
        return [one.routine.kind for one in to_work(tmp_path, moment, string[:2], wished, settings)]

    assert kinds()[0] == "stayer, idle"
    assert "idle" not in kinds()[1]
    assert kinds(kind="miler", natures=("keen",))[0] == "miler, keen"
    assert kinds(back=10)[0] == "returning, idle"


def test_work_mornings_by_turns_or_by_barn(string: list[Horse], tmp_path: Path) -> None:
    """Horses take turns on the work mornings by their numbers; those of a barn have what the file says of it."""
    box = Box.objects.create(barn="Top", name="1", position=1)
    Stand.objects.create(horse=string[0], box=box, first_day="2026-01-05")
    moment = moments.now()

    def works() -> list[int]:
        found = to_work(tmp_path, moment, string, Wished(moment.day + timedelta(days=1), kind="sprinter"),
                        routine(tmp_path, moment))  # fmt: skip
        return [one.routine.stage().week.index("work") for one in found]

    assert works() == [1 if one.pk % 2 else 4 for one in string]
    for mornings, day in ((1, 4), (2, 1)):
        (tmp_path / "work.toml").write_text(f"[barn.Top]\nmornings = {mornings}\n", encoding="utf-8")
        assert works() == [day, *(1 if one.pk % 2 else 4 for one in string[1:])]


def test_lessons_are_asked_for_where_the_yard_writes_them(
    string: list[Horse], hands: Hands, loaded: worlds.Yard
) -> None:
    """Of a horse that has not run all lessons stand before its race once any is written down; one had today counts."""
    Horse.objects.filter(pk=string[0].pk).update(horse_key=987_654_321)  # of none that ran
    day = moments.now().day
    Engagement.objects.create(horse=string[0], race="Coombe Stakes", course="Coombe", zone="Europe/London",
                              day=day + timedelta(days=15), distance_m=1200, state="declared")  # fmt: skip

    def first() -> Any:
        here = Horse.objects.filter(pk=string[0].pk)
        settings = routine(loaded.library, moments.now())
        return to_work(loaded.library, moments.now(), list(here), Wished(day + timedelta(days=1)), settings)[0]

    assert (first().certificate, first().lessons) == (False, 5)
    enter("stalls", string[1], hands.back(hours=1), done="walked_through", how="composed")
    assert first().certificate
    enter("stalls", string[0], hands.back(hours=1), done="walked_through", how="composed")
    assert (first().lessons, first().did[-1].lesson) == (4, True)


def test_what_was_ordered_for_a_day_to_come_is_kept(string: list[Horse], hands: Hands, do: Callable[[], Job]) -> None:
    """A fast work ordered for a day on which the plan had none stays there, and the days beside it give way."""
    do()
    number = str(string[0].pk)
    before = [order for order, _ in kept()["horses"][number]["days"]]
    free = next(day for day in range(3, 10) if "fast" not in before[day] and "half" not in before[day])
    enter("ordered", string[0], DAWN + timedelta(days=1 + free), exercise="fast", furlongs=3)
    do()
    after = [order for order, _ in kept()["horses"][number]["days"]]
    assert after[free].startswith("fast_3f")
    assert not any("fast" in order for order in (after[free - 1], *after[free + 1 : free + 2]))
    others = [kept()["horses"][str(one.pk)]["days"] for one in string[1:]]
    assert len(others) == 2


def test_the_next_plan_knows_the_one_that_stands(string: list[Horse], hands: Hands, do: Callable[[], Job]) -> None:
    """A plan made a day later starts from what the last had for each day, so that it changes as little as can be."""
    do()
    folder, number = settings.UPSIDES_LIBRARY, str(string[0].pk)
    planned = [order for order, _ in kept()["horses"][number]["days"]]
    hands.to(DAWN + timedelta(days=1))
    moment = moments.now()
    (worked,) = to_work(folder, moment, string[:1], Wished(moment.day + timedelta(days=1)), routine(folder, moment))
    assert worked.stands == dict(enumerate(planned[1:]))
    do()
    again = [order for order, _ in kept()["horses"][number]["days"]]
    assert again[:9] == planned[1:]


def test_a_walk_on_the_day_of_a_race_stands_in_nobodys_way(
    string: list[Horse], hands: Hands, do: Callable[[], Job]
) -> None:
    """A horse that is ordered to walk on the morning of its race has a plan, and runs."""
    Engagement.objects.create(horse=string[0], race="Coombe Stakes", course="Coombe", zone="Europe/London",
                              day="2026-06-24", distance_m=1200, state="declared")  # fmt: skip
    enter("ordered", string[0], DAWN + timedelta(days=4), exercise="walk")
    do()
    values = kept()
    assert values["clashes"] == {}
    assert values["horses"][str(string[0].pk)]["days"][3][0] == "race"


def test_a_horse_ordered_upsides_with_one_that_only_walks_has_a_plan(
    string: list[Horse], hands: Hands, do: Callable[[], Job]
) -> None:
    """Two are ordered upsides; then a vet lets one only walk: the other keeps its order, and is told."""
    one, other = string[:2]
    for horse, beside in ((one, other), (other, one)):
        enter("ordered", horse, DAWN + timedelta(days=4), exercise="fast", furlongs=3, upsides=beside.pk)
    do()
    assert [3, *sorted([one.pk, other.pk])] in kept()["pairs"], "whatever their figures"
    enter("vet_finding", other, hands.back(hours=1), "vet", text="short behind", advice="walk", until="2026-06-26")
    do()
    values = kept()
    assert set(values["clashes"]) == {str(other.pk)}
    mine = values["horses"][str(one.pk)]
    assert mine["days"][3][0] == "fast_3f_upsides"
    assert any("has no partner" in plain(Said.of_json(said)) for said in mine["says"])


def test_more_ordered_than_a_morning_takes_is_kept_and_told(string: list[Horse], do: Callable[[], Job]) -> None:
    """Three ordered to work fast where half of the string may: the morning has three, and the answer says so."""
    for one in string:
        enter("ordered", one, DAWN + timedelta(days=4), exercise="fast", furlongs=3)
    do()
    values = kept()
    assert values["beyond"] == [["workers", 3, None, 2, 3]]
    assert {one["days"][3][0] for one in values["horses"].values()} == {"fast_3f"}


def test_a_stop_keeps_the_best_plan(string: list[Horse], monkeypatch: pytest.MonkeyPatch) -> None:
    """Who stops it once there is a plan ends the job, and the plan is kept with its bound; before, there is none."""
    monkeypatch.setattr(plans, "ASK_S", 0.0)

    def stopped_at(words: str) -> None:
        def progress(_share: float, doing: str) -> None:
            if words in doing:
                raise JobStopped

        with pytest.raises(JobStopped):
            plan_all(settings.UPSIDES_LIBRARY, DAWN.date(), progress)

    stopped_at("rules that clash")
    assert moments.answer(PLAN, moments.now()) is None
    stopped_at("what departs")
    values = kept()
    assert len(values["horses"]) == 3
    assert values["bound"] <= values["cost"]


def test_the_longest_time_holds_for_all_of_it(string: list[Horse]) -> None:
    """The time of a plan counts from before rules that clash are looked for, and ends it there too."""
    with pytest.raises(StoppedEarlyError):
        plan_all(settings.UPSIDES_LIBRARY, DAWN.date(), lambda _share, _doing: None, longest_s=0.0)


def test_a_search_that_somebody_stops_ends_at_its_best_plan() -> None:
    """A job that is stopped while the search tells its first best plan ends the search, and nothing is thrown in it."""

    def progress(_share: float, doing: str) -> None:
        if doing.startswith("best"):
            raise JobStopped

    search = plans._Search(progress, monotonic() + 60.0)
    search.tell(Progress(float("inf"), 0.0, 0))
    assert not search.over()
    search.tell(Progress(12.0, 7.0, 3))
    assert search.over()
    assert search.stopped


def test_several_races_are_planned_for(string: list[Horse]) -> None:
    """With two races said, the plan goes up to the later one, by what the horse is down for before it."""
    for day, metres in ((24, 1200), (28, 1400)):
        Engagement.objects.create(horse=string[0], race="Coombe Stakes", course="Coombe", zone="Europe/London",
                                  day=f"2026-06-{day}", distance_m=metres, state="declared")  # fmt: skip
    moment, folder = moments.now(), settings.UPSIDES_LIBRARY
    asked = ((date(2026, 6, 22), 1000.0), (date(2026, 6, 26), 1600.0))
    wished = Wished(moment.day + timedelta(days=1), races=asked)
    (worked,) = to_work(folder, moment, string[:1], wished, routine(folder, moment))
    assert [(race.day, race.metres) for race in worked.races] == [(1, 1000.0), (3, 1200.0), (5, 1600.0)]
