"""`upsides demo`: the invented yard stands in the books as it was invented."""

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest

import fresh
import worlds
from upsides.books.services.invented import DEMO_PASSWORD, DEMO_PIN
from upsides.cli.demo import HALF_YEARS, STANDS, standing
from upsides.demo import Books, Invented, books_of

ROWS = {
    "Bond": "bonds",
    "Box": "boxes",
    "Caution": "cautions",
    "DayOff": "days_off",
    "Declarable": "declarables",
    "Engagement": "engagements",
    "Feed": "feeds",
    "FeedBatch": "batches",
    "Gallop": "gallops",
    "Horse": "horses",
    "Move": "moves",
    "OfficialMark": "marks",
    "Person": "people",
    "Ration": "rations",
    "Share": "shares",
    "Shift": "shifts",
    "Stand": "stands",
    "Thing": "things",
    "Tracker": "trackers",
}
"""Tables of the books, and the frames that they are entered from."""
LOOK = """
import json, sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from upsides.books.services.opening import connect_books
connect_books(Path(sys.argv[1]))
from django.contrib.auth.hashers import check_password
from django.db.models import F
from upsides.books import models
from upsides.books.models import Entry, Horse, OfficialMark, Person, Post, Share, Yard
from upsides.books.queries import boxes, moments
trainer = Person.objects.get(posts__role="trainer")
carer = Person.objects.exclude(pin="").first()
ids = list(Entry.objects.order_by("pk").values_list("recorded_at", flat=True))
early = moments.as_of(datetime(2025, 6, 20, tzinfo=UTC))
here = moments.in_the_yard(moments.now()).select_related("carer")
stood, was = boxes.boxes(moments.now()), boxes.boxes(early)
counted = sys.argv[4].split(",")
print(json.dumps({
    "yard": Yard.objects.values("name", "zone", "jurisdiction", "fixed_day").get(),
    "horses": {h.horse_key: [stood[h.pk].barn, h.carer.login, str(h.joined)] for h in here},
    "rows": {name: getattr(models, name).objects.count() for name in counted},
    "roles": Counter(Post.objects.values_list("role", flat=True)),
    "histories": [m.objects.count() == m.history.count() for m in (OfficialMark, Person, Post, Yard)],
    "came_and_left": Horse.history.filter(history_type="+").count() == Horse.objects.count(),
    "left_only_then": Horse.history.filter(left__isnull=False, left__gt=F("history_date")).count(),
    "entries": Counter(Entry.objects.values_list("kind", flat=True)),
    "in_order": ids == sorted(ids),
    "corrections": Entry.objects.filter(supersedes__isnull=False).count(),
    "of_other_horses": Entry.objects.filter(supersedes__isnull=False).exclude(horse=F("supersedes__horse")).count(),
    "opens": [trainer.check_password(sys.argv[2]), check_password(sys.argv[3], carer.pin)],
    "a_year_ago": sorted(moments.in_the_yard(early).values_list("horse_key", flat=True)),
    "stood_a_year_ago": set(moments.in_the_yard(early).values_list("id", flat=True)) <= set(was),
    "ordered": Entry.objects.filter(kind="ordered").order_by("-pk").values_list("values", flat=True).first(),
    "people": list(Person.objects.values_list("id", flat=True)),
    "files": list(models.Recorded.objects.order_by("pk").values_list("file", "tracker__name")),
    "outings": Counter(models.Outing.objects.values_list("horse__horse_key", flat=True)),
    "by_files": models.Outing.objects.filter(recorded__isnull=False, metres__gt=1000).count(),
    "of_other_horses_trackers": models.Outing.objects.exclude(horse=F("recorded__tracker__horse")).filter(
        recorded__isnull=False).count(),
    "answers": {one.name: len(one.values) for one in models.Answer.objects.all()},
    "many_answers": Counter(models.Answer.objects.values_list("name", flat=True)),
    "upsides": sum(len(one.values["upsides"]) for one in models.Answer.objects.filter(name="together")),
    "judged": sum(len(one["works"]) for one in models.Answer.objects.get(name="unraced").values.values()),
    "waits": models.Recorded.objects.filter(outings=None).count(),
}, default=str))
"""


@pytest.fixture(scope="module")
def invented() -> Invented:
    return worlds.world()


@pytest.fixture(scope="module")
def books(invented: Invented) -> Books:
    return books_of(invented)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[list[dict[str, Any]], dict[str, Any], Path]]:
    """The demo asked for three times in one place, the last as if other code had built it: what it said each time, what
    the books hold, and where.
    """
    folder = tmp_path_factory.mktemp("demo") / "yard"
    with fresh.fresh(folder) as env:
        first = fresh.demo(folder, env)
        again = fresh.built(folder, env)
        made = json.loads((folder / STANDS).read_text())
        (folder / STANDS).write_text(json.dumps(made | {"made": made["made"] | {"code": "of another version"}}))
        anew = fresh.built(folder, env)
        look = [sys.executable, "-c", LOOK, str(folder), DEMO_PASSWORD, DEMO_PIN, ",".join(ROWS)]
        found = subprocess.run(look, env=env, capture_output=True, text=True, check=True).stdout
        yield [first, again, anew], json.loads(found), folder


def test_it_stands_ready_and_can_be_built_again(built: Any, invented: Invented, books: Books) -> None:
    """The demo makes results, a fit and books; asked for again, and built again on top of it, nothing changes."""
    (first, again, anew), found, folder = built
    assert first["string"] == invented.string.height == len(found["horses"])
    assert first["people"] == books.people.height == len(found["people"])
    assert first["entries"] == books.diary.height
    assert first["races"] == invented.races.height
    assert again | {"library": ""} == anew | {"library": ""} == first | {"library": ""}
    assert (folder / "fits" / first["today"] / "manifest.json").exists()


@pytest.mark.parametrize(
    "kept", ["", "{", "[]", '{"made": 1}', '{"made": {"seed": 17}, "said": {}}', '{"made": {"seed": 18}, "said": {}}']
)
def test_what_does_not_stand_is_built(tmp_path: Path, kept: str) -> None:
    """A folder whose note is missing, broken, or of another yard is no yard that stands."""
    if kept:
        (tmp_path / STANDS).write_text(kept)
    assert standing(tmp_path, {"seed": 17}) is None


def test_the_books_hold_what_was_invented(built: Any, invented: Invented, books: Books) -> None:
    """Yard, barns, carers, roles and diary are the invented ones, and so is every row that stands besides."""
    _, found, _ = built
    assert found["yard"]["name"] == invented.yard.name
    assert found["yard"]["fixed_day"] == str(invented.today)
    wanted = [[row["barn"], row["carer"], str(row["joined"])] for row in invented.string.to_dicts()]
    assert sorted(found["horses"].values()) == sorted(wanted)
    assert found["roles"] == Counter(role for roles in books.people["roles"] for role in roles)
    assert found["rows"] == {name: getattr(books, frame).height for name, frame in ROWS.items()}
    assert found["entries"] == Counter(books.diary["kind"])
    assert all(found["histories"])


def test_the_diary_can_be_read_as_of_any_moment(built: Any, books: Books) -> None:
    """Entries stand in the order in which they were recorded; corrections point at entries of the same horse."""
    _, found, _ = built
    assert found["in_order"]
    assert found["corrections"] == books.diary["supersedes"].drop_nulls().len() > 0
    assert found["of_other_horses"] == 0


def test_entries_name_rows_by_their_numbers(built: Any) -> None:
    """What is ordered for today names its rider by a number that somebody has."""
    _, found, _ = built
    assert found["ordered"]["exercise"]
    assert found["ordered"].get("rider", found["people"][0]) in found["people"]


def test_a_year_ago_the_string_was_another(built: Any, books: Books) -> None:
    """As of a year ago the books hold the horses that were there then, each in a box, and none was known to leave."""
    _, found, _ = built
    day = date(2025, 6, 20)
    early = books.horses.filter(pl.col("joined") <= day, pl.col("left").fill_null(date(2100, 1, 1)) > day)
    assert len(found["a_year_ago"]) == early.height > 0
    assert found["a_year_ago"] != sorted(found["horses"])
    assert found["stood_a_year_ago"]
    assert found["came_and_left"]
    assert found["left_only_then"] == 0


def test_its_trackers_have_been_out(built: Any, books: Books) -> None:
    """Every file of the last days was read once and is its horse's but for one that waits; earlier days stand too."""
    _, found, _ = built
    late = books.outings.filter("lately")
    assert len(found["files"]) == late.height == found["by_files"] + 1
    assert sorted({name for _, name in found["files"]}) == sorted(books.trackers["name"])
    assert found["waits"] == 1
    assert found["of_other_horses_trackers"] == 0
    assert sorted(found["outings"].values()) == sorted(
        books.outings.filter("known").group_by("source_horse").len()["len"].to_list()
    )


def test_what_is_worked_out_of_its_condition_stands(built: Any, books: Books) -> None:
    """Every answer is there, once however often the demo was built, and each says something; who went upsides is known
    of every day of which there are files of two or more."""
    _, found, _ = built
    days = books.outings.filter("lately").group_by("day").len().filter(pl.col("len") > 1).height
    worked = {"exercises", "spreads", "hearts", "gallops", "speeds", "unraced", "gaps"}
    once = worked | {"form", "monitoring", "calls", "plan"}
    races = {name for name in found["answers"] if name.startswith("chances ")}
    assert set(found["answers"]) == once | {"together"} | races
    assert len(races) > 20
    of_calls = 1 + HALF_YEARS  # what the tool could say on the day of each earlier fit stands too
    assert found["many_answers"] == dict.fromkeys(once | races, 1) | {"together": days, "calls": of_calls}
    assert all(found["answers"].values())
    assert found["upsides"] > 0
    assert found["judged"] > 0


def test_its_people_can_sign_in(built: Any) -> None:
    """The password and the PIN that the sign-in page shows are those of the demo's people."""
    _, found, _ = built
    assert found["opens"] == [True, True]
