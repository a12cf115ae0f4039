"""What is assumed of a morning, from the shipped file and a yard's own."""

from itertools import pairwise
from pathlib import Path

import pytest

from upsides.errors import MorningRefusedError
from upsides.planning.defaults import read_defaults
from upsides.planning.prices import SHIPPED


def test_the_shipped_lots_follow_each_other() -> None:
    """Each lot of the shipped file is back before the next pulls out, on the same day."""
    found = read_defaults()
    lots = [found.lot(number) for number in range(1, found.count + 1)]
    assert all(one.ends <= other.starts for one, other in pairwise(lots))
    assert lots[0].starts == found.first
    assert lots[-1].ends < 1440


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("[lots]", "[lot]", "lots"),
        ("count = 5", "count = 0", "lots, count"),
        ("grace = 20", "grace = -1", "lots, grace"),
        ("most = 24", 'most = "many"', "lots, most"),
        ("points = [0, 0, 0, 1, 2]", "points = [0, 1]", "awkward points"),
        ("[gallops]\nmost = 20", '[gallops]\nmost = 20\n[gallop.most]\n"Long Sand" = -1', "most on Long Sand"),
        ("[awkward]", '[horse."Bramble"]\ncarries_kg = 0\n[awkward]', "Bramble, carries_kg"),
        ("[awkward]", '[horse."Bramble"]\napart = "yes"\n[awkward]', "Bramble, apart"),
    ],
)
def test_a_file_that_cannot_be_is_refused(tmp_path: Path, before: str, after: str, said: str) -> None:
    """What cannot be is named: a missing table, no lots, a gallop with less than none, a rider of no weight."""
    own = tmp_path / "lots.toml"
    own.write_text(SHIPPED.read_text(encoding="utf-8").replace(before, after, 1), encoding="utf-8")
    with pytest.raises(MorningRefusedError, match=said):
        read_defaults(own)
