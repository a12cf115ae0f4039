"""The feed board of a barn: in walking order, what each horse gets at each feed time, changes marked."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.feeding.feed import Serving, check_servings

Mark = Literal["same", "new", "more", "less", "stopped", "not known"]

GRAIN: Final = 1e-9
"""kg; a smaller difference is none."""


@dataclass(frozen=True, slots=True)
class Place:
    """A horse in its box; the name of the box may be empty."""

    barn: str
    box: str
    horse: str


@dataclass(frozen=True, slots=True)
class Line:
    """One feed at one feed time.

    Attributes:
        feed: its name.
        kg: today, as fed; 0 where it was stopped.
        before: yesterday; None where nothing was written down for the horse.
        mark: what changed; "not known" where yesterday is not.
    """

    feed: str
    kg: float
    before: float | None
    mark: Mark


@dataclass(frozen=True, slots=True)
class Row:
    """One horse on the board.

    Attributes:
        place: where it stands.
        written: whether a ration is written down; without one nothing is said of what it gets.
        times: its lines by feed time, in the board's order; empty ones included.
        changed: whether anything is marked but "same".
    """

    place: Place
    written: bool
    times: tuple[tuple[Line, ...], ...]
    changed: bool


@dataclass(frozen=True, slots=True)
class Board:
    """A barn's board: feed times as heads, horses as rows in walking order."""

    times: tuple[str, ...]
    rows: tuple[Row, ...]


def board(
    places: Sequence[Place],
    times: Sequence[str],
    today: Mapping[str, Iterable[Serving]],
    yesterday: Mapping[str, Iterable[Serving]],
) -> Board:
    """Return the board.

    Args:
        places: the horses in walking order.
        times: the yard's feed times, in the order of the day.
        today: rations by horse; a horse that is not in them has none written down.
        yesterday: the same of the day before.

    Raises:
        FeedingRefusedError: a horse stands twice, or a ration names a feed time that the yard has not.
    """
    heads = tuple(dict.fromkeys(times))
    rows: dict[str, Row] = {}
    for place in places:
        if place.horse in rows:
            raise FeedingRefusedError(
                _("horse"), place.horse, _("it stands in two boxes"), _("move it to the one it is in")
            )
        rows[place.horse] = _row(place, heads, _servings(place, heads, today), _servings(place, heads, yesterday))
    return Board(heads, tuple(rows.values()))


def _servings(
    place: Place, times: tuple[str, ...], rations: Mapping[str, Iterable[Serving]]
) -> dict[tuple[str, str], float] | None:
    if place.horse not in rations:
        return None
    servings = tuple(rations[place.horse])
    check_servings(servings)
    for serving in servings:
        if serving.time not in times:
            reason, field = (
                _("the yard feeds at {times}", times=", ".join(times)),
                _("feed time of {horse}", horse=place.horse),
            )
            raise FeedingRefusedError(field, serving.time, reason, _("correct the ration, or add the feed time"))
    return {(serving.time, serving.feed): serving.kg for serving in servings if serving.kg > 0}


def _row(
    place: Place,
    times: tuple[str, ...],
    now: dict[tuple[str, str], float] | None,
    before: dict[tuple[str, str], float] | None,
) -> Row:
    if now is None:
        return Row(place, written=False, times=tuple(() for _ in times), changed=False)
    keys = dict.fromkeys([*now, *(before or {})])
    lines = tuple(tuple(_line(key, now, before) for key in keys if key[0] == time) for time in times)
    return Row(place, True, lines, any(line.mark not in {"same", "not known"} for cell in lines for line in cell))


def _line(key: tuple[str, str], now: dict[tuple[str, str], float], before: dict[tuple[str, str], float] | None) -> Line:
    kg = now.get(key, 0.0)
    if before is None:
        return Line(key[1], kg, None, "not known")
    was = before.get(key, 0.0)
    return Line(key[1], kg, was, _mark(kg, was))


def _mark(kg: float, was: float) -> Mark:
    if abs(kg - was) <= GRAIN:
        return "same"
    if not was:
        return "new"
    if not kg:
        return "stopped"
    return "more" if kg > was else "less"
