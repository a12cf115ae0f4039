"""`upsides new` and `upsides password`, as a person would use them."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

import fresh

COMMAND = [sys.executable, "-c", "from upsides.cli.main import main; main()"]
PASSWORD = "lanterns on a wet lane"  # noqa: S105 (of a person who does not exist)
OPTIONS = ["--yard", "Whinmoor", "--country", "GB", "--zone", "Europe/London"]
OPTIONS += ["--trainer", "Ada Vellacott", "--login", "Ada", "--password", PASSWORD]
LOOK = """
import json, sys
from pathlib import Path
from upsides.books.services.opening import connect_books
connect_books(Path(sys.argv[1]))
from upsides.books.models import Horse, Person, Yard
print(json.dumps({
    "yard": list(Yard.objects.values_list("name", "zone", "jurisdiction")),
    "horses": list(Horse.objects.order_by("pk").values_list("name", "foaled", "sex", "sire", "dam", "horse_key")),
    "trainer": [[p.login, p.name, p.check_password(sys.argv[2]), p.trust] for p in Person.objects.all()],
}))
"""


def run(env: dict[str, str], *arguments: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    command = [*COMMAND, *arguments]
    return subprocess.run(command, env=env, input=typed, capture_output=True, text=True, check=False)


def look(env: dict[str, str], folder: Path, password: str = PASSWORD) -> dict[str, list[list[object]]]:
    command = [sys.executable, "-c", LOOK, str(folder), password]
    return json.loads(subprocess.run(command, env=env, capture_output=True, text=True, check=True).stdout)


def test_from_nothing_to_horses(tmp_path: Path) -> None:
    """Answers typed one by one make a yard, its trainer and its horses; a wrong answer is asked again."""
    folder = tmp_path / "yard"
    horses = "Quarto Fennel\n1890\ncolt\n\n\n2023\nmare\nOld Sire\nHer Dam\nBarley Sextant\n2021\ng\n\n\n\n"
    typed = f"Whinmoor\nGB\n\nAda Vellacott\n\n{horses}"
    with fresh.fresh(folder) as env:
        done = run(env, "new", str(folder), "--password", PASSWORD, typed=typed)
        assert done.returncode == 0, done.stderr
        assert "write the year of foaling" in done.stderr
        assert "Whinmoor stands in" in done.stdout
        found = look(env, folder)
    assert found["yard"] == [["Whinmoor", "Europe/London", "GB"]]
    assert found["trainer"] == [["vellacott", "Ada Vellacott", True, 1]]
    assert found["horses"] == [
        ["Quarto Fennel", 2023, "filly", "Old Sire", "Her Dam", "yard:quartofennel-2023"],
        ["Barley Sextant", 2021, "gelding", "", "", "yard:barleysextant-2021"],
    ]


def test_horses_from_a_table(tmp_path: Path) -> None:
    """A table in another encoding's letters and with its columns in another order is entered whole, once."""
    folder, table = tmp_path / "yard", tmp_path / "horses.csv"
    rows = [f"f;Dam {i};{2015 + i};Été {i};Sire {i}" for i in range(8, 11)]
    table.write_bytes(("\ufeff" + "\r\n".join(["Sex;Dam;Foaled;Name;Sire", *rows])).encode())
    with fresh.fresh(folder, ready=True) as env:
        done = run(env, "new", str(folder), *OPTIONS, "--horses", str(table), "--json")
        assert done.returncode == 0, done.stderr
        assert json.loads(done.stdout) == {"library": str(folder), "yard": "Whinmoor", "horses": 3}
        again = run(env, "new", str(folder), "--horses", str(table))
        assert again.returncode == 1
        assert "is in the books" in again.stderr
        found = look(env, folder)
    assert [horse[:2] for horse in found["horses"]] == [[f"Été {i}", 2015 + i] for i in range(8, 11)]


def test_a_bad_table_enters_nothing(tmp_path: Path) -> None:
    """Every bad line of a table is named with its field and remedy, and no horse of it is entered."""
    folder, table = tmp_path / "yard", tmp_path / "horses.csv"
    table.write_text("name,foaled,sex\nGood One,2022,g\n,2022,g\nTwo,22,g\nThree,2022,bay\n")
    with fresh.fresh(folder, ready=True) as env:
        done = run(env, "new", str(folder), *OPTIONS, "--horses", str(table))
        assert done.returncode == 1
        for words in ("line 3: name ''", "line 4: foaled '22'", "line 5: sex 'bay'", "no horse was entered"):
            assert words in done.stderr
        assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (["--zone", "Mars/Olympus"], "time zone 'Mars/Olympus' cannot be read"),
        (["--country", "Atlantis"], "jurisdiction 'ATLANTIS' cannot be read"),
        (["--password", "short"], "that password will not do"),
        (["--password", "ada vellacott"], "too similar"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, wrong: list[str], words: str) -> None:
    """A zone, a country or a password that will not do is refused in words, and no yard is half set up."""
    folder = tmp_path / "yard"
    with fresh.fresh(folder, ready=True) as env:
        done = run(env, "new", str(folder), *OPTIONS, *wrong)
        assert done.returncode == 1
        assert words in done.stderr
        found = look(env, folder)
    assert found == {"yard": [], "horses": [], "trainer": []}


def test_it_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """Stopped after the trainer it asks for horses only; once ten stand it changes nothing and says so."""
    folder = tmp_path / "yard"
    with fresh.fresh(folder, ready=True) as env:
        assert run(env, "new", str(folder), *OPTIONS, typed="\n").returncode == 0
        typed = "".join(f"Horse Number {i}\n2022\nc\n\n\n" for i in range(10))
        assert run(env, "new", str(folder), typed=typed).returncode == 0
        done = run(env, "new", str(folder))
        found = look(env, folder)
    assert len(found["horses"]) == 10
    assert len(found["trainer"]) == 1
    assert done.returncode == 1
    assert "it stays as it is" in done.stderr


def test_a_lost_password(tmp_path: Path) -> None:
    """The trainer gets a new password without knowing the old, which ends old sessions; an unknown name is refused."""
    folder = tmp_path / "yard"
    with fresh.fresh(folder, ready=True) as env:
        assert run(env, "new", str(folder), *OPTIONS, typed="\n").returncode == 0
        done = run(env, "password", "--library", str(folder), typed="a different hedge\na different hedge\n")
        assert done.returncode == 0, done.stderr
        assert look(env, folder, "a different hedge")["trainer"] == [["ada", "Ada Vellacott", True, 2]]
        nobody = run(env, "password", "bert", "--library", str(folder), "--password", "a different hedge", "--json")
    assert nobody.returncode == 1
    assert json.loads(nobody.stdout)["error"]["kind"] == "PersonUnknownError"
