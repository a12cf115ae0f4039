"""`upsides trip`: which trip one horse wants, why, what it would do over another, and what would tell more."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown

if TYPE_CHECKING:
    from upsides.ratings.fits import Fit
    from upsides.results.library import Library
    from upsides.trip.model import TripModel

NAMED = {
    "family": "its family",
    "gene": "the gene",
    "shape": "its shape",
    "entries": "where people have run it",
    "runs": "its runs",
    "sections": "how it finished",
    "measures": "its speed in work and what riders said",
}
WANTS = {
    "sprinter": "to sprint",
    "seven-furlong-to-miler": "seven furlongs to a mile",
    "middle distance": "a middle distance",
    "stayer": "to stay",
}


class Trip(click.ParamType[float]):
    """A distance written 6f, 1m2f or 1200m, as furlongs."""

    name = "distance"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read the distance, or fail in words."""
        from upsides.errors import UpsidesError
        from upsides.trade.distance import Distance

        if isinstance(value, float):
            return value
        try:
            return float(Distance.parse(str(value)).furlongs)
        except UpsidesError as error:
            self.fail(str(error), param, ctx)


@click.command()
@click.argument("horse")
@click.option("--as-of", type=Day(), help="As known that morning: results before that day.")
@click.option("--what-if", type=Trip(), multiple=True, help="A trip to say an expected figure for; may be repeated.")
@click.option("--without", multiple=True, metavar="PIECE", help="Leave a piece of evidence out; may be repeated.")
@click.option("--gene", type=click.Choice(["C/C", "C/T", "T/T"]), help="What the horse was tested as.")
@library_option
@json_option
def trip(
    horse: str, as_of: date | None, what_if: tuple[float, ...], without: tuple[str, ...], gene: str | None,
    library: Path, as_json: bool,  # noqa: FBT001 -- an option
) -> None:  # fmt: skip
    """Say which trip HORSE wants: a name, a name with its suffix, or a source and its number (hk1997:3917)."""
    from upsides.results.identity import find
    from upsides.results.library import Library
    from upsides.trip.answer import answer as answered
    from upsides.trip.cases import Cases, Told, tested
    from upsides.trip.shape import unlearned

    opened = Library.open(library)
    found = find(opened, horse)
    fit, model = _models(opened, as_of)
    cases = Cases(model, fit.figures.lazy(), unlearned(model.given))
    about = opened.horses().collect()
    mine = about.filter(about["horse_key"] == found.key).unique("horse_key", keep="last")
    told = {found.key: Told(genotype=tested(gene, model.given) if gene else None)}
    case = cases.of(mine, told)[0]
    value = {"horse": found.key, "name": found.name or None, "as_of": str(model.as_of)}
    value |= answered(case, what_if=what_if, without=without) | {"notes": list(model.notes)}
    answer(as_json, value, _as_lines(value, asked=bool(what_if)))


def _models(library: "Library", as_of: date | None) -> "tuple[Fit, TripModel]":
    """Return the fit that answers and the model made from it, made on the spot where missing or stale."""
    from upsides.cli.rate import fitted
    from upsides.trip.fitting import add_model
    from upsides.trip.kept import has_model, read_model

    fit = fitted(library, as_of)
    if has_model(library.folder, fit.as_of):
        return fit, read_model(library.folder, fit.as_of)
    click.echo("What trips are has not been learned from these results yet; learning it.", err=True)
    with shown() as line:
        return fit, add_model(library, fit, progress=line)


def _as_lines(value: dict[str, Any], *, asked: bool) -> list[str]:
    kinds = value["kinds"]
    kind = max(kinds, key=lambda name: kinds[name])
    low, high = value["range50"]
    widest = value["range90"]
    lines = [
        f"{value['name'] or value['horse']}, as of {value['as_of']}: {kind}, {100 * kinds[kind]:.0f} in 100; best at "
        f"{value['best_furlongs']:.1f}f, as likely as not between {low:.1f}f and {high:.1f}f, nine times in ten "
        f"between {widest[0]:.1f}f and {widest[1]:.1f}f, from {_runs(value['runs'])}.",
        "Chances: " + ", ".join(f"{name} {100 * chance:.0f} in 100" for name, chance in kinds.items()) + ".",
    ]
    if value["without"]:
        lines.append("Left out: " + ", ".join(NAMED[piece] for piece in value["without"]) + ".")
    lines += [_disagree(d) for d in value["disagreements"][:2]]
    if value["family"] is not None:
        lines.append(_family(value["family"]))
    if value["evidence"]:
        lines.append("What moved it, in furlongs, with everything else there:")
        lines += [
            f"  {NAMED[e['name']]:<26} {e['pull_furlongs']:>+5.1f}   {_narrows(e['information'])}"
            for e in value["evidence"]
        ]
    lines.append("Expected figure, lb, four times in five:" if not asked else "Over the trip asked for, lb:")
    lines += [
        f"  {w['furlongs']:>5.3g}f {w['figure_lb']:>5.0f}   {w['low_lb']:.0f} to {w['high_lb']:.0f}"
        for w in value["what_if"]
    ]
    told = [n for n in value["next_best"] if n["narrows_furlongs"] >= 0.05][:3]
    if told:
        lines.append("What would tell most:")
        lines += [f"  {_next(n)}: narrows the range by {n['narrows_furlongs']:.1f} furlongs on average" for n in told]
    return [*lines, *value["notes"]]


def _family(f: dict[str, float]) -> str:
    return (
        f"Its relatives ran {f['kin_runs']} times and tell {f['reliability_trip']:.0%} of what it inherits as to "
        f"trip; by them it is {f['sprint_lb']:+.0f} lb over six furlongs, {f['stay_lb']:+.0f} over nine, against the "
        "usual horse."
    )


def _runs(count: int) -> str:
    return {0: "no run of its own", 1: "one run"}.get(count, f"{count} runs")


def _disagree(d: dict[str, str]) -> str:
    return (
        f"{NAMED[d['longer']].capitalize()} says {WANTS[d['longer_kind']]}, "
        f"{NAMED[d['shorter']]} says {WANTS[d['shorter_kind']]}."
    )


def _narrows(information: float) -> str:
    if abs(information) < 0.05:
        return "and leaves the range as wide"
    return f"and {'narrows' if information > 0 else 'widens'} the range by {abs(information):.1f}"


def _next(n: dict[str, Any]) -> str:
    others = {"gene": "a test of the gene", "shape": "its shape scored"}
    return f"a run over {n['furlongs']:g}f" if n["what"] == "run" else others[n["what"]]
