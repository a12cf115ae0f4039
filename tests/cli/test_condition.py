"""`upsides condition` and `upsides look-at`: in words and as JSON, now and as of an earlier day."""

import json
import re
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest

from fresh import fresh, told
from upsides.cli.calls import _as_lines as _call_lines
from upsides.cli.condition import TABLE_ALONE, UNWATCHED, _fit_words, _missing
from upsides.condition.fresh.latest import Missing

YARD = """
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4
from click.testing import CliRunner
from upsides.books.services.opening import open_books
from upsides.results.library import Library
Library.create(Path(LIBRARY))
open_books(Path(LIBRARY))
from upsides.books import clock
from upsides.books.models import Horse, Role, Yard
from upsides.books.services.diary import Draft, record
from upsides.books.services.people import add_person
from upsides.cli.main import main
Yard.objects.create(pk=1, name="Quarr Down", zone="Europe/London", jurisdiction="GB")
trainer = add_person("Trainer", [Role.TRAINER], login="trainer", password="quiet-stable-morning")
horse = Horse.objects.create(horse_key="x:1", name="Élan Vital", foaled=2022, sex="filly", joined=date(2020, 1, 1))
calm = Horse.objects.create(horse_key="x:2", name="Calm Sea", foaled=2022, sex="colt", joined=date(2020, 1, 1))
def enter(kind, days, which=horse, **values):
    record(Draft(uuid4(), kind, which.pk, values, clock.now(), clock.now() - timedelta(days=days)), trainer)
for days in range(30, 0, -1):
    enter("exercise", days, exercise="half_speed" if days % 5 == 0 else "hack_canter")
for days in range(29, 0, -3):
    enter("mass", days, kg=f"{480 + days % 2} kg")
enter("clocked", 5, splits="1f 14.0, 3f 37.5")
for days in range(29, 0, -1):
    enter("feed_left", days, left="half" if days < 4 else "nothing")
rider = add_person("Rider", [Role.RIDER])
record(Draft(uuid4(), "mind", horse.pk, {"mind": "dull"}, clock.now(), clock.now()), rider)
gone = Horse.objects.create(horse_key="x:3", name="Far Shore", foaled=2022, sex="colt", joined=date(2020, 1, 1),
                            left=clock.today() - timedelta(days=3))
enter("leg", 0.1, limb="near_fore", place="tendon", signs="heat")
enter("as_usual", 0, calm)
from upsides.books.services.answers import store
from upsides.books.services.calls import Said, call
made = call(Path(LIBRARY), horse, [Said(uuid4(), "fit", 0.9), Said(uuid4(), "would run", 0.3)], trainer)
warm = {"horse": horse.pk, "kind": "mass", "way": "below", "usual": 488.0, "now": 480.0, "last": str(clock.today()),
        "lately": 481.0, "readings": 3, "since": str(clock.today() - timedelta(days=9)), "nearness": 2.0, "new": True,
        "of_barn": 0.0, "of_all": 0.0, "with": []}
came = {str(made[0].pk): {"came": True, "why": "ran", "day": str(clock.today()), "tool": 0.5}}
store("calls", clock.today(), {"came": came}, {})
def asked(*arguments):
    done = CliRunner().invoke(main, [*arguments, "--library", LIBRARY])
    return [done.exit_code, done.stdout, done.stderr]
before = str(clock.today() - timedelta(days=1))
said = [asked("condition", "elan vital", "--json"), asked("condition", "Élan Vital"),
        asked("condition", "Nobody", "--json"), asked("condition", "Elan Vital", "--as-of", before, "--json"),
        asked("look-at", "--json"), asked("look-at", "--top", "1"), asked("look-at", "--top", "0"),
        asked("calls", "--json"), asked("calls"), asked("condition", "Calm Sea")]
enter("bloods", 2, calm, laboratory="Moor End", results="SAA 640 mg/l < 20")
said.append(asked("condition", "Calm Sea"))
after = str(clock.today() + timedelta(days=1))
said += [asked("condition", "Élan Vital", "--as-of", after), asked("look-at", "--date", after),
         asked("condition", "far shore")]
store("monitoring", clock.today(), {"horses": [warm]}, {})
said += [asked("condition", "elan vital", "--json"), asked("condition", "elan vital")]
"""


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder: Path = tmp_path_factory.mktemp("condition") / "library"
    with fresh(folder, ready=True) as env:
        yield told(f"LIBRARY = {str(folder)!r}\n{YARD}", env)


def test_condition_as_json(answers: Any) -> None:
    """Windows with who says so, what is missing, what is for the vet with who saw it, every published figure."""
    status, out, _ = answers[0]
    assert status == 0
    value = json.loads(out)
    assert (value["horse"], value["as_of"]) == ("Élan Vital", None)
    assert (value["stands_out"], value["vet"]["stands_out"]) == ([], [])
    week = value["done"]["windows"][0]
    assert (week["days"], set(week["by_source"])) == (7, {"thumb", "usual"})
    assert week["by_source"]["thumb"] == pytest.approx(3 * 201.168, abs=1)
    assert value["done"]["since_run"] is None
    assert value["fit"]["pieces"] == []
    assert {one["what"] for one in value["fit"]["missing"]} >= {"recovery", "figures in races"}
    assert (value["fresh"]["unusual"], value["fresh"]["usual"]) == (["appetite"], ["mass"])
    assert (value["left"], value["fresh"]["unheard"]) == (None, 1)
    assert "mind" not in {one["what"] for one in value["fresh"]["missing"]}
    assert [(one["by"], one["words"]) for one in value["vet"]["open"]] == [("Trainer", "Leg: near fore; tendon; heat.")]
    figures = {one["key"]: one for one in value["figures"]}
    assert figures["35 furlongs in 60 days"]["ratio"] == 3.9
    assert figures["35 furlongs in 60 days"]["disagrees"]
    assert len(figures) >= 20


def test_condition_in_words(answers: Any) -> None:
    """The lines name the horse and its week, the three answers in order, and what to ask the vet about."""
    status, out, _ = answers[1]
    assert status == 0
    assert out.startswith("Élan Vital, ")
    assert f" km in seven days up to {json.loads(answers[0][1])['done']['until']}, of it " in out
    places = [out.index(word) for word in ("Fit?", "Fresh?", "Vet?")]
    assert places == sorted(places)
    assert "Ask the vet:" in out
    assert "Leg: near fore; tendon; heat." in out
    for window in ("7 days: ", "30 days: ", "60 days: ", "since it entered training: "):
        assert re.search(rf"^ +{window}[0-9.]+ km, canter [0-9.]+ km, fast [0-9.]+ km, [0-9]+ % measured", out, re.M)
    assert "appetite: 50 % left yesterday; 25 % on 6 days of the last week, 0 % on 23 days before" in out
    assert "mind: somebody else said how it is; it is shown once you have said it yourself" in out


def test_what_the_watch_found_is_not_called_as_usual(answers: Any) -> None:
    """A mass that the watch finds below its usual for days stands among what is not as usual, in words and as JSON, as
    the page has it; never as usual on one line and below its usual on the next."""
    fresh_ = json.loads(answers[-2][1])["fresh"]
    assert (fresh_["unusual"], fresh_["usual"]) == (["appetite", "mass"], [])
    assert "Fresh?  not as usual: appetite, mass.\n" in answers[-1][1]
    assert "Mass below its usual 488\u00a0kg since" in answers[-1][1]


def test_what_was_not_worked_out_is_said(answers: Any) -> None:
    """Of a day of which no night's answer is known it is said that nothing was watched, and that sums of what was told
    take the table of exercises alone; once the watch has an answer only the latter."""
    value = json.loads(answers[0][1])
    assert (value["watched_to"], value["done"]["exercises_worked_out"]) == (None, False)
    assert (UNWATCHED in answers[1][1], TABLE_ALONE in answers[1][1]) == (True, True)
    assert json.loads(answers[-2][1])["watched_to"] is not None
    assert (UNWATCHED in answers[-1][1], TABLE_ALONE in answers[-1][1]) == (False, True)


def test_a_day_to_come_is_refused(answers: Any) -> None:
    """Nobody knows how a horse is tomorrow: a later day is refused with today's, never answered for today."""
    for status, out, err in (answers[-5], answers[-4]):
        assert (status, out) == (2, "")
        assert re.search(r"\d is still to come; give today \(\d{4}-\d\d-\d\d\) or an earlier day", err)


def test_a_horse_that_has_left_is_told_too(answers: Any) -> None:
    """A horse that has left has its condition as its page has, and the day on which it left is said."""
    status, out, _ = answers[-3]
    assert status == 0
    assert out.startswith("Far Shore, ")
    assert re.search(r"It left the yard on \d{4}-\d\d-\d\d\.", out)


def test_with_nothing_open_the_vet_is_still_asked_in_doubt(answers: Any) -> None:
    """A horse of which nothing stands open ends with whom to ask in doubt; what stands out in its blood is printed."""
    assert "Vet?    nothing stands open for the vet. In doubt ask the vet." in answers[9][1]
    lines = answers[10][1].splitlines()
    at = lines.index("  Vet?    Ask the vet:")
    assert lines[at + 1].startswith("          In its blood SAA 640 mg/l, ")
    assert lines[at + 1].endswith("; above what Moor End prints, below 20.0.")


@pytest.mark.parametrize(
    ("pieces", "words"),
    [
        ([("fitter", 0.9, "mass")], "fitter than on 2026-05-29 with a chance of 0.90 by mass alone:"),
        (
            [("less fit", 0.03, "recovery"), ("less fit", 0.08, "figures in races"), ("cannot tell", 0.5, "speed")],
            "less fit than on 2026-05-29 with a chance of 0.92 to 0.97 by recovery and figures in races; 1 other "
            "cannot tell:",
        ),
        (
            [("less fit", 0.05, "recovery"), ("cannot tell", 0.5, "mass"), ("cannot tell", 0.5, "speed")],
            "less fit than on 2026-05-29 with a chance of 0.95 by recovery alone; 2 others cannot tell:",
        ),
        (
            [("less fit", 0.05, "recovery"), ("fitter", 0.9, "mass"), ("cannot tell", 0.5, "speed")],
            "the evidence disagrees, mass to fitter than on 2026-05-29, recovery to less fit than on 2026-05-29; "
            "1 other cannot tell:",
        ),
    ],
)
def test_fitness_is_told_the_way_round_that_it_points(pieces: list[tuple[str, float, str]], words: str) -> None:
    """A horse that the evidence calls less fit is called so, with the chance of that, the day it is held against, by
    which signs, and how many others cannot tell; one sign among four is told as one alone."""
    told = [{"points": way, "fitter": chance, "kind": kind, "since": "2026-05-29"} for way, chance, kind in pieces]
    chances = [chance for way, chance, _kind in pieces if way != "cannot tell"]
    together = "disagree" if len({way for way, *_rest in pieces} - {"cannot tell"}) > 1 else "agree"
    value = {"lowest": min(chances), "highest": max(chances), "together": together, "pieces": told}
    assert _fit_words(value) == words


def test_no_chance_is_told_as_certainty() -> None:
    """A chance of 0.9999 is told as 0.99; where nothing tells for sure the chances that there are stand beside it."""
    piece = {"points": "less fit", "since": "2026-06-01", "fitter": 0.0001, "kind": "mass"}
    sure = _fit_words({"lowest": 0.0001, "highest": 0.0001, "together": "one alone", "pieces": [piece]})
    assert sure == "less fit than on 2026-06-01 with a chance of 0.99 by mass alone:"
    vague = [{"points": "cannot tell", "since": "2026-06-01", "fitter": chance} for chance in (0.42, 0.7)]
    told = _fit_words({"lowest": None, "highest": None, "together": "none tells", "pieces": vague})
    assert told.endswith("some weeks ago (fitter: 0.42 to 0.70).")
    alike = [{"points": "cannot tell", "since": "2026-06-01", "fitter": chance} for chance in (0.541, 0.539)]
    told = _fit_words({"lowest": None, "highest": None, "together": "none tells", "pieces": alike})
    assert told.endswith("some weeks ago (fitter: 0.54).")


def test_what_was_measured_is_not_listed_as_if_it_had_not_been() -> None:
    """Beside what is not known stands when it was read last and why it says nothing; a day of which nothing was worked
    out is not called one on which nothing tells."""
    lacks = [Missing("recovery", 0, "not worked out"), Missing("figures in races", 20, "nothing before")]
    assert [_missing(asdict(one)) for one in [*lacks, Missing("mass", 9), Missing("mind", None)]] == [
        "recovery (last today, not worked out for this day)",
        "figures in races (last 20 days ago, too little before it to hold it against)",
        "mass (9 days)",
        "mind",
    ]
    none = {"lowest": None, "highest": None, "together": "none tells", "pieces": []}
    told = _fit_words(none | {"missing": [asdict(one) for one in lacks]})
    assert told == "whether it is fitter than some weeks ago was not worked out for this day."


def test_a_horse_that_is_not_there_is_refused(answers: Any) -> None:
    """A name that the yard has not got ends with its error, and nothing is answered."""
    status, out, _ = answers[2]
    assert status == 1
    assert json.loads(out)["error"]["kind"] == "YardHorseUnknownError"


def test_as_of_an_earlier_day_nothing_later_is_known(answers: Any) -> None:
    """All was entered today, so that as of yesterday morning the yard had no such horse."""
    status, out, _ = answers[3]
    assert (status, json.loads(out)["error"]["kind"]) == (1, "YardHorseUnknownError")


def test_whom_to_look_at(answers: Any) -> None:
    """Who has something comes with its reasons and their entries; at most as many as are asked for."""
    status, out, _ = answers[4]
    assert status == 0
    value = json.loads(out)
    assert (value["in_training"], value["more"], value["watched_to"]) == (2, 0, None)
    (one,) = value["first"]
    assert one["horse"] == "Élan Vital"
    assert [(why["source"], why["words"]) for why in one["reasons"]] == [
        ("entered", "Leg: near fore; tendon; heat."),
        ("entered", "Feed left: about half left."),
    ]
    assert one["reasons"][0]["entry"] > 0
    assert value["beyond"] == 0
    assert "was not worked out for this day: it holds what was entered alone." in answers[5][1]
    assert answers[5][1].splitlines()[:2] == ["1 of 2 to look at first.", "  Élan Vital"]
    assert answers[6][0] == 2


def test_calls_stand_person_beside_tool(answers: Any) -> None:
    """Each person's calls by question: score beside the tool's on the same calls, what is open and what waits."""
    status, out, _ = answers[7]
    assert status == 0
    (one,) = json.loads(out)["people"]
    assert (one["person"], one["made"], one["unseen"], one["taken_back"], one["trips"]) == ("Trainer", 2, 2, 0, 0)
    (fit,) = one["scored"]
    assert fit["person"]["score"] == pytest.approx(0.01)
    assert (fit["tool"]["score"], fit["beside"], fit["better"]) == (0.25, 1, pytest.approx(0.24))
    assert fit["error"] is None
    status, out, _ = answers[8]
    assert status == 0
    assert "fit: 0.010; on the 1 that the tool called too 0.010, the tool 0.250; 1 shown, 0 open, 0 wait" in out


def test_shares_and_trips_stand_below_the_scores() -> None:
    """How often horses ran after either verdict, and how many trips were called, stand there without a score."""
    ran = {"calls": 10, "ran": 8, "share": 0.77, "low": 0.55, "high": 0.93}
    would = [ran | {"said": "would run"}, ran | {"said": "would not run", "calls": 0}]
    one = {"person": "Trainer", "made": 12, "unseen": 12, "scored": [], "would_run": would, "trips": 2}
    assert _call_lines({"people": [one]})[1:] == [
        "  would run: 10 called, 8 ran; a share of 0.77, nine in ten between 0.55 and 0.93; not scored",
        "  trip: 2 called; a best trip is never seen, so all stay open",
    ]
