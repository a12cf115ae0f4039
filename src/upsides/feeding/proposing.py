"""A ration that meets energy and forage, as near as can be to what the horse gets now.

    minimise   |x - x0|^2
    such that  e'x = E,  f'x >= F,  d'x <= D,  x >= 0

with x and x0 kg a day of each feed, to be and now; e MJ a kg, f forage's dry matter, d dry matter; E energy needed, F
forage to give, D what a horse can eat. Supplements stay as they are. It is least distance programming, solved by
non-negative least squares (Lawson and Hanson 1974, Solving Least Squares Problems, chapter 23).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.errors import FeedingRefusedError, RationUnmetError
from upsides.errors.wording import gettext as _
from upsides.feeding.checking import checked
from upsides.feeding.defaults import Defaults
from upsides.feeding.energy import energy_needed
from upsides.feeding.feed import Feed, Serving, check_servings, listed
from upsides.feeding.ration import Ration, ration
from upsides.feeding.reach import Wanted, check_reach, reach

Vector = NDArray[np.float64]

GRAIN: Final = 1e-9
"""kg; less of a feed than this is none of it."""


@dataclass(frozen=True, slots=True)
class Change:
    """One feed, kg a day as fed: now, and as proposed."""

    feed: str
    now: float
    then: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """A ration proposed.

    Attributes:
        changes: every feed that is given now or then.
        ration: what the proposal comes to.
        adds_feeds: whether the feeds given now could not meet it, so that others came in.
    """

    changes: tuple[Change, ...]
    ration: Ration
    adds_feeds: bool


def propose(
    now: Iterable[Serving],
    feeds: Iterable[Feed],
    mass: float,
    work: str,
    given: Defaults,
    *,
    times: Sequence[str] = (),
    forage_percent: float | None = None,
) -> Proposal:
    """Return the nearest ration that meets energy exactly, with forage at or above what is wanted.

    Feeds that the horse gets now are tried first; others come in only where those cannot meet it. A feed keeps its
    split over the feed times; one that comes in is given in equal parts at `times`, or at those of the ration now.

    Args:
        now: what is given now; may be empty.
        feeds: the feeds at hand.
        mass: body mass, kg.
        work: one of `energy.WORKS`.
        given: figures from the rules.
        times: the yard's feed times.
        forage_percent: forage to give, % of body mass as dry matter, where a yard wants other than the rules.

    Raises:
        FeedingRefusedError, FeedUnknownError: a figure cannot be right, or a feed is not on the list.
        RationUnmetError: no amounts of these feeds can meet it.
    """
    servings, known = tuple(now), listed(feeds)
    check_servings(servings, known)
    split = tuple(times) or tuple(dict.fromkeys(serving.time for serving in servings))
    if not split:
        raise FeedingRefusedError(
            _("feed times"), _("none"), _("nothing says when to feed"), _("name the yard's feed times")
        )
    wanted = _wanted(servings, known, mass, work, given, forage_percent)
    movable = [feed for feed in known.values() if feed.kind != "supplement"]
    fed = {serving.feed for serving in servings if serving.kg >= GRAIN}
    own = [feed for feed in movable if feed.name in fed]
    adds = not (own and reach(own, wanted).holds)
    if adds:
        check_reach(movable, wanted)
    amounts = _amounts(movable if adds else own, servings, wanted)
    then = _spread(amounts, servings, known, split)
    return Proposal(_changes(servings, then), ration(then, known.values(), mass, work, given), adds)


def _wanted(
    now: Sequence[Serving], feeds: dict[str, Feed], mass: float, work: str, given: Defaults, forage: float | None
) -> Wanted:
    """Return what is left to meet when supplements stay as they are."""
    energy = energy_needed(mass, work, given).mj
    percent = given.forage_wanted.value
    if forage is not None:
        percent = checked(
            _("forage to give"), forage, given.forage_least.value, given.appetite.value, _("% of body mass")
        )
    kept = [serving for serving in now if feeds[serving.feed].kind == "supplement"]
    return Wanted(
        energy=energy - sum(serving.kg * feeds[serving.feed].energy for serving in kept),
        forage=percent * mass / 100,
        most=given.appetite.value * mass / 100 - sum(serving.kg * feeds[serving.feed].dry_matter for serving in kept),
    )


def _amounts(feeds: Sequence[Feed], now: Sequence[Serving], wanted: Wanted) -> dict[str, float]:
    x0 = np.array([sum(s.kg for s in now if s.feed == feed.name and s.kg >= GRAIN) for feed in feeds])
    e = np.array([feed.energy for feed in feeds])
    d = np.array([feed.dry_matter for feed in feeds])
    f = np.array([feed.dry_matter if feed.kind == "forage" else 0.0 for feed in feeds])
    G = np.vstack([e, -e, f, -d, np.eye(len(feeds))])
    h = np.array([wanted.energy, -wanted.energy, wanted.forage, -wanted.most, *np.zeros(len(feeds))])
    x = x0 + least_distance(G, h - G @ x0)
    x[x < GRAIN] = 0.0
    return dict(zip((feed.name for feed in feeds), x.tolist(), strict=True))


def least_distance(G: Vector, h: Vector) -> Vector:
    """Return the shortest y with G y >= h (Lawson and Hanson 1974, chapter 23, problem LDP).

    Args:
        G: (m, n).
        h: (m,).

    Raises:
        RationUnmetError: there is none.
    """
    from scipy.optimize import nnls

    size = np.linalg.norm(np.column_stack([G, h]), axis=1)
    G, h = G / size[:, None], h / size
    E = np.vstack([G.T, h])
    target = np.append(np.zeros(G.shape[1]), 1.0)
    u, _residual = nnls(E, target)
    r = E @ u - target
    if -r[-1] < 1e-9:
        raise RationUnmetError(_("no amounts are left that meet all of it"), _("give other feeds to choose from"))
    return np.asarray(-r[:-1] / r[-1])


def _spread(
    amounts: dict[str, float], now: Sequence[Serving], feeds: dict[str, Feed], times: Sequence[str]
) -> tuple[Serving, ...]:
    """Return servings: each feed split over the day as now, a feed that comes in evenly, supplements as they are."""
    found = [serving for serving in now if feeds[serving.feed].kind == "supplement"]
    for name, kg in amounts.items():
        before = {serving.time: serving.kg for serving in now if serving.feed == name and serving.kg >= GRAIN}
        shares = before or dict.fromkeys(times, 1.0)
        if kg > 0:
            found += [Serving(time, name, kg * part / sum(shares.values())) for time, part in shares.items()]
    order = {time: place for place, time in enumerate(dict.fromkeys([*times, *(s.time for s in found)]))}
    return tuple(sorted(found, key=lambda serving: order[serving.time]))


def _changes(now: Sequence[Serving], then: Sequence[Serving]) -> tuple[Change, ...]:
    names = dict.fromkeys(serving.feed for serving in (*now, *then))
    return tuple(
        Change(name, *(sum(s.kg for s in servings if s.feed == name) for servings in (now, then))) for name in names
    )
