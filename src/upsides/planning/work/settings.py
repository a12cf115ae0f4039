"""Reading the routine: the shipped file, a yard's own laid over it key by key."""

import tomllib
from collections.abc import Collection, Mapping
from importlib.resources import files
from math import isfinite
from pathlib import Path
from typing import Any, Final

from upsides.condition.done.exercises import exercises
from upsides.condition.done.usual import Usual, usual
from upsides.errors import WorkRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.work.orders import Order, Orders
from upsides.planning.work.routine import PARTS, Limit, Mornings, OfHorse, Parts, Routine, Settings, Stage, Trainer

Table = Mapping[str, Any]

COMPANY: Final = ("alone", "upsides", "either")
ROLES: Final = ("quiet", "easy", "work", "second")


NOWHERE: Final[Mapping[str, int]] = {}

LIMITS: Final = frozenset({"gap", "rest", "limit"})
"""What the trainer may set for all horses, and for one."""


def read_settings(
    own: Path | None = None, comes_to: Usual | None = None, gallops: Mapping[str, int] = NOWHERE
) -> Settings:
    """Return orders, prices and routines.

    Args:
        own: a yard's file; what stands in it goes before the shipped one.
        comes_to: what exercises come to in this yard; None for what they usually come to.
        gallops: numbers of the gallops that exercises fill, for orders of which no file names one.

    Raises:
        WorkRefusedError: a file cannot be read, or a value in it cannot be.
    """
    shipped = files("upsides.planning").joinpath("data", "work.toml").read_text(encoding="utf-8")
    found = tomllib.loads(shipped)
    if own is not None:
        found = _over(found, _opened(own))
    orders = _orders(found, comes_to or usual(exercises()), gallops)
    prices = _prices(_table(found, "price"))
    recovery = tuple(
        sorted(
            (_number("recovery", "up_to_m", one), int(_number("recovery", "days", one))) for one in found["recovery"]
        )
    )
    kinds = {name: _kind(found, name, orders, recovery) for name in _table(found, "kind")}
    natures = {name: _nature(name, one) for name, one in found.get("nature", {}).items()}
    set_ = _table(found, "trainer")
    horses = {name: _horse(name, row, kinds, natures, set_) for name, row in found.get("horse", {}).items()}
    barns = {name: _turn(name, row) for name, row in found.get("barn", {}).items()}
    return Settings(orders, prices, kinds, natures, _trainer(set_), _mornings(_table(found, "mornings")), horses, barns)


def _opened(path: Path) -> Table:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as trouble:
        raise WorkRefusedError("routine", path, str(trouble), _("lay it out as the shipped file")) from None


def _over(below: Table, above: Table) -> dict[str, Any]:
    """Return tables laid over each other; lists and values are replaced whole."""
    both = (key for key in above if isinstance(below.get(key), Mapping) and isinstance(above[key], Mapping))
    return {**below, **above, **{key: _over(below[key], above[key]) for key in both}}


def _table(found: Table, name: str) -> Table:
    table = found.get(name)
    if not isinstance(table, Mapping):
        raise WorkRefusedError("routine", name, _("this table is missing"), _("lay it out as the shipped file"))
    return table


def _like(table: Table, name: str, seen: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return a row with what it takes from the row that it is like."""
    row = table.get(name)
    if not isinstance(row, Mapping) or name in seen:
        raise WorkRefusedError("like", name, _("there is nothing to be like, or it is like itself"), _("name another"))
    return {**(_like(table, str(row["like"]), (*seen, name)) if "like" in row else {}), **row}


def _number(field: str, key: str, row: Table, low: float = 0.0) -> float:
    value = row.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value) or value < low:
        raise WorkRefusedError(
            f"{field}, {key}", value, _("it is no number from {low:g} on", low=low), _("correct it in the routine")
        )
    return float(value)


def _trainer(table: Table) -> Trainer:
    """Return the hard limits that the trainer set."""
    gap, rest = int(_number("trainer", "gap", table, 1.0)), int(_number("trainer", "rest", table))
    rows = table.get("limit", [])
    limits = (
        Limit(
            _number("limit", "from_ms", row), int(_number("limit", "days", row, 1.0)), _number("limit", "metres", row)
        )
        for row in rows
    )
    return Trainer(gap, rest, tuple(limits))


def _mornings(table: Table) -> Mornings:
    share = _number("mornings", "fast_share", table)
    if share > 1:
        raise WorkRefusedError(
            _("mornings, fast_share"), share, _("it is more than the whole string"), _("give 0 to 1")
        )
    spread = table.get("spread", True)
    if not isinstance(spread, bool):
        raise WorkRefusedError(_("mornings, spread"), spread, _("it is neither"), _("say true or false"))
    return Mornings(share, int(_number("mornings", "rides_each", table, 1.0)), spread)


def _turn(name: str, row: Table) -> int:
    """Return which of the weeks of a stage is meant, 0 for the first."""
    if not isinstance(row, Mapping) or set(row) - {"mornings"}:
        raise WorkRefusedError(_("barn {name}", name=name), row, _("it says mornings"), _("say mornings = 1 or 2"))
    return int(_number(name, "mornings", row, 1.0)) - 1


def _prices(table: Table) -> Parts:
    if unknown := set(table) - set(PARTS):
        raise WorkRefusedError(
            "price", sorted(unknown)[0], _("there is no such departure"), _("name {parts}", parts=", ".join(PARTS))
        )
    return Parts(**{part: _number(_("price of {part}", part=part), "steps", table.get(part, {})) for part in PARTS})


def _orders(found: Table, comes_to: Usual, gallops: Mapping[str, int]) -> Orders:
    table = _table(found, "order")
    source = str(found.get("source", ""))
    orders = {name: _order(name, _like(table, name), source, comes_to, gallops) for name in table}
    if sum(one.lesson for one in orders.values()) != 1 or "race" not in orders:
        raise WorkRefusedError(
            "order", _("lesson, race"), _("one order is a lesson, and one is named race"), _("keep them")
        )
    return orders


def _order(name: str, row: Table, source: str, comes_to: Usual, gallops: Mapping[str, int]) -> Order:
    exercise = str(row.get("exercise"))
    if exercise not in comes_to.exercises:
        raise WorkRefusedError(
            _("exercise of {name}", name=name), exercise, _("it is not in the table of exercises"), _("name one of it")
        )
    furlongs = _number(name, "furlongs", row, 0.5) if "furlongs" in row else None
    flags = {key: bool(row.get(key, False)) for key in ("fast", "rest", "lesson", "ridden", "upsides", "told")}
    gallop = int(_number(name, "gallop", row)) if "gallop" in row else gallops.get(exercise)
    rise = _number(name, "rise", row, -20.0) if "rise" in row else 0.0
    return Order(
        name=name, title=str(row.get("title", name)), exercise=exercise, effort=int(_number(name, "effort", row)),
        furlongs=furlongs, rise=rise, surface=str(row.get("surface", "")), like=str(row.get("like", "")), gallop=gallop,
        source=str(row.get("source", source)), comes_to=comes_to, **flags,
    )  # fmt: skip


def _kind(found: Table, name: str, orders: Orders, recovery: tuple[tuple[float, int], ...]) -> Routine:
    row = _like(found["kind"], name)
    company = str(row.get("company", "either"))
    if company not in COMPANY:
        raise WorkRefusedError(
            _("company of {name}", name=name),
            company,
            _("no such word"),
            _("say {company}", company=", ".join(COMPANY)),
        )
    whole = {
        key: int(_number(name, key, row, low))
        for key, low in (("spacing", 1), ("last_fast", 1), ("sharp", 1), ("most_works", 0))
    }
    stages = tuple(_stage(name, one, str(found.get("source", ""))) for one in row.get("stage", ()))
    if not stages:
        raise WorkRefusedError(
            _("stages of {name}", name=name), "none", _("a kind has one stage at least"), _("add [[kind.NAME.stage]]")
        )
    before, after = (tuple(map(str, row.get(key, ()))) for key in ("before", "after"))
    parts = {key: str(row.get(key)) for key in ROLES}
    made = Routine(name, orders, parts, company, before=before, after=after, stages=stages, recovery=recovery, **whole)
    for word in (
        *ROLES,
        *before,
        *after,
        *(day for stage in stages for week in (stage.week, *stage.others) for day in week),
    ):
        made.order(word)
    return made


def _stage(kind: str, row: Table, source: str) -> Stage:
    name = f"{kind}, {row.get('name')}"
    week, *others = (_week(name, one) for one in (row.get("week", ()), *row.get("other_weeks", ())))
    within, back = (int(_number(name, key, row)) if key in row else None for key in ("within", "back"))
    return Stage(
        str(row.get("name")), within, back, week, _span(name, "fast", row), _span(name, "canter", row),
        str(row.get("source", source)), tuple(others),
    )  # fmt: skip


def _week(name: str, row: object) -> tuple[str, ...]:
    week = tuple(map(str, row)) if isinstance(row, list) else ()
    if len(week) != 7:
        raise WorkRefusedError(
            _("week of {name}", name=name), len(week), _("a week has seven days"), _("give an order for each")
        )
    return week


def _span(name: str, key: str, row: Table) -> tuple[float, float]:
    ends = row.get(key)
    if not isinstance(ends, list) or len(ends) != 2:
        raise WorkRefusedError(
            f"{name}, {key}", ends, _("it is no span"), _("give two numbers of furlongs, from and to")
        )
    low, high = (_number(name, key, {key: end}) for end in ends)
    if low > high:
        raise WorkRefusedError(f"{name}, {key}", ends, _("it ends before it begins"), _("turn the two numbers around"))
    return low, high


def _nature(name: str, row: Table) -> Mapping[str, str | int]:
    company = row.get("company", "either")
    if company not in COMPANY or set(row) - {"company", "most_works"}:
        raise WorkRefusedError(
            _("nature {name}", name=name),
            dict(row),
            _("it says company and most_works"),
            _("lay it out as the shipped"),
        )
    return {key: str(value) if key == "company" else int(_number(name, key, row)) for key, value in row.items()}


def _horse(name: str, row: object, kinds: Collection[str], natures: Collection[str], trainer: Table) -> OfHorse:
    """Return what a file says of a horse, whose kind and natures there must be; limits left out are as for all."""
    told: Table = row if isinstance(row, dict) else {"": row}
    if unknown := sorted(set(told) - {"kind", "natures", "mornings", *LIMITS}):
        raise WorkRefusedError(
            _("horse {name}", name=name),
            unknown[0],
            _("no such word"),
            _("say kind, natures, mornings, gap, rest or limit"),
        )
    kind, own = told.get("kind", ""), told.get("natures", [])
    if kind and kind not in kinds:
        raise WorkRefusedError(
            _("kind of {name}", name=name), kind, _("there is no routine for it"),
            _("say {kinds}", kinds=", ".join(kinds)),
        )  # fmt: skip
    if not isinstance(own, list) or any(one not in natures for one in own):
        raise WorkRefusedError(
            _("natures of {name}", name=name), own, _("the routine does not know it"),
            _("give a list of {natures}", natures=", ".join(natures)),
        )  # fmt: skip
    set_ = _trainer({**trainer, **told}) if LIMITS & set(told) else None
    mornings = int(_number(name, "mornings", told, 1.0)) - 1 if "mornings" in told else None
    return OfHorse(str(kind), tuple(own), set_, mornings)
