"""How much energy some feeds can give, when forage must be given and no more can be eaten than a horse eats."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from upsides.errors import RationUnmetError
from upsides.errors.wording import gettext as _
from upsides.feeding.feed import Feed

ROUNDING: Final = 1e-12
"""Relative; sums of floats are taken as equal so far."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What forage and concentrate have to meet in a day.

    Attributes:
        energy: MJ.
        forage: kg of forage's dry matter, at least.
        most: kg of dry matter, at most.
    """

    energy: float
    forage: float
    most: float


@dataclass(frozen=True, slots=True)
class Reach:
    """MJ a day that feeds can give.

    Attributes:
        low: with the forage that must be given and nothing else.
        high: with as much eaten as a horse eats.
        holds: whether what is wanted lies between, so that some amounts meet it.
    """

    low: float
    high: float
    holds: bool


def reach(feeds: Sequence[Feed], wanted: Wanted) -> Reach:
    """Return what feeds can give; nothing where there is no forage, or no room for it.

    With r MJ a kg of dry matter,

        low  = F min over forages of r
        high = F max over forages of r + (D - F) max over all feeds of r

    and everything between can be given too, because the rations that meet the rest are a convex set.
    """
    forages = [feed.energy / feed.dry_matter for feed in feeds if feed.kind == "forage"]
    if not forages or wanted.forage > wanted.most:
        return Reach(0.0, 0.0, holds=False)
    low = wanted.forage * min(forages)
    best = max(feed.energy / feed.dry_matter for feed in feeds)
    high = wanted.forage * max(forages) + (wanted.most - wanted.forage) * best
    slack = ROUNDING * high
    return Reach(low, high, holds=low - slack <= wanted.energy <= high + slack)


def check_reach(feeds: Sequence[Feed], wanted: Wanted) -> None:
    """Refuse feeds that cannot meet what is wanted.

    Raises:
        RationUnmetError: they cannot, and why.
    """
    if not any(feed.kind == "forage" for feed in feeds):
        raise RationUnmetError(_("there is no forage among them"), _("add a forage"))
    if wanted.forage > wanted.most:
        room = _("{most:.1f} kg of dry matter", most=max(wanted.most, 0.0))
        reason = _(
            "supplements leave room for {room} and forage needs {forage:.1f} kg", room=room, forage=wanted.forage
        )
        raise RationUnmetError(reason, _("look at the amounts of the supplements"))
    can = reach(feeds, wanted)
    if can.holds:
        return
    if wanted.energy < can.low:
        raise RationUnmetError(
            _(
                "the least forage alone gives {low:.1f} MJ where {energy:.1f} MJ are wanted",
                low=can.low,
                energy=wanted.energy,
            ),
            _("choose a forage with less energy, or ask the vet or a nutritionist how little forage it may have"),
        )
    raise RationUnmetError(
        _(
            "they give {high:.1f} MJ in {most:.1f} kg of dry matter, the most that is eaten, where {energy:.1f} MJ "
            "are wanted",
            high=can.high,
            most=wanted.most,
            energy=wanted.energy,
        ),
        _("add a feed with more energy a kg"),
    )
