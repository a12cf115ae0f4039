"""The writers of files: backups, fits, imports. What they leave is looked at after every kill."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import count
from pathlib import Path
from uuid import uuid4

import polars as pl
from tools.kills.killing import speaker

from upsides.books.keeping.backup import back_up
from upsides.books.keeping.members import Reader
from upsides.ratings.fits import Fit, _write, read_fit
from upsides.results.importing import add_frames
from upsides.results.library import Library

DAY = date(2026, 6, 1)
RUNNERS = 3
ROWS = 20_000


@dataclass(frozen=True)
class FileWriter:
    """One writer of files.

    Args:
        name: what it writes.
        work: writes until killed; called with the pipe.
        look: called with what was acknowledged; returns what is lost, and what is there in part.
        lines: how many lines it says at most before it is killed.
        longest: seconds that it is left after that at most.
    """

    name: str
    work: Callable[[int], None]
    look: Callable[[set[str]], tuple[list[str], list[str]]]
    lines: int
    longest: float


def file_writers(library: Path, folder: Path) -> list[FileWriter]:
    """Return the writers.

    Args:
        library: a library with books, which is backed up.
        folder: an empty folder.
    """
    backups, fits, results = folder / "backups", folder / "fits", folder / "results"
    for place in (backups, fits):
        place.mkdir()
    return [
        FileWriter("backups", partial(_back_up, library, backups), partial(_backups, backups), 3, 1.5),
        FileWriter("fits", partial(_fit, fits), partial(_fits, fits), 8, 0.05),
        FileWriter("imports", partial(_import, results), partial(_imports, results), 5, 1.0),
    ]


def _back_up(library: Path, backups: Path, pipe: int) -> None:
    say = speaker(pipe)
    while True:
        name = f"{uuid4().hex}.zip"
        say("B", "file", name)
        back_up(library, backups / name)
        say("A", "file", name)


def _backups(backups: Path, done: set[str]) -> tuple[list[str], list[str]]:
    """Read every backup that has a name to its end."""
    half = []
    for file in backups.glob("*.zip"):
        try:
            with Reader(file) as backup:
                for member in backup.manifest.members:
                    for _ in backup.blocks(member):
                        pass
        except Exception as error:  # noqa: BLE001 (told)
            half.append(f"{file.name}: {error}")
    return [name for name in done if not (backups / name).exists()], half


def _fit(folder: Path, pipe: int) -> None:
    say = speaker(pipe)
    for number in count():
        token = f"{number}"
        frame = pl.DataFrame({"horse_key": ["a"] * ROWS, "number": [number] * ROWS})
        say("B", "fit", token)
        _write(folder, Fit(DAY, frame, frame, frame, {"format": 1, "number": number}), latest=True)
        say("A", "fit", token)


def _fits(folder: Path, done: set[str]) -> tuple[list[str], list[str]]:
    """Read the fit: its parts are of one make, and none is lost once one was written."""
    if not done:
        return [], []
    try:
        fit = read_fit(folder)
    except Exception as error:  # noqa: BLE001 (told)
        return [f"the fit: {type(error).__name__} {error}"], []
    numbers = {frame["number"][0] for frame in (fit.levels, fit.figures, fit.horses)} | {fit.manifest["number"]}
    return [], [] if len(numbers) == 1 else [f"the fit holds parts of {len(numbers)} makes"]


def _import(folder: Path, pipe: int) -> None:
    say, library = speaker(pipe), Library.create(folder)
    while True:
        token = uuid4().hex
        races = pl.DataFrame({"race_id": [token], "date": [DAY]})
        horses = [f"kills:{number}" for number in range(RUNNERS)]
        runs = pl.DataFrame({"race_key": [f"kills:{token}"] * RUNNERS, "source_horse": horses, "date": [DAY] * RUNNERS})
        say("B", "race", token)
        add_frames(library, races, runs, "kills")
        say("A", "race", token)


def _imports(folder: Path, done: set[str]) -> tuple[list[str], list[str]]:
    """Open the library: every race that was acknowledged is there, and every race has all of its runs."""
    if not (folder / "library.json").exists():
        return sorted(done), []
    library = Library.open(folder)
    races = set(library.races().select("race_id").collect()["race_id"])
    runs = library.runs().group_by("race_key").len().collect()
    counts = dict(zip(runs["race_key"], runs["len"], strict=True))
    half = [race for race in races if counts.get(f"kills:{race}") != RUNNERS]
    half += [key for key in counts if key.removeprefix("kills:") not in races]
    return sorted(done - races), half
