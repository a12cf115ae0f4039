"""`upsides read`: what stands in files of trackers and heart monitors, and what was done by them."""

import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.recordings.formats.csv import Shape
    from upsides.recordings.measured import Piece
    from upsides.recordings.opening import Opened
    from upsides.recordings.summary import Summary

STDIN = "-"


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option(
    "--shape",
    "shapes",
    multiple=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="Shape of a table (TOML) that is tried before the others; may be given again.",
)
@click.option("--propose", is_flag=True, help="Print a draft of a shape for one FILE, a table that none is known for.")
@library_option
@json_option
@click.pass_context
def read(
    ctx: click.Context,
    files: tuple[str, ...],
    shapes: tuple[Path, ...],
    propose: bool,  # noqa: FBT001 -- an option
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Say what each FILE holds: FIT, GPX, TCX, NMEA or a table, packed or not; `-` is what is piped in.

    No library is needed; where there is one, its heights of the ground and its own shapes of tables are used.
    """
    if propose:
        _propose(files, as_json=as_json)
        return
    from upsides.books.recordings.reading import own_shapes
    from upsides.recordings.formats.csv import load_shape

    known = [*(load_shape(one) for one in shapes), *own_shapes(library)]
    told: list[dict[str, Any]] = []
    good = 0
    for one in _summaries(files, known, library):
        good += one.fixes > 0
        told.append(_as_value(one))
        if not as_json:
            click.echo("\n".join(_as_lines(one)), err=one.format is None)
        elif one.format is None:
            click.echo(one.messages[0], err=True)
    if as_json:
        answer(True, told[0] if len(told) == 1 else told, [])
    ctx.exit(0 if good else 1)


def _propose(files: tuple[str, ...], *, as_json: bool) -> None:
    """Print the draft of a shape, which can be saved as it stands."""
    from upsides.recordings.formats.csv import propose as drafted
    from upsides.recordings.opening import LIMITS

    if len(files) > 1:
        raise click.UsageError("A shape is proposed for one table at a time: name one FILE.")
    file = files[0]
    try:
        with click.open_file(file, "rb") as stream:
            data = stream.read(LIMITS.total + 1)
    except OSError as error:
        raise click.UsageError(f"{file}: it cannot be opened ({error.strerror}).") from error
    draft = drafted(data, file)
    answer(
        as_json,
        {"shape": draft},
        [f"# Save this as THIS.toml and look it over; then: upsides read {file} --shape THIS.toml", draft],
    )


def _summaries(files: tuple[str, ...], shapes: "list[Shape]", library: Path) -> "Iterator[Summary]":
    from upsides.books.recordings.reading import tile_about
    from upsides.recordings.summary import Summary, summary

    for file in files:
        try:
            for opened in _opened(file, shapes):
                yield summary(opened, lambda recording: tile_about(library, recording))
        except Exception as error:  # noqa: BLE001 -- one file that the program stumbles over must not hide the others
            slip = f"{type(error).__name__}: {error}"
            yield Summary(file, messages=(f"{file}: the program made a mistake of its own reading it ({slip})",))


def _opened(file: str, shapes: "list[Shape]") -> "Iterator[Opened]":
    from upsides.errors import RecordingRefusedError
    from upsides.recordings.opening import LIMITS, Opened, open_bytes, read_all

    if file == STDIN:
        yield from open_bytes(sys.stdin.buffer.read(LIMITS.total + 1), STDIN, shapes=shapes)
        return
    path = Path(file)
    if path.exists() and not path.is_file():
        what = "it is a folder" if path.is_dir() else "it is no file but a device or a pipe"
        remedy = "name the files in it" if path.is_dir() else "name a file, or - for what is piped in"
        yield Opened(file, error=RecordingRefusedError(file, what, remedy))
        return
    yield from read_all([path], shapes=shapes)


def _as_value(one: "Summary") -> dict[str, Any]:
    return {
        "file": one.file,
        "format": one.format,
        "fixes": one.fixes,
        "with_position": one.with_position,
        "with_heart": one.with_heart,
        "distance_m": _rounded(one.distance_m, 1),
        "duration_s": _rounded(one.duration_s, 3),
        "longest_gap_s": _rounded(one.longest_gap_s, 3),
        "bouts": [_bout(bout) for bout in one.bouts],
        "heart": one.heart,
        "messages": list(one.messages),
    }


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)


def _bout(bout: "Piece") -> dict[str, Any]:
    return {
        "kind": bout.kind,
        "start": datetime.fromtimestamp(bout.start_s, UTC).isoformat(timespec="seconds"),
        "metres": _rounded(bout.metres, 1),
        "seconds": _rounded(bout.seconds, 3),
        "best_furlong_s": _rounded(bout.best[1].seconds, 2) if 1 in bout.best else None,
    }


def _as_lines(one: "Summary") -> list[str]:
    if one.format is None:
        return list(one.messages)
    first = f"{one.file}: {one.format.upper()}, {_count(one.fixes, 'fix', 'fixes')}"
    first += f", {one.with_position:,} with a place, {one.with_heart:,} with a heart rate"
    gone = [f"{one.distance_m / 1000:.2f} km"] if one.distance_m is not None else []
    if one.duration_s is not None:
        gone.append(f"{_long(one.duration_s)}, the longest gap {_long(one.longest_gap_s or 0.0)}")
    lines = [first, *([f"  {' in '.join(gone)}"] if gone else [])]
    if one.heart is not None:
        most = f"{one.heart['max']:.0f} at most" if one.heart["max"] is not None else "the highest not told"
        lines.append(f"  heart {one.heart['mean']:.0f} on average, {most}, {one.heart['kept']:.0%} of the rates kept")
    return [*lines, *(_bout_line(bout) for bout in one.bouts), *(f"  {text}" for text in one.messages)]


def _bout_line(bout: "Piece") -> str:
    best = f"   best furlong {_took(bout.best[1].seconds, bout.best[1].sd_s)}" if 1 in bout.best else ""
    at = datetime.fromtimestamp(bout.start_s, UTC)
    return f"  {at:%H:%M:%S} UTC  {bout.kind:<6} {_long(bout.seconds):>12}  {bout.metres:>6,.0f} m{best}"


def _took(seconds: float, sd_s: float) -> str:
    """Return a time with its error, as many digits as that needs."""
    from upsides.recordings.work import LEAST_SD, decimals

    places = decimals(sd_s)
    return f"{seconds:.{places}f} s ± {max(sd_s, LEAST_SD):.{places}f}"


def _long(seconds: float) -> str:
    if seconds < 60:
        return f"{seconds:.0f} s"
    minutes, rest = divmod(round(seconds), 60)
    if minutes < 60:
        return f"{minutes} min {rest} s"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min" if hours < 48 else f"{hours / 24:.0f} days"


def _count(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"
