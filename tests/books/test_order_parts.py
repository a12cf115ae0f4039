"""What each exercise order is: rise and surface by the routine's file, or else by the gallop that it goes to."""

from pathlib import Path

import pytest

import worlds
from mornings import EVE, Hands, enter, only
from upsides.books.models import Gallop
from upsides.books.queries import moments
from upsides.books.queries.order_parts import order_parts, parts_value
from upsides.planning.work.settings import read_settings

OWN = """
[order.shore]
like = "half_speed"
title = "half-speed on the shore"
rise = -1.0
surface = "the sea shore"
"""


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


def test_the_file_goes_before_the_gallop(hands: Hands, tmp_path: Path) -> None:
    """What the file says of rise and surface stays; the rest is of the gallop to which such work mostly went."""
    own = tmp_path / "work.toml"
    own.write_text(OWN, encoding="utf-8")
    orders = read_settings(own).orders
    wanted = [orders[name] for name in ("fast_3f", "fast_5f", "half_speed", "shore", "off")]
    before = order_parts(moments.now(), wanted)
    assert {part.surface for part in before["fast_5f"]} == {""}
    gallop = Gallop.objects.create(name="Furze Hill", surface="woodchip", length_m=1000, rise_m=30)
    for back in (1, 2):
        for exercise in ("fast", "half_speed"):
            enter("exercise", only(1)[0], hands.back(days=back), exercise=exercise, gallop=gallop.pk)
    found = order_parts(moments.now(), wanted)
    at_pace = {name: parts[-1] for name, parts in found.items() if parts}
    assert (at_pace["fast_3f"].rise_m, at_pace["fast_3f"].surface) == (pytest.approx(0.02 * 603.5, abs=0.1), "woodchip")
    assert at_pace["fast_5f"].rise_m == pytest.approx(0.03 * at_pace["fast_5f"].metres)
    assert at_pace["half_speed"].surface == "woodchip"
    assert (at_pace["shore"].rise_m < 0, at_pace["shore"].surface) == (True, "the sea shore")
    assert not any(part.rise_m or part.surface for part in found["fast_3f"][:-1])
    assert found["off"] == ()
    assert parts_value(found, "fast_3f")[0] == {"metres": 2500.0, "speed_ms": 1.8, "rise_m": 0.0, "surface": ""}
