"""Options that most commands share, and how a command answers."""

import json
from collections.abc import Callable
from datetime import date, datetime
from math import isfinite
from pathlib import Path
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])

LIBRARY = Path("var/library")
FIRST, LAST = date(1700, 1, 1), date(2200, 12, 31)
"""Days that can be asked for: racing is no older, and a day to come lies within a planner's sight."""
_AS_JSON = "upsides.json"


def library_option(command: Command) -> Command:
    """Add `--library FOLDER`."""
    return click.option(
        "--library",
        type=click.Path(path_type=Path, file_okay=False),
        default=LIBRARY,
        envvar="UPSIDES_LIBRARY",
        show_default=True,
        help="Folder of the library of results.",
    )(command)


def json_option(command: Command) -> Command:
    """Add `--json`, and remember the wish for whoever has to report an error."""
    return click.option("--json", "as_json", is_flag=True, is_eager=True, callback=_remember, help="Answer as JSON.")(
        command
    )


def _remember(ctx: click.Context, _param: click.Parameter, value: bool) -> bool:  # noqa: FBT001 -- click passes it
    ctx.meta[_AS_JSON] = value
    return value


def wants_json(ctx: click.Context) -> bool:
    """Return whether the command run under `ctx` was asked to answer as JSON."""
    return bool(ctx.meta.get(_AS_JSON, False))


class Day(click.ParamType[date]):
    """A day written 2003-01-31."""

    name = "date"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Read the day, or fail in words."""
        if isinstance(value, date):
            return value
        try:
            day = datetime.strptime(str(value), "%Y-%m-%d").date()  # noqa: DTZ007 -- a racing date has no zone
        except ValueError:
            self.fail(f"{value!r} is not a day; write it like 2003-01-31", param, ctx)
        if not FIRST <= day <= LAST:
            self.fail(f"{value!r} is too far away; give a day from {FIRST} to {LAST}", param, ctx)
        return day


def answer(as_json: bool, value: dict[str, Any] | list[dict[str, Any]], lines: list[str]) -> None:  # noqa: FBT001 -- the option itself
    """Print `value` as JSON, or else `lines`."""
    click.echo(json.dumps(_plain(value), ensure_ascii=False, allow_nan=False) if as_json else "\n".join(lines))


def _plain(value: Any) -> Any:
    """Return `value` in what JSON has: days as 2003-01-31, a number that is not one as null."""
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and not isfinite(value):
        return None
    return str(value) if isinstance(value, date | Path) else value
