"""Programmes of races to come for tests: a shape, rows for it, and what reading them gives."""

from pathlib import Path
from tempfile import TemporaryDirectory

from upsides.results.programme import Listed, read_programme

SHAPE = """
format = 1
source = "calendar"
jurisdiction = "GB"
currency = "GBP"
[[table]]
name = "programme"
has = ["Date", "Course", "Conditions"]
[table.programme]
race_id = "Id"
day = { from = "Date", format = "%d/%m/%Y" }
moved_from = { from = "Was", format = "%d/%m/%Y" }
course = "Course"
zone = "Zone"
number = "No"
title = "Title"
surface = "Surface"
distance_m = { from = "Distance", unit = "written" }
going = "Going"
race_class = "Class"
ages = "Ages"
sexes = "Sex"
rating_low = { from = "Band", pattern = '^(\\d+)-' }
rating_high = { from = "Band", pattern = '-(\\d+)$' }
top_weight_lb = { from = "Top", unit = "written" }
conditions = "Conditions"
penalties = "Penalties"
prize = "Prize"
prizes = { from = ["1st", "2nd"] }
currency = "Cur"
off_at = { from = "Off", format = "%H:%M" }
enter_by = { from = "Enter", format = "%d/%m/%Y %H:%M" }
declare_by = { from = "Declare", format = ["%d/%m/%Y %H:%M", "%Y-%m-%dT%H:%M:%S%z"] }
enter_fee = "Fee"
most_runners = "Max"
stall_side = "Stalls"
bend = "Bend"
to_bend_m = "To bend"
rail = "Rail"
"""
HEAD = (
    "Id,Date,Was,Course,Zone,No,Title,Surface,Distance,Going,Class,Ages,Sex,Band,Top,Conditions,Penalties,Prize,1st,2nd,"
    "Cur,Off,Enter,Declare,Fee,Max,Stalls,Bend,To bend,Rail"
)
COLUMNS = HEAD.split(",")
ONE = {
    "Id": "101",
    "Date": "05/07/2025",
    "Course": "Larkmoor",
    "Zone": "Europe/London",
    "No": "3",
    "Title": "The Sedge Handicap (Class 4)",
    "Surface": "turf",
    "Distance": "1m 2f",
    "Going": "good",
    "Ages": "3yo+",
    "Band": "66-80",
    "Top": "9-7",
    "Conditions": "Fillies allowed 3lb",
    "Penalties": "after 1 June for each race won 6lb",
    "Prize": '"10,000"',
    "1st": "£6000",
    "2nd": "3000",
    "Off": "14:35",
    "Enter": "29/06/2025 12:00",
    "Declare": "03/07/2025 10:00",
    "Fee": "40",
    "Max": "14",
    "Stalls": "inside",
    "Bend": "left",
    "To bend": "350",
    "Rail": "C+3",
}


def line(**changes: str) -> str:
    """Return a row of the usual race with some cells changed; underscores in names stand for blanks."""
    cells = ONE | {name.replace("_", " ").removeprefix("n "): cell for name, cell in changes.items()}
    return ",".join(cells.get(column, "") for column in COLUMNS) + "\n"


def read(rows: str, zones: dict[str, str] | None = None, shape: str = SHAPE) -> Listed:
    """Read rows below the usual header."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "calendar.toml").write_text(shape, encoding="utf-8")
        (folder / "calendar.csv").write_text(f"{HEAD}\n{rows}", encoding="utf-8")
        return read_programme(folder / "calendar.csv", folder / "calendar.toml", zones)
