"""Shapes drafted for programmes by their headings, in several languages (their words: common practice, no source)."""

import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from upsides.results.fields import PROGRAMME_FIELDS
from upsides.results.programme import read_programme
from upsides.results.programme_drafting import About, draft_programme, field_of, place_of

WANTED = ("day", "course", "title", "distance_m", "going", "prize", "ages", "sexes", "race_class", "enter_by",
          "declare_by", "off_at")  # fmt: skip
HEADS = {
    "de": "Datum;Rennbahn;Rennen;Distanz;Boden;Preisgeld;Alter;Geschlecht;Klasse;Nennungsschluß;"
          "Starterangabe;Startzeit",
    "fr": "Date;Hippodrome;Épreuve;Distance;Etat du terrain;Allocation;Âge;Sexe;Catégorie;Clôture des engagements;"
          "Déclaration des partants;Heure",
    "es": "Fecha;Hipódromo;Carrera;Distancia;Estado de la pista;Dotación;Edad;Sexo;Clase;Cierre de inscripciones;"
          "Declaración de participantes;Hora",
    "it": "Data;Ippodromo;Corsa;Distanza;Terreno;Montepremi;Età;Sesso;Categoria;Iscrizioni;Dichiarazione partenti;Ora",
    "ja": "Hizuke;Keibajō;Kyōsōmei;Kyori;Baba jōtai;Shōkin;Barei;Seibetsu;Kurasu;Tokubetsu tōroku;Shutsuba tōhyō;"
          "Hassō jikoku",
    "en": "Date;Course;Race;Distance;Going;Prize;Age;Sex;Class;Entries close;Declarations close;Off time",
}  # fmt: skip
ROW = "21.06.2026;Larkmoor;Sedge;1600;good;9000;3;F;4;15.06.2026 12:00;19.06.2026 10:00;14:35"


@pytest.mark.parametrize("language", HEADS)
def test_usual_columns_are_known_in_each_language(language: str, tmp_path: Path) -> None:
    """A table with the usual headings of a language is drafted whole: each column fills its field, days and times with
    the format that they have, and no column is left out."""
    file = tmp_path / "calendar.csv"
    file.write_text(f"{HEADS[language]}\n{ROW}\n", "utf-8")
    drafted = tomllib.loads(draft_programme(file, About("calendar", "GB", "EUR", "Europe/Paris")))["table"][0]
    columns = dict(zip(WANTED, HEADS[language].split(";"), strict=True))
    found = drafted["programme"]
    assert set(found) == set(WANTED)
    for field, column in columns.items():
        assert (found[field] if isinstance(found[field], str) else found[field]["from"]) == column
    assert found["day"]["format"] == "%d.%m.%Y"
    assert found["off_at"]["format"] == "%H:%M"
    assert found["distance_m"]["unit"] == "m"


def test_a_drafted_shape_reads_its_table(tmp_path: Path) -> None:
    """What is drafted for a table in French is taken as it stands: a race with its day, trip and deadline."""
    file, shape = tmp_path / "calendrier.csv", tmp_path / "calendrier.toml"
    file.write_text(f"{HEADS['fr']};1er prix;2ème prix\n{ROW};6000;3000\n", "utf-8")
    shape.write_text(draft_programme(file, About("calendrier", "FR", "EUR", "Europe/Paris")), "utf-8")
    row = read_programme(file, shape).races.row(0, named=True)
    assert (row["day"], row["course"], row["distance_m"], row["title"]) == (
        date(2026, 6, 21),
        "Larkmoor",
        1600.0,
        "Sedge",
    )
    assert row["enter_by"] == datetime(2026, 6, 15, 10, 0, tzinfo=UTC)
    assert row["prizes"] == [6000.0, 3000.0]


@pytest.mark.parametrize(
    ("heading", "place"),
    [("1st", 1), ("2nd prize", 2), ("1. Preis", 1), ("3.", 3), ("1er", 1), ("2ème prix", 2), ("1º premio", 1),
     ("2° premio", 2), ("1 chaku", 1), ("10e", 10), ("Prix", None), ("1", None), ("100m", None)],
)  # fmt: skip
def test_prizes_by_place_are_known(heading: str, place: int | None) -> None:
    """The number of a place with its mark is the prize of that place; a bare number, or a word alone, is none."""
    assert place_of(heading) == place


def test_headings_are_of_fields_that_there_are() -> None:
    """Every heading of the data names a field of programmes or the band of ratings, and no heading is compared to
    nothing."""
    text = (Path(__file__).parents[2] / "src/upsides/results/programme_headings.toml").read_text("utf-8")
    for language, fields in tomllib.loads(text).items():
        if language == "places":
            continue
        for field, words in fields.items():
            assert field in PROGRAMME_FIELDS or field == "band", (language, field)
            assert all(field_of(word) for word in words)
            assert any(field_of(word) == field for word in words)
