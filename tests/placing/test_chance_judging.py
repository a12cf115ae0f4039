"""Chances judged on later races: known luck is found, pieces that tell are told from those that do not."""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.errors import FitNewerError
from upsides.placing.chance.career import career_gained
from upsides.placing.chance.judging import Foretold, scored
from upsides.placing.chance.judging_fields import Seen, fields_scored
from upsides.placing.chance.luck import FILE, USUAL_LUCK, keep_luck, learned_luck, read_luck
from upsides.ratings.kept_fits import fits_folder


def races(count: int, luck: float, seed: int) -> list[Foretold]:
    """Return races of ten whose levels (sd 5 lb, known to 2), draw (sd 3) and luck are as said; weight is idle."""
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(count):
        level, draw = rng.normal(70, 5, 10), rng.normal(0, 3, 10)
        shown = level + draw + rng.normal(0, luck, 10)
        position = np.argsort(np.argsort(-shown)) + 1.0
        known = level + rng.normal(0, 2, 10) + rng.normal(0, 2, (30, 10))
        gained = np.broadcast_to(draw, (30, 10))
        found.append(Foretold(known, known, np.zeros(10), np.zeros(10), gained, 8.0, position))
    return found


def test_what_tells_is_told_from_what_does_not() -> None:
    """The draw that these races were run with is worth more than its error, an idle weight and career nothing."""
    found = scored(races(200, 8.0, 1), used=2.0)
    worth = {piece["name"]: (piece["worth"], piece["worth_se"]) for piece in found["pieces"]}
    assert worth["draw"][0] > 3 * worth["draw"][1] > 0
    assert worth["weight"][0] == pytest.approx(0.0, abs=1e-12)
    assert worth["career"][0] == pytest.approx(0.0, abs=1e-12)
    assert found["races"] == 200


def test_chances_from_the_true_model_come_as_often_as_they_say() -> None:
    """In tenths of the runners by chance, wins and places come as often as said, within four standard errors."""
    found = scored(races(300, 8.0, 2), used=2.0)
    for bands in found["calibration"].values():
        for band in bands:
            error = np.sqrt(band["predicted"] * (1 - band["predicted"]) / band["count"])
            assert band["observed"] == pytest.approx(band["predicted"], abs=4 * error + 0.01)


@pytest.mark.parametrize("luck", [6.0, 10.0])
def test_luck_is_found(luck: float) -> None:
    """Races run with less or more luck than supposed say so: what would have foretold best lies near the truth."""
    found = scored(races(300, luck, 3), used=2.0)
    assert found["luck"]["best"] == pytest.approx(2.0 * luck / 8.0, rel=0.3)


def test_luck_is_kept_and_few_races_move_it_little(tmp_path: Path) -> None:
    """A library never judged has the usual luck; thirty races move it little, ten thousand nearly all the way."""
    assert read_luck(tmp_path) == USUAL_LUCK
    kept = keep_luck(tmp_path, 1.4, 10_000)
    assert read_luck(tmp_path) == kept == pytest.approx(1.4, rel=0.02)
    assert learned_luck(1.4, 30) == pytest.approx(USUAL_LUCK, rel=0.1)
    file = fits_folder(tmp_path) / FILE
    file.write_text(file.read_text().replace('"format": 1', '"format": 2'))
    with pytest.raises(FitNewerError, match="format 2"):
        read_luck(tmp_path)


def test_a_career_counts_by_its_runs() -> None:
    """Thirty runs 2 lb above what was expected count half of five times that, three runs little, none nothing."""
    rows = [{"horse_key": key, "figure_lb": 72.0, "expected_lb": 70.0} for key in ["old"] * 30 + ["new"] * 3]
    gained = career_gained(["old", "new", "unraced"], pl.DataFrame(rows).lazy())
    assert gained == pytest.approx([5.0, 5 * 6 / 33, 0.0])


def test_expected_fields_are_judged() -> None:
    """Of fields that ran as they were expected to, four in five are inside a range for that; one lb too many everywhere
    is told as that, with its error; a level of which too little is known is left out."""
    rng = np.random.default_rng(6)
    middle = rng.normal(10.0, 3.0, 400)
    half = 2.0 * 1.2816
    ranges = [(one, one - half, one + half) for one in middle.tolist()]
    ran = (middle + rng.normal(0, 2.0, 400)).tolist()
    seen = [Seen(one, one + 1.0, said, said) for one, said in zip(ran, ranges, strict=True)]
    found = fields_scored([*seen, Seen(9.0, float("nan"), ranges[0], ranges[0])])
    assert found is not None
    size, level = found["size"], found["level"]
    assert (size["races"], level["races"]) == (401, 400)
    assert size["inside"] == pytest.approx(0.8, abs=4 * 0.02)
    assert size["inside"] + size["below"] + size["above"] == pytest.approx(1.0)
    assert level["off"] == pytest.approx(1.0, abs=4 * level["off_se"])
    assert level["off_se"] == pytest.approx(2.0 / 20, rel=0.15)
    assert size["told"] == pytest.approx(9.0 / 13.0, abs=0.1)
    assert level["above"] > level["below"]
    assert fields_scored([]) is None
