"""`upsides work`: what a horse worked, by whichever clock, the last first."""

from dataclasses import dataclass
from datetime import timedelta
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.books.models import Horse
    from upsides.books.queries.moments import Moment
    from upsides.recordings.work import Split, Work

DAYS = 90
BRACKETS = "  In brackets: still jumping off, or pulling up already. It counts in the speed in part, or not at all."
BY = {"tracker": "tracker", "thumb": "stopwatch", "ordered": "not measured"}


@click.command()
@click.argument("horse")
@click.option(
    "--days", type=click.IntRange(1, 3650), default=DAYS, show_default=True, help="So many days back from today."
)
@library_option
@json_option
def work(horse: str, days: int, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """List the works of HORSE, a name of the yard's: trackers, stopwatch, and what was only ordered."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import clock
    from upsides.books.queries import moments
    from upsides.books.queries.works import worked

    moment, last = moments.now(), clock.today()
    first = last - timedelta(days=days - 1)
    found = named(horse, moment)
    works = worked(moment, found.pk, first, last)
    names = _Names.of(moment, works)
    value = {
        "horse": found.name, "first": first, "last": last, "works": [_as_value(one, names) for one in works],
    }  # fmt: skip
    answer(as_json, value, _as_lines(found.name, days, works, names))


def named(name: str, moment: "Moment", *, left: bool = False) -> "Horse":
    """Return a horse of the yard by its name.

    Args:
        name: as typed.
        moment: when to look from.
        left: also of those that have left; of two of one name the one that is here.

    Raises:
        YardHorseUnknownError: there is none of that name.
    """
    from difflib import get_close_matches

    from upsides.books.queries import moments
    from upsides.books.queries.finding import folded
    from upsides.errors import YardHorseUnknownError

    yard = {folded(one.name): one for one in moments.ever_in_the_yard(moment).order_by("joined", "pk")} if left else {}
    yard |= {folded(one.name): one for one in moments.in_the_yard(moment)}
    wanted = folded(name)
    if wanted in yard:
        return yard[wanted]
    near = [key for key in yard if wanted and wanted in key] or get_close_matches(wanted, yard)
    raise YardHorseUnknownError(name, [yard[key].name for key in near[:3]])


@dataclass(frozen=True, slots=True)
class _Names:
    """What numbers are called."""

    gallops: dict[int | None, str]
    horses: dict[int | None, str]
    people: dict[int | None, str]
    zone: Any

    @classmethod
    def of(cls, moment: "Moment", works: "list[Work]") -> "_Names":
        from upsides.books import clock
        from upsides.books.models import Gallop, Horse, Person
        from upsides.books.queries import moments

        riders = [work.rider for work in works if work.rider is not None]
        called = moments.people(moment, Person.objects.filter(pk__in=riders))
        return cls(
            moments.names(Gallop, moment, (work.gallop for work in works)),
            moments.names(Horse, moment, (number for work in works for number in work.beside)),
            {number: "" if one.erased_at else one.name for number, one in called.items()},
            clock.place().zone,
        )


def _as_value(one: "Work", names: _Names) -> dict[str, Any]:
    at = one.when.astimezone(names.zone)
    return {
        "day": at.date(),
        "when": one.when.isoformat(timespec="seconds") if one.source != "ordered" else None,
        "source": one.source,
        "exercise": one.exercise or None,
        "gallop": names.gallops.get(one.gallop) if one.gallop is not None else None,
        "forward": one.forward,
        "metres": one.metres,
        "told_m": one.far_m,
        "seconds": one.seconds,
        "speed_ms": one.speed_ms,
        "pace_ms": one.pace_ms,
        "speed_sd_ms": one.speed_sd_ms,
        "splits": [
            _split(split) | {"counts": round(count, 3)} for split, count in zip(one.splits, one.counts, strict=True)
        ],
        "instruction": one.instruction or None,
        "left": one.left or None,
        "rider": names.people.get(one.rider) if one.rider is not None else None,
        "rider_kg": one.rider_kg,
        "beside": [names.horses.get(number, "") for number in one.beside],
        "thumb_splits": [_split(split) for split in one.thumb.splits] if one.thumb is not None else [],
    }


def _split(one: "Split") -> dict[str, float]:
    return {"metres": one.metres, "seconds": one.seconds, "sd_s": one.sd_s}


def _as_lines(horse: str, days: int, works: "list[Work]", names: _Names) -> list[str]:
    if not works:
        return [f"{horse}: no work in the last {days} days."]
    count = "one piece" if len(works) == 1 else f"{len(works)} pieces"
    first = f"{horse}: {count} of work in the last {days} days, the last first."
    bracketed = any(share < 1.0 for one in works for share in one.counts)
    return [first, *(_line(one, names) for one in works), *([BRACKETS] if bracketed else [])]


def _line(one: "Work", names: _Names) -> str:
    at = one.when.astimezone(names.zone)
    when = f"{at:%Y-%m-%d %H:%M}" if one.source != "ordered" else f"{at:%Y-%m-%d}      "
    gallop = names.gallops.get(one.gallop, "") if one.gallop is not None else ""
    far = f"{one.far_m:,.0f} m" if isfinite(one.far_m) else ""
    pace = _pace(one.pace_ms, one.speed_sd_ms) if isfinite(one.pace_ms) else ""
    times = " ".join(
        f"{split.seconds:.1f}" if count == 1.0 else f"({split.seconds:.1f})"
        for split, count in zip(one.splits, one.counts, strict=True)
    )
    said = ", ".join(word.replace("_", " ") for word in (one.instruction or one.exercise, one.left) if word)
    parts = [f"  {when}  {gallop:<18} {far:>7}", pace, times, said, BY[one.source]]
    return "  ".join(part for part in parts if part)


def _pace(speed_ms: float, sd_ms: float) -> str:
    """Return a speed with its error, as many digits as that needs."""
    from upsides.recordings.work import LEAST_SD, decimals

    if not isfinite(sd_ms):
        return f"{speed_ms:.1f} m/s"
    places = decimals(sd_ms)
    return f"{speed_ms:.{places}f} ± {max(sd_ms, LEAST_SD):.{places}f} m/s"
