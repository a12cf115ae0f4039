"""The draw kept beside the fit that it was learned from, and read back."""

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from upsides.errors import DrawMissingError, DrawNewerError
from upsides.ratings.draw.fitting import Block, DrawFit, Key, Slopes
from upsides.ratings.kept_fits import fits_folder

FORMAT = 1
MANIFEST = "draw.json"
FRAME = "draw.parquet"
KINDS = ("draw", "away")


def write_draw(fit: DrawFit, folder: Path) -> None:
    """Write a draw into the folder of a fit: its table, then what makes it count."""
    rows: list[dict[str, Any]] = []
    about: dict[str, Any] = {"format": FORMAT, "as_of": str(fit.as_of)}
    for kind in KINDS:
        slopes: Slopes | None = getattr(fit, kind)
        if slopes is None:
            continue
        about[kind] = {"spread": slopes.spread, "error": slopes.error}
        rows += [_row(kind, key, block) for key, block in slopes.blocks.items()]
    fresh = folder / ".draw.new"
    pl.DataFrame(rows, schema_overrides={"key": pl.List(pl.String)}).write_parquet(fresh)
    fresh.replace(folder / FRAME)
    fresh.write_text(json.dumps(about, indent=2))
    fresh.replace(folder / MANIFEST)


def _row(kind: str, key: Key, block: Block) -> dict[str, Any]:
    return {
        "kind": kind,
        "key": list(key),
        "races": block.races,
        "restless": block.restless,
        "labels": list(block.labels),
        "mean": block.mean.tolist(),
        "covariance": block.covariance.ravel().tolist(),
    }


def read_draw(library: str | Path, day: date) -> DrawFit:
    """Return the draw kept with the fit of a day.

    Raises:
        DrawMissingError: there is none.
        DrawNewerError: it was written by a newer version of this program.
    """
    place = fits_folder(library) / str(day)
    try:
        about = json.loads((place / MANIFEST).read_text())
        if about["format"] > FORMAT:
            raise DrawNewerError(place / MANIFEST, about["format"], FORMAT)
        rows = pl.read_parquet(place / FRAME).to_dicts()
    except FileNotFoundError:
        raise DrawMissingError(library, day) from None
    slopes = {kind: _slopes(kind, about[kind], rows) for kind in KINDS if kind in about}
    return DrawFit(date.fromisoformat(about["as_of"]), slopes["draw"], slopes.get("away"))


def _slopes(kind: str, about: Mapping[str, Any], rows: list[dict[str, Any]]) -> Slopes:
    blocks = {tuple(row["key"]): _block(row) for row in rows if row["kind"] == kind}
    return Slopes(blocks, dict(about["spread"]), float(about["error"]))


def _block(row: Mapping[str, Any]) -> Block:
    size = len(row["labels"])
    covariance = np.array(row["covariance"], dtype=np.float64).reshape(size, size)
    mean = np.array(row["mean"], dtype=np.float64)
    return Block(tuple(row["labels"]), mean, covariance, int(row["races"]), float(row["restless"]))
