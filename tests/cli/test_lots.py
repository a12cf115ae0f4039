"""`upsides lots` on a small yard: the plan, without a rider, kept in the list, and where there is none."""

import json
from pathlib import Path
from typing import Any

import pytest

from fresh import fresh, told

YARD = """
from datetime import date, timedelta
from pathlib import Path
from click.testing import CliRunner
from upsides.books.services.opening import open_books
open_books(Path(LIBRARY))
from upsides.books import clock
from upsides.books.models import Caution, Entry, Gallop, Horse, Role, Yard
from upsides.books.services.lists import order
from upsides.books.services.people import add_person
from upsides.cli.main import main
Yard.objects.create(pk=1, name="Quarr Down", zone="Europe/London", jurisdiction="GB")
trainer = add_person("Trainer", [Role.TRAINER], login="trainer", password="quiet-stable-morning")
riders = [add_person(name, [Role.RIDER]) for name in ("A. Tallow", "B. Tallow", "C. Tallow")]
for rider, kg, skill in zip(riders, (55.0, 60.0, 65.0), (4, 2, 2)):
    rider.weight_kg, rider.skill = kg, skill
    rider.save()
sand = Gallop.objects.create(name="Long Sand", surface="sand")
string = [Horse.objects.create(horse_key=f"x:{n}", name=f"Bramble {n}", foaled=2022, sex="filly",
          joined=date(2020, 1, 1)) for n in range(4)]
Caution.objects.create(horse=string[0], about="riding", text="strong", skill=4, first_day=date(2020, 1, 1))
day = clock.today() + timedelta(days=1)
for n, horse in enumerate(string):
    values = {"exercise": "steady_canter", "gallop": str(sand.pk), "lot": "1", "place": str(n + 1)}
    order(horse.pk, day, values | ({"upsides": str(string[2].pk)} if n == 1 else {}), trainer)
def asked(*arguments):
    done = CliRunner().invoke(main, ["lots", "--date", str(day), *arguments, "--library", LIBRARY])
    return [done.exit_code, done.stdout, done.stderr]
def written():
    return Entry.objects.filter(kind="ordered").count()
said = [asked("--json"), asked("--json"), asked()]
said.append(written())
said += [asked("--keep", "--json"), asked("--keep", "--json")]
said.append(written())
said += [asked("--without", "b tallow", "--json"), asked("--without", "Nobody", "--json")]
Caution.objects.create(horse=string[1], about="riding", text="strong", skill=4, first_day=date(2020, 1, 1))
Caution.objects.create(horse=string[2], about="riding", text="strong", skill=4, first_day=date(2020, 1, 1))
said += [asked("--json"), asked("--date", "2020-01-01", "--keep", "--json"), asked("--date", "2020-01-01")]
Caution.objects.all().delete()
order(string[2].pk, day, {"exercise": "fast", "gallop": str(sand.pk), "lot": "1"}, trainer)
said += [asked("--json"), asked()]
"""


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder: Path = tmp_path_factory.mktemp("lots") / "library"
    with fresh(folder, ready=True) as env:
        yield told(f"LIBRARY = {str(folder)!r}\n{YARD}", env)


def read(answer: Any) -> dict[str, Any]:
    status, out, trouble = answer
    assert status == 0, (out, trouble)
    value: dict[str, Any] = json.loads(out)
    return value


def test_the_plan_is_whole_and_proven(answers: Any) -> None:
    """Every horse goes out once, with partners beside each other and the strong one under who rides any horse."""
    value = read(answers[0])
    rides = [ride | {"lot": lot["lot"]} for lot in value["lots"] for ride in lot["rides"]]
    assert sorted(ride["horse"] for ride in rides) == [f"Bramble {n}" for n in range(4)]
    by = {ride["horse"]: ride for ride in rides}
    assert by["Bramble 0"]["rider"] == "A. Tallow"
    assert by["Bramble 1"]["lot"] == by["Bramble 2"]["lot"]
    assert abs(by["Bramble 1"]["place"] - by["Bramble 2"]["place"]) == 1
    assert (by["Bramble 1"]["upsides"], by["Bramble 1"]["other_work"]) == (["Bramble 2"], [])
    assert len({(ride["lot"], ride["rider"]) for ride in rides}) == 4
    assert value["proven"]
    assert value["minutes"] == sum(part["minutes"] for part in value["cost"].values()) == value["bound"]
    assert value["list"]["broken"]
    assert value["kept"] is None


def test_the_same_morning_gives_the_same_plan(answers: Any) -> None:
    """Asked twice, it says the same; in words it says cost and proof, and that nothing was written."""
    assert read(answers[0]) == read(answers[1])
    status, text, _ = answers[2]
    assert status == 0
    assert "no plan costs less" in text
    assert "Lot 1, 5:45" in text
    assert "Nothing was written" in text
    assert "From the shipped lots.toml" in text


def test_only_kept_plans_are_written(answers: Any) -> None:
    """Without --keep nothing is written; with it riders and lots are ordered, and keeping the same writes no more."""
    before, after = answers[3], answers[6]
    kept, again = read(answers[4]), read(answers[5])
    assert before == 4
    assert kept["kept"] == 4
    assert after == 8
    assert again["kept"] == 0
    assert again["list"]["broken"] == []
    assert again["lots"] == [lot | {"rides": [r | {"changed": False} for r in lot["rides"]]} for lot in kept["lots"]]


def test_without_a_rider_only_that_one_s_horses_change(answers: Any) -> None:
    """The rider is gone, horses of others keep theirs; a name that nobody has is refused."""
    kept, left = read(answers[4]), read(answers[7])
    assert left["without"] == "B. Tallow"
    before = {r["horse"]: (lot["lot"], r["rider"]) for lot in kept["lots"] for r in lot["rides"]}
    after = {r["horse"]: (lot["lot"], r["rider"], r["changed"]) for lot in left["lots"] for r in lot["rides"]}
    assert "B. Tallow" not in {rider for _, rider, _ in after.values()}
    assert {horse for horse, (_, _, changed) in after.items() if changed} >= {
        horse for horse, (_, rider) in before.items() if rider == "B. Tallow"
    }
    status, out, _ = answers[8]
    assert status == 1
    assert "'Nobody'" in json.loads(out)["error"]["message"]


def test_no_plan_is_said_in_names(answers: Any) -> None:
    """Two partners that only one rider can ride clash, by name; a morning that is over takes no plan."""
    status, out, _ = answers[9]
    error = json.loads(out)["error"]
    assert (status, error["kind"]) == (1, "LotsClashError")
    assert "Bramble 1 and Bramble 2 work together" in error["message"]
    assert answers[10][0] == 1
    assert "that morning is over" in json.loads(answers[10][1])["error"]["message"]


def test_a_morning_without_orders_says_so(answers: Any) -> None:
    """Where no horse is ordered to be ridden, that is said and no empty lot is printed."""
    status, out, _ = answers[11]
    assert status == 0
    assert "There is nothing to plan on 2020-01-01" in out
    assert "Lot 1" not in out


def test_a_partner_with_other_work_is_told(answers: Any) -> None:
    """Of two that are ordered together with other work, the command says that the other does other work."""
    by = {ride["horse"]: ride for lot in read(answers[12])["lots"] for ride in lot["rides"]}
    assert by["Bramble 1"]["other_work"] == ["Bramble 2"]
    assert "with Bramble 2 (does other work)" in answers[13][1]
