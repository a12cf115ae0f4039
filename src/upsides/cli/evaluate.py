"""`upsides evaluate`: judge the chances by a walk through later races, each from what was known before it."""

from datetime import date
from pathlib import Path
from typing import Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown


@click.command()
@click.option("--from", "first", type=Day(), required=True, help="First day judged.")
@click.option("--to", "last", type=Day(), help="Last day judged, default the last there is.")
@click.option("--as-of", type=Day(), help="As known that morning: results before that day.")
@click.option("--source", help="Only races of this source.")
@library_option
@json_option
def evaluate(
    first: date,
    last: date | None,
    as_of: date | None,
    source: str | None,
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Walk forward through the races and say how good the chances were, and what each term was worth."""
    import polars as pl

    from upsides.ratings.evaluation import evaluate as judge
    from upsides.results.library import Library

    opened = Library.open(library)
    races, runs = opened.races(as_of).collect(), opened.runs(as_of).collect()
    if source is not None:
        races, runs = races.filter(pl.col("source") == source), runs.filter(pl.col("source") == source)
    with shown() as line:
        found = judge(races, runs, first, last, progress=line)
    answer(as_json, found, _as_lines(found))


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
