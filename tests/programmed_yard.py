"""A small programme of races to come for the yard of the tests, and horses engaged for its races."""

import shutil
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import uuid4
from zoneinfo import ZoneInfo

from medicine_yard import boosted
from upsides.books import clock
from upsides.books.chances import RaceChance
from upsides.books.models import Answer, Engagement, Horse, OfficialMark, Person
from upsides.books.queries import moments
from upsides.books.queries.chance_answers import answer_name
from upsides.books.queries.programme import programme
from upsides.books.services.answers import store
from upsides.books.services.deciding import Said, decide
from upsides.books.services.programmes import Taken, take_programme
from upsides.placing import Race
from upsides.results import race_cards
from upsides.results.programme import FOLDER

LONDON = ZoneInfo("Europe/London")
SHAPE = r"""
format = 1
source = "calendar"
jurisdiction = "GB"
currency = "GBP"
[[table]]
name = "programme"
has = ["Date", "Course", "Conditions"]
[table.programme]
race_id = "Id"
day = { from = "Date", format = "%Y-%m-%d" }
moved_from = { from = "Was", format = "%Y-%m-%d" }
course = "Course"
zone = "Zone"
number = "No"
title = "Title"
surface = "Surface"
distance_m = { from = "Distance", unit = "written" }
race_class = "Class"
ages = "Ages"
rating_low = { from = "Band", pattern = '^(\d+)-' }
rating_high = { from = "Band", pattern = '-(\d+)$' }
conditions = "Conditions"
prizes = { from = ["1st", "2nd"] }
currency = "Cur"
off_at = { from = "Off", format = "%H:%M" }
enter_by = { from = "Enter", format = "%Y-%m-%d %H:%M" }
confirm_by = { from = "Confirm", format = "%Y-%m-%d %H:%M" }
declare_by = { from = "Declare", format = "%Y-%m-%d %H:%M" }
enter_fee = "Fee"
declare_fee = "Fee"
most_runners = "Max"
"""
HEAD = (
    "Id,Date,Was,Course,Zone,No,Title,Surface,Distance,Class,Ages,Band,Conditions,1st,2nd,Cur,Off,Enter,Confirm,Declare,"
    "Fee,Max"
)
COLUMNS = HEAD.split(",")
USUAL = {
    "Course": "Larkmoor",
    "Zone": "Europe/London",
    "Surface": "turf",
    "Distance": "1m",
    "Class": "4",
    "1st": "6000",
    "2nd": "3000",
    "Off": "14:35",
    "Fee": "40",
    "Max": "14",
}


def race(number: str, title: str, day: date, conditions: str, **changes: str) -> dict[str, str]:
    """Return a row: entries close six days before at noon, declarations two days before at ten."""
    enter, declare = day - timedelta(days=6), day - timedelta(days=2)
    told = {"Id": number, "No": number, "Title": title, "Date": str(day), "Conditions": conditions}
    dues = {"Enter": f"{enter} 12:00", "Declare": f"{declare} 10:00"}
    return USUAL | told | dues | changes


def usual_rows(today: date) -> list[dict[str, str]]:
    """Return the rows of the small programme: an open handicap, a maiden, one that was not read to its end."""
    return [
        race("1", "Sedge Handicap", today + timedelta(days=8), "Highest weight 9-11", Ages="3yo+", Band="0-110"),
        race("2", "Fern Maiden", today + timedelta(days=20), "Maidens. Weights: 9st 7lb each", Ages="3yo+"),
        race("3", "Bracken Stakes", today + timedelta(days=30), "Weights: 9st 7lb each. Grooms sing first 3",
             Ages="3yo+", Confirm=f"{today + timedelta(days=26)} 12:00"),
    ]  # fmt: skip


def table(rows: list[dict[str, str]]) -> str:
    """Return rows as a table with commas."""
    cells = [[f'"{row.get(name, "")}"' for name in COLUMNS] for row in rows]
    return "\n".join([",".join(COLUMNS), *(",".join(row) for row in cells)]) + "\n"


def take(folder: Path, rows: list[dict[str, str]], by: Person | None = None, shape: str = SHAPE) -> Taken:
    """Take rows into a library as a programme."""
    with TemporaryDirectory() as name:
        file, described = Path(name) / "calendar.csv", Path(name) / "calendar.toml"
        file.write_text(table(rows), encoding="utf-8")
        described.write_text(shape, encoding="utf-8")
        return take_programme(folder, file, described, by or Person.objects.get(login="trainer"))


def programmed(folder: Path) -> dict[str, Race]:
    """Take the small programme in anew, in place of whatever the library keeps; return its races by code."""
    forget(folder)
    take(folder, usual_rows(clock.today()))
    return dict(programme(folder, moments.now()).races)


def forget(folder: Path) -> None:
    """Drop every programme and every card that a library keeps."""
    for name in (FOLDER, race_cards.FOLDER):
        shutil.rmtree(folder / name, ignore_errors=True)


def code_of(folder: Path, title: str) -> str:
    """Return the code of a race by its title."""
    return next(code for code, one in programme(folder, moments.now()).races.items() if one.title == title)


def handicap_ahead(folder: Path, few: int = 6) -> str:
    """Take the small programme in, with a few horses of the yard in training; return the code of its handicap."""
    Horse.objects.filter(pk__gt=Horse.objects.order_by("pk")[few].pk).update(left="2026-01-01", joined="2025-01-01")
    programmed(folder)
    return code_of(folder, "Sedge Handicap")


def runner() -> Horse:
    """Return a horse with a mark that is vaccinated, owned by the person who signs in as owner."""
    one = marked(Horse.objects.order_by("pk")[0])
    boosted(one, clock.today() - timedelta(days=30))
    return one


def marked(horse: Horse, value: int = 70) -> Horse:
    """Give a horse a mark that counts on its day, so that handicaps take it."""
    day = clock.today() - timedelta(days=30)
    OfficialMark.objects.create(horse=horse, ground="turf", country="GB", value=value, effective=day)
    OfficialMark.objects.create(horse=horse, ground="synthetic", country="GB", value=value, effective=day)
    return horse


def engage_for(horse: Horse, code: str, folder: Path, by: Person, step: str = "mean", **more: object) -> Engagement:
    """Say something of a horse and a race; return the engagement."""
    made = decide(folder, Said(uuid4(), horse.pk, code, step, **more), by)  # type: ignore[arg-type]  # fields of Said
    return made.engagement


def at(day: date, hour: int, minute: int = 0) -> datetime:
    """Return a moment by British clocks."""
    return datetime.combine(day, time(hour, minute), LONDON)


def a_chance(**changes: object) -> RaceChance:
    """Return a chance as a worker might have worked it out."""
    told: dict[str, object] = {
        "win": (0.12, 0.07, 0.19), "place": (0.35, 0.25, 0.47), "first_four": (0.46, 0.34, 0.6),
        "rank": (3.0, 1.0, 6.0), "size": (11.0, 8.0, 13.0), "level": (71.0, 66.0, 75.0), "shown": (74.0, 68.0, 79.0),
        "career": 0.5, "weighed": 1.2, "spread": 1.7, "stall": None, "weight": 131.0, "races": 24, "prize": 1200.0,
        "share": 0.8, "fees": 80.0, "currency": "GBP", "notes": (),
    }  # fmt: skip
    return RaceChance(**(told | changes))  # type: ignore[arg-type]  # fields of RaceChance


def keep_chances(code: str, found: Mapping[int, RaceChance], why: str = "", **made_from: object) -> Answer:
    """Keep chances in a race as the worker does."""
    values = {"why": why, "horses": {str(number): one.kept() for number, one in found.items()}}
    fit = str(clock.today())
    return store(answer_name(code), clock.today(), values, {"fit": fit} | made_from)
