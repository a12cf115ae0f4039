"""`upsides evaluate`: judge chances and trips by a walk through later races, each from what was known before it."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown

if TYPE_CHECKING:
    from upsides.results.library import Library


@click.command()
@click.option("--from", "first", type=Day(), required=True, help="First day judged.")
@click.option("--to", "last", type=Day(), help="Last day judged, default the last there is.")
@click.option("--as-of", type=Day(), help="As known that morning: results before that day.")
@click.option("--source", help="Only races of this source; trips are judged on all sources together.")
@click.option("--trips/--no-trips", default=True, help="Whether horses that try a new distance are judged too.")
@click.option(
    "--placing/--no-placing", default=True, help="Whether chances from before riders are known are judged too."
)
@library_option
@json_option
def evaluate(
    first: date,
    last: date | None,
    as_of: date | None,
    source: str | None,
    trips: bool,  # noqa: FBT001 -- an option
    placing: bool,  # noqa: FBT001 -- an option
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Walk forward through the races: how good chances and trips were, and what each term and piece was worth."""
    import polars as pl

    from upsides.ratings.evaluation import evaluate as judge
    from upsides.results.library import Library

    opened = Library.open(library)
    races, runs = opened.races(as_of).collect(), opened.runs(as_of).collect()
    if source is not None:
        races, runs = races.filter(pl.col("source") == source), runs.filter(pl.col("source") == source)
    with shown() as line:
        found = judge(races, runs, first, last, progress=line)
    from upsides.placing.chance.judging import judge as judge_placing
    from upsides.trip.judging import judge as judge_trips

    found["trips"] = _judged(judge_trips, opened, first, last or as_of) if trips else None
    found["placing"] = _judged(judge_placing, opened, first, last or as_of) if placing else None
    answer(as_json, found, _as_lines(found) + _trip_lines(found["trips"]) + _placing_lines(found["placing"]))


def _judged(
    judge: Callable[..., dict[str, Any]], library: "Library", first: date, last: date | None
) -> dict[str, Any] | None:
    """Return what judging found; None, and a word why, where too little can be foretold."""
    from upsides.errors import CannotFitError

    try:
        with shown() as line:
            return judge(library, first, last, progress=line)
    except CannotFitError as refused:
        click.echo(str(refused), err=True)
        return None


def _placing_lines(found: dict[str, Any] | None) -> list[str]:
    if found is None:
        return []
    tops = {name: bands[-1] for name, bands in found["calibration"].items()}
    words = {"win": "wins", "place": "first three", "first_four": "first four"}
    return [
        f"Placing, {found['races']:,} races from before riders are known: pseudo-R2 {found['pseudo_r2']:.4f} "
        f"(standard error {found['pseudo_r2_se']:.4f}).",
        "Of the tenth of runners with the best chances: "
        + "; ".join(
            f"{words[name]} {top['predicted']:.0%} foretold, {top['observed']:.0%} came" for name, top in tops.items()
        )
        + ".",
        "What each piece is worth there (pseudo-R2 lost without it):",
        *(
            f"  {piece['worth']:+.4f} (standard error {piece['worth_se']:.4f})  {piece['name']}: {_verdict(piece)}"
            for piece in found["pieces"]
        ),
        *_field_lines(found["fields"]),
    ]


def _field_lines(found: dict[str, Any] | None) -> list[str]:
    """Say how good the fields were that were expected before there were entries."""
    lines = []
    for name, unit in (("size", "runners"), ("level", "lb")):
        one = (found or {}).get(name)
        if one:
            lines.append(
                f"The {name} of fields to expect, {one['races']:,} races: {one['inside']:.0%} inside the range for "
                f"four in five, {one['below']:.0%} below, {one['above']:.0%} above; what ran differed by "
                f"{one['off']:+.2f} {unit} on average (standard error {one['off_se']:.2f})."
            )
    return lines


def _trip_lines(found: dict[str, Any] | None) -> list[str]:
    if found is None:
        return []
    power, controls = found["power"], found["controls"]
    lines = [
        f"Trips. 97 % of {power['runs']:,} runs asked {power['low_furlongs']:.1f} to {power['high_furlongs']:.1f} "
        f"furlongs; {power['sires_of_ten']} of {power['sires']} sires have ten runners or more.",
        f"{found['tries']} horses tried a new distance: figures missed by {found['rms_error_lb']:.2f} lb, "
        f"{found['within80']:.0%} inside the range for four in five; the level alone misses by "
        f"{found['level_rms_error_lb']:.2f} lb. Squared error lower by {_signed(found, 'better_than_level')} lb².",
        "What each piece is worth there (squared error without it less with it, lb²):",
        *(
            f"  {_signed(piece, 'worth')}  {piece['name']}, {piece['tries']} horses: {_verdict(piece)}"
            for piece in found["pieces"]
        ),
    ]
    if controls:
        lines += [
            f"After the worst tenth of runs {controls['after_bad']:.0%} changed trip, after the best "
            f"{controls['after_good']:.0%}. Changers then improved by {controls['changed_lb']:.1f} lb, as badly beaten "
            f"horses that stayed by {controls['stayed_lb']:.1f}: the change itself brought "
            f"{controls['difference_lb']:+.1f} (standard error {controls['se_lb']:.1f})."
        ]
    return lines


def _signed(found: dict[str, Any], name: str) -> str:
    return f"{found[name]:+.2f} (standard error {found[f'{name}_se']:.2f})"


def _verdict(piece: dict[str, Any]) -> str:
    """Say what later results support."""
    if piece["worth"] > 2.0 * piece["worth_se"]:
        return "it helps"
    return "it does not help" if piece["worth"] < -2.0 * piece["worth_se"] else "these races cannot tell"


def _as_lines(found: dict[str, Any]) -> list[str]:
    market = found["market_pseudo_r2"]
    compared = f"the market's is {market:.4f}" if market is not None else "the table has no market prices to compare"
    lines = [
        f"{found['races']:,} races from {found['from']} to {found['to']}, each judged from what was known before it.",
        f"Pseudo-R2 {found['pseudo_r2']:.4f} (standard error {found['pseudo_r2_se']:.4f}); {compared}. "
        f"Log-loss a race {found['log_loss']:.4f}, equal chances {found['log_loss_uniform']:.4f}.",
        "Chance of winning, in ten bands of as many runners each:",
        "  predicted  observed  runners",
        *(f"  {b['predicted']:>9.1%}  {b['observed']:>8.1%}  {b['count']:>7,}" for b in found["calibration"]),
        "What each group of terms is worth (pseudo-R2 lost without it):",
    ]
    ordered = sorted(found["terms"], key=lambda term: -term["worth"])
    return lines + [
        f"  {term['worth']:+.4f} (standard error {term['worth_se']:.4f})  {term['term'].replace('_', ' ')}"
        for term in ordered
    ]
