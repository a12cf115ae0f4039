"""`upsides plan work` and `upsides plan week`: in words and as JSON, from what the books know."""

import json
import signal
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fresh import fresh, told
from upsides.cli.plan import _watched
from upsides.cli.plan_values import _proof, known_then
from upsides.planning.solving import Progress
from upsides.recordings.bouts.bins import COUNT

YARD = """
from datetime import date, datetime, timedelta, UTC
from pathlib import Path
from uuid import uuid4
from click.testing import CliRunner
from upsides.books.services.opening import open_books
from upsides.results.library import Library
Library.create(Path(LIBRARY))
open_books(Path(LIBRARY))
from upsides.books import clock
from upsides.books.models import Engagement, Horse, Role, Yard
from upsides.books.services.diary import Draft, record
from upsides.books.services.people import add_person
from upsides.cli.main import main
Yard.objects.create(pk=1, name="Quarr Down", zone="Europe/London", jurisdiction="GB")
trainer = add_person("Trainer", [Role.TRAINER], login="trainer", password="quiet-stable-morning")
def horse(key, name, foaled):
    return Horse.objects.create(horse_key=key, name=name, foaled=foaled, sex="colt", joined=date(2020, 1, 1))
today = clock.today()
fast, held = horse("x:1", "Élan Vital", today.year - 4), horse("x:2", "Calm Sea", today.year - 4)
young = horse("x:3", "Small Hours", today.year - 2)
def enter(kind, days, which, **values):
    record(Draft(uuid4(), kind, which.pk, values, clock.now(), clock.now() - timedelta(days=days)), trainer)
for days in range(20, 0, -1):
    for one in (fast, held, young):
        enter("exercise", days, one, exercise="off" if days % 7 == 0 else "fast" if days % 5 == 0 else "hack_canter",
              **({"furlongs": "3"} if days % 5 == 0 and days % 7 else {}))
enter("vet_finding", 0, held, text="short behind", advice="walk", until=str(today + timedelta(days=6)))
enter("leg", 0.1, fast, limb="near_fore", place="tendon", signs="heat")
enter("stalls", 9, young, done="walked_through", how="composed")
def engage(which, days, metres):
    Engagement.objects.create(horse=which, race="Coombe Stakes", course="Coombe", zone="Europe/London",
                              day=today + timedelta(days=days), distance_m=metres, state="declared")
engage(fast, 8, 1200)
dosed = horse("x:4", "Late Bloomer", today.year - 5)
enter("vaccination", 0, dosed, disease="influenza", product="invented")
engage(dosed, 4, 1600)
record(Draft(uuid4(), "ordered", fast.pk, {"exercise": "walk"}, clock.now(), clock.now() + timedelta(days=1)), trainer)
first = today + timedelta(days=1)
def asked(*arguments):
    done = CliRunner().invoke(main, ["plan", *arguments, "--library", LIBRARY])
    return [done.exit_code, done.stdout, done.stderr]
keep = str(first + timedelta(days=1)) + "=hack_canter"
said = [asked("work", "elan vital", "--json"), asked("work", "Élan Vital"), asked("work", "Calm Sea", "--json"),
        asked("work", "Small Hours", "--json"), asked("week", "--json", "--workers", "1"), asked("week"),
        asked("work", "Calm Sea", "--keep", keep, "--json"), asked("work", "Élan Vital", "--kind", "camel"),
        asked("work", "Élan Vital", "--keep", "tomorrow"), asked("work", "Élan Vital", "--nearest", "--json"),
        asked("work", "Élan Vital", "--for", "No Such Race"), asked("work", "Late Bloomer", "--json"),
        asked("work", "Calm Sea", "--keep", str(first + timedelta(days=30)) + "=swim"),
        asked("work", "Calm Sea", "--keep", str(first) + "=bathe"), asked("work", "Élan Vital", "--free", "--json")]
record(Draft(uuid4(), "ordered", fast.pk, {"exercise": "fast", "furlongs": "3"}, clock.now(),
             clock.now() + timedelta(days=6)), trainer)
said.append(asked("work", "Élan Vital", "--nearest", "--json"))
said
"""


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder: Path = tmp_path_factory.mktemp("plan") / "library"
    with fresh(folder, ready=True) as env:
        yield told(f"LIBRARY = {str(folder)!r}\n{YARD}", env)


def _value(answers: Any, place: int) -> Any:
    status, out, err = answers[place]
    assert status == 0, out + err
    return json.loads(out)


def test_a_plan_to_the_race_as_json(answers: Any) -> None:
    """Three proven plans up to the race that it is declared for, with days, weeks by speed, stages and sentences."""
    value = _value(answers, 0)
    assert (value["horse"], value["kind"]) == ("Élan Vital", "sprinter")
    assert [one["distance_m"] for one in value["races"]] == [1200.0]
    plans = value["plans"]
    assert len(plans) == 3
    assert all(one["proven"] and len(one["days"]) == 10 for one in plans)
    assert [one["cost"] for one in plans] == sorted(one["cost"] for one in plans)
    best = plans[0]
    assert [one["order"] for one in best["days"]].index("race") == 7
    assert all(len(one["metres"]) == COUNT for one in best["weeks"])
    assert best["says"][0].endswith("10 days.")
    assert any("people" in line for line in value["stages"])
    assert {one["order"] for one in best["days"]} <= {*value["segments"], "race"}
    fast = value["segments"]["fast_3f"]
    assert fast["title"] == "fast three furlongs on rising ground"
    assert round(fast["parts"][-1]["metres"]) == 604
    assert round(fast["parts"][-1]["rise_m"]) == 12


def test_a_plan_in_words(answers: Any) -> None:
    """The first sentence answers; days, weeks, the proof and the other plans follow."""
    status, out, _ = answers[1]
    assert status == 0
    assert out.startswith("Élan Vital, sprinter: ")
    assert "and no plan by less." in out
    assert "Open for the vet, so ask before it works: " in out.splitlines()[1]
    assert "Leg: near fore; tendon; heat." in out.splitlines()[1]
    assert "What it is, fast three furlongs on rising ground: 2500 m at 1.8 m/s; " in out
    assert "604 m at 15.5 m/s, rising 12 m" in out
    assert "Plan 2, " in out
    assert "Plan 3, " in out


def test_what_the_vet_leaves_open_is_kept(answers: Any) -> None:
    """Until the vet's last day the horse walks at the most, and the plan says to ask again before more."""
    best = _value(answers, 2)["plans"][0]
    assert {one["exercise"] for one in best["days"][:6]} <= {"off", "box", "led", "walker", "walk"}
    assert any("ask the vet" in line for line in best["says"])


def test_a_young_horse_has_lessons(answers: Any) -> None:
    """An unraced two-year-old that was walked through the stalls goes on with them."""
    value = _value(answers, 3)
    assert value["kind"] == "unraced_two_year_old"
    assert any(one["exercise"] == "stalls" for one in value["plans"][0]["days"])


def test_the_week_of_the_string(answers: Any) -> None:
    """Horses that have a plan are planned together, no morning beyond the fast workers said; others are told."""
    value = _value(answers, 4)
    assert {one["horse"] for one in value["horses"]} == {"Élan Vital", "Calm Sea", "Small Hours"}
    assert value["proven"]
    assert [one["horse"] for one in value["clashes"]] == ["Late Bloomer"]
    for day in range(10):
        quick = [one for one in value["horses"] if one["days"][day]["exercise"] in {"half_speed", "fast"}]
        assert len(quick) <= 1
    assert answers[5][0] == 0
    assert "departs from the routine" in answers[5][1]
    assert "Late Bloomer has no plan; give up one of these: Late Bloomer runs on" in answers[5][1]


def test_what_cannot_be_is_refused(answers: Any) -> None:
    """A canter on a day on which the vet allows none is told as a clash; unknown words are named."""
    status, out, _ = answers[6]
    assert status == 1
    error = json.loads(out)["error"]
    assert error["kind"] == "WorkClashError"
    assert "fixed by hand" in error["message"]
    assert "vet" in error["message"]
    assert (answers[7][0], answers[8][0], answers[10][0]) == (1, 2, 1)
    assert "camel" in answers[7][2]


def test_the_nearest_plan_keeps_what_is_ordered(answers: Any) -> None:
    """What is ordered for tomorrow stays in the nearest plan, of which there is one."""
    value = _value(answers, 9)
    (only,) = value["plans"]
    assert only["held"]
    assert "as few days" in _proof(only)
    assert only["days"][0]["order"] == "walk"
    assert "change" not in only["costs"]
    assert value["better"] == value["known"] == []
    assert "beside" in only["days"][0]


def test_the_nearest_plan_never_drops_an_order_by_hand(answers: Any) -> None:
    """Fast work that is ordered two days before the race clashes with the days between: told, and not left out."""
    status, out, _ = answers[15]
    assert status == 1
    message = json.loads(out)["error"]["message"]
    assert "as was fixed by hand" in message
    assert "from one fast work or race to the next" in message


def test_what_is_ordered_is_kept_unless_it_may_change(answers: Any) -> None:
    """The walk that is ordered for tomorrow stays, as the page of a horse says; where it may change it has a price."""
    kept, free = (_value(answers, place)["plans"][0] for place in (0, 14))
    assert kept["days"][0]["order"] == "walk"
    assert "change" not in kept["costs"]
    assert free["days"][0]["order"] == "walk" or "change" in free["costs"]
    assert free["cost"] <= kept["cost"] + 1e-6


def test_steps_from_the_routine_are_told_apart_from_changes() -> None:
    """What a change of the plan that stands costs is not told as a departure from the routine."""
    found = {"cost": 3.5, "costs": {"harder": 2.0, "change": 1.5}, "proven": True}
    assert _proof(found) == (
        "It departs from the routine by 2.0 steps and from the plan that stands by 1.5, and no plan by less."
    )


def test_a_day_beyond_the_plan_and_an_unknown_order_are_refused_by_name(answers: Any) -> None:
    """A day fixed by hand that is not planned is refused with the days that are; an unknown order with those known."""
    assert (answers[12][0], answers[13][0]) == (1, 1)
    assert "day fixed by hand of Calm Sea" in answers[12][2]
    assert "it is none of the days that are planned" in answers[12][2]
    assert "hack_canter" in answers[13][2]


def test_a_stand_down_is_kept(answers: Any) -> None:
    """A race before the seventh day after a vaccination is a clash in Britain (Vaccinations Code, 22 March 2024)."""
    status, out, _ = answers[11]
    assert status == 1
    message = json.loads(out)["error"]["message"]
    assert "Late Bloomer runs on" in message
    assert "stands down" in message


def test_the_stalls_are_told(answers: Any) -> None:
    """A young horse is told its next step, and of a sprint that the break counts."""
    assert _value(answers, 3)["stalls"] == ["Next at the stalls: to stand in them."]
    assert any("the break counts" in line for line in _value(answers, 0)["stalls"])


def test_a_stop_is_heard() -> None:
    """Ctrl-C does not end the command; it is passed on to the search, and afterwards it ends commands again."""
    before = signal.getsignal(signal.SIGINT)
    with _watched() as watch:
        assert not watch.stop()
        signal.raise_signal(signal.SIGINT)
        assert watch.stop()
        watch.tell(Progress(2.0, 1.0, 1))
    assert signal.getsignal(signal.SIGINT) is before
    with _watched(0.0) as watch:
        assert watch.stop()


def test_a_plan_of_another_day_says_what_it_does_not_know() -> None:
    """Of a past day and of one farther ahead than tomorrow the first lines say so; of tomorrow nothing is said."""
    today = date(2026, 7, 1)
    assert known_then(date(2026, 7, 2), today) == []
    (ahead,) = known_then(date(2027, 7, 3), today)
    assert ahead.startswith("Planned from 3 July 2027 on by what is known today: ")
    assert "the races, orders and vet's advice of then, are not known yet." in ahead
    (now,) = known_then(today, today)
    assert now == "Planned as if 1 July 2026 were still to come, by what the books know now."
    (past,) = known_then(date(2026, 6, 3), today)
    assert past.startswith("Planned as if 3 June 2026 were still to come, by what the books knew early that day")
