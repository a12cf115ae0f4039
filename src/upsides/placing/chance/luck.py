"""How much luck a library's races hold: learned by judging, kept beside its fits, read back with what is kept."""

import json
from pathlib import Path
from typing import Final

import numpy as np

from upsides.errors import FitNewerError
from upsides.ratings.kept_fits import fits_folder

FORMAT: Final = 1
FILE: Final = "chance.json"

USUAL_LUCK: Final = 2.8
"""Luck in a race against the error of a run that was persevered with, where nothing was learned (docs/chances.md)."""
USUAL_COUNTS: Final = 200.0
"""Races that say as much as that."""


def learned_luck(best: float, races: int) -> float:
    """Return the luck to use after judging: what foretold best, drawn to the usual where races were few."""
    share = races / (races + USUAL_COUNTS)
    return float(np.exp(share * np.log(best) + (1.0 - share) * np.log(USUAL_LUCK)))


def keep_luck(library: str | Path, best: float, races: int) -> float:
    """Keep what judging found beside a library's fits, and return the luck to use from now on."""
    luck = learned_luck(best, races)
    place = fits_folder(library)
    place.mkdir(parents=True, exist_ok=True)
    fresh = place / f".{FILE}.new"
    fresh.write_text(json.dumps({"format": FORMAT, "luck": luck, "best": best, "races": races}))
    fresh.replace(place / FILE)
    return luck


def read_luck(library: str | Path) -> float:
    """Return the luck of a library; the usual where it was never judged.

    Raises:
        FitNewerError: it was written by a newer version of this program.
    """
    file = fits_folder(library) / FILE
    if not file.exists():
        return USUAL_LUCK
    about = json.loads(file.read_text())
    if about["format"] > FORMAT:
        raise FitNewerError(file, about["format"], FORMAT)
    return float(about["luck"])
