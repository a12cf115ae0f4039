"""`upsides read` of files that are wrong in ways that happen: read as far as they go, and said in words."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import given_recordings as given
from bad_recordings import BAD, SHAPE
from upsides.cli.main import main


def read(place: Path, folder: Path) -> tuple[int, list[dict[str, Any]]]:
    shape = folder / "shape.toml"
    shape.write_text(SHAPE)
    more = ["--shape", str(shape)] if place.suffix == ".csv" and place.name.startswith("night") else []
    result = CliRunner().invoke(main, ["read", str(place), "--json", *more, "--library", str(folder / "none")])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    told = json.loads(result.stdout)
    return result.exit_code, told if isinstance(told, list) else [told]


@pytest.mark.parametrize("wrong", BAD)
def test_what_is_wrong_is_said(wrong: str, tmp_path: Path) -> None:
    """Each file is read as far as it goes or refused, with status 0 or 1, and what is wrong is said."""
    bad = BAD[wrong]
    place = tmp_path / bad.file
    place.write_bytes(bad.data())
    status, told = read(place, tmp_path)
    assert status == (0 if bad.recordings else 1)
    assert any(one["format"] is not None for one in told) == (bad.recordings > 0)
    said = " ".join(text for one in told for text in one["messages"])
    assert bad.says in said
    if bad.recordings:
        assert all((one["distance_m"] is not None) == bad.far for one in told)


def test_the_date_line_costs_no_metre(tmp_path: Path) -> None:
    """The same morning over the date line is as long as elsewhere, to 1 in 10,000."""
    metres = []
    for name, data in (("line.fit", BAD["the date line"].data()), ("here.fit", given.fit())):
        (tmp_path / name).write_bytes(data)
        metres.append(read(tmp_path / name, tmp_path)[1][0]["distance_m"])
    assert metres[0] == pytest.approx(metres[1], rel=1e-3)


def test_a_heart_of_255_is_none(tmp_path: Path) -> None:
    """A strap that only ever wrote 255 gives no heart at all, and the places stay."""
    place = tmp_path / "heart.gpx.gz"
    place.write_bytes(BAD["a heart of 255"].data())
    (told,) = read(place, tmp_path)[1]
    assert (told["with_heart"], told["heart"]) == (0, None)
    assert told["with_position"] == told["fixes"]
