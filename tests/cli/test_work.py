"""`upsides work HORSE`: the works of a horse in words and as JSON."""

from pathlib import Path
from typing import Any

import pytest

from fresh import fresh, told

YARD = """
import json
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4
from click.testing import CliRunner
from upsides.books.services.opening import open_books
open_books(Path(LIBRARY))
from upsides.books import clock
from upsides.books.models import Gallop, Horse, Role, Yard
from upsides.books.services.diary import Draft, record
from upsides.books.services.people import add_person
from upsides.cli.main import main
Yard.objects.create(pk=1, name="Quarr Down", zone="Europe/London", jurisdiction="GB")
trainer = add_person("Trainer", [Role.TRAINER, Role.RIDER], login="trainer", password="quiet-stable-morning")
horse = Horse.objects.create(horse_key="x:1", name="Élan Vital", foaled=2022, sex="filly", joined=date(2020, 1, 1))
gallop = Gallop.objects.create(name="Uphill", surface="woodchip", length_m=1006)
values = {"splits": "1f 15.2, 3f 45.0", "gallop": str(gallop.pk), "left": "plenty", "instruction": "half_speed",
          "rider": str(trainer.pk), "rider_kg": "58 kg"}
record(Draft(uuid4(), "clocked", horse.pk, values, clock.now(), clock.now() - timedelta(days=3)), trainer)
order = {"exercise": "fast", "furlongs": "5f"}
record(Draft(uuid4(), "ordered", horse.pk, order, clock.now(), clock.now() - timedelta(days=5)), trainer)
def asked(*arguments):
    done = CliRunner().invoke(main, ["work", *arguments, "--library", LIBRARY])
    return [done.exit_code, done.stdout, done.stderr]
said = [asked("elan vital", "--json"), asked("Élan Vital"), asked("Elan", "--json"), asked("Élan Vital", "--days", "2")]
"""


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder: Path = tmp_path_factory.mktemp("work") / "library"
    with fresh(folder, ready=True) as env:
        yield told(f"LIBRARY = {str(folder)!r}\n{YARD}", env)


def test_works_as_json(answers: Any) -> None:
    """Every work has its source, its times with their errors, and who rode it; an order has no times."""
    import json

    status, out, _ = answers[0]
    assert status == 0
    value = json.loads(out)
    assert value["horse"] == "Élan Vital"
    clocked, ordered = value["works"]
    assert (clocked["source"], clocked["gallop"], clocked["left"], clocked["rider"], clocked["rider_kg"]) == (
        "thumb", "Uphill", "plenty", "Trainer", 58.0,
    )  # fmt: skip
    assert [split["seconds"] for split in clocked["splits"]] == pytest.approx([15.2, 29.8])
    assert [split["sd_s"] for split in clocked["splits"]] == pytest.approx([0.15 * 2**0.5] * 2)
    assert (ordered["source"], ordered["exercise"], ordered["speed_ms"], ordered["when"]) == (
        "ordered",
        "fast",
        None,
        None,
    )
    assert ordered["metres"] == pytest.approx(1005.84)


def test_works_in_words(answers: Any) -> None:
    """The lines say when, where, how far and how fast with its error, and which clock; other days are left out."""
    status, out, _ = answers[1]
    first, clocked, ordered = out.splitlines()
    assert status == 0
    assert first == "Élan Vital: 2 pieces of work in the last 90 days, the last first."
    assert "Uphill" in clocked
    assert "13.41 ± 0.06 m/s  15.2 29.8  half speed, plenty  stopwatch" in clocked
    assert ordered.endswith("not measured")
    assert answers[3][1] == "Élan Vital: no work in the last 2 days.\n"


def test_another_name_is_refused(answers: Any) -> None:
    """A name that is no horse's is refused with those that are like it."""
    status, out, err = answers[2]
    assert status == 1
    assert "YardHorseUnknownError" in out
    assert "did you mean Élan Vital?" in err
