"""`upsides demo`: the invented yard stands in the books as it was invented."""

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import fresh
import worlds
from upsides.books.services.invented import DEMO_PASSWORD, DEMO_PIN
from upsides.demo import Invented

COMMAND = [sys.executable, "-c", "from upsides.cli.main import main; main()", "demo", "--json", "--library"]
LOOK = """
import json, sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from upsides.books.services.opening import connect_books
connect_books(Path(sys.argv[1]))
from django.contrib.auth.hashers import check_password
from django.db.models import F
from upsides.books.models import Entry, Horse, Person, Post, Share, Yard
from upsides.books.queries import moments
trainer = Person.objects.get(posts__role="trainer")
carer = Person.objects.exclude(pin="").first()
ids = list(Entry.objects.order_by("pk").values_list("recorded_at", flat=True))
early = moments.as_of(datetime(2025, 6, 20, tzinfo=UTC))
print(json.dumps({
    "yard": Yard.objects.values("name", "zone", "jurisdiction", "fixed_day").get(),
    "horses": {h.name: [h.barn, h.carer.login, str(h.joined)] for h in Horse.objects.select_related("carer")},
    "roles": Counter(Post.objects.values_list("role", flat=True)),
    "shares": Share.objects.count(),
    "histories": [m.objects.count() == m.history.count() for m in (Horse, Person, Post, Share, Yard)],
    "entries": Counter(Entry.objects.values_list("kind", flat=True)),
    "in_order": ids == sorted(ids),
    "corrections": Entry.objects.filter(supersedes__isnull=False).count(),
    "of_other_horses": Entry.objects.filter(supersedes__isnull=False).exclude(horse=F("supersedes__horse")).count(),
    "opens": [trainer.check_password(sys.argv[2]), check_password(sys.argv[3], carer.pin)],
    "a_year_ago": sorted(moments.in_training(early).values_list("name", flat=True)),
}, default=str))
"""


@pytest.fixture(scope="module")
def invented() -> Invented:
    return worlds.world()


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[list[dict[str, Any]], dict[str, Any], Path]]:
    """The demo built twice in the same place: what it said each time, what the books hold, and where."""
    folder = tmp_path_factory.mktemp("demo") / "yard"
    with fresh.fresh(folder) as env:
        done = [
            subprocess.run([*COMMAND, str(folder)], env=env, capture_output=True, text=True, check=True) for _ in "12"
        ]
        look = [sys.executable, "-c", LOOK, str(folder), DEMO_PASSWORD, DEMO_PIN]
        found = subprocess.run(look, env=env, capture_output=True, text=True, check=True).stdout
        yield [json.loads(one.stdout) for one in done], json.loads(found), folder


def test_it_stands_ready_and_can_be_built_again(built: Any, invented: Invented) -> None:
    """The demo makes results, a fit and books; again on top of it nothing changes."""
    (first, second), found, folder = built
    assert first["string"] == invented.string.height == len(found["horses"])
    assert first["people"] == invented.people.height
    assert first["races"] == invented.races.height
    assert second == first
    assert (folder / "fits" / first["today"] / "manifest.json").exists()


def test_the_books_hold_what_was_invented(built: Any, invented: Invented) -> None:
    """Yard, barns, carers, roles, shares and diary are the invented ones, each with its history."""
    _, found, _ = built
    assert found["yard"]["name"] == invented.yard.name
    assert found["yard"]["fixed_day"] == str(invented.today)
    wanted = {row["name"]: [row["barn"], row["carer"], str(row["joined"])] for row in invented.string.to_dicts()}
    assert found["horses"] == wanted
    assert found["roles"] == Counter(role for roles in invented.people["roles"] for role in roles)
    assert found["shares"] == invented.shares.height
    assert found["entries"] == Counter(invented.diary["kind"])
    assert all(found["histories"])


def test_the_diary_can_be_read_as_of_any_moment(built: Any, invented: Invented) -> None:
    """Entries stand in the order in which they were recorded; corrections point at entries of the same horse."""
    _, found, _ = built
    assert found["in_order"]
    assert found["corrections"] == invented.diary["supersedes"].drop_nulls().len() > 0
    assert found["of_other_horses"] == 0


def test_a_year_ago_the_string_was_another(built: Any, invented: Invented) -> None:
    """As of a year ago the books hold the horses that had come by then, and no other."""
    _, found, _ = built
    early = [row["name"] for row in invented.string.to_dicts() if str(row["joined"]) <= "2025-06-20"]
    assert found["a_year_ago"] == sorted(early)
    assert 0 < len(early) < invented.string.height


def test_its_people_can_sign_in(built: Any) -> None:
    """The password and the PIN that the sign-in page shows are those of the demo's people."""
    _, found, _ = built
    assert found["opens"] == [True, True]
