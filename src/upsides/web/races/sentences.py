"""The sentence that a race's page opens with."""

from typing import Any

from upsides.books.queries.races import Race
from upsides.web.shell.templatetags.words import by_lengths


def about_race(race: Race) -> str:
    """Return who won, by how far, and what the best run was worth."""
    placed = [run for run in race.runs if run["position"] is not None]
    if not placed:
        return "No finishing order is published for this race."
    winners = [run for run in placed if run["position"] == 1]
    names = " and ".join(str(run["horse_name"]) for run in winners)
    rest = [run["beaten_lengths"] for run in placed if run["position"] != 1 and run["beaten_lengths"] is not None]
    if len(winners) > 1:
        won = f"A dead heat between {names}"
    else:
        won = f"{names} won" + (f" by {by_lengths(min(rest))}" if rest else "")
    rated = [run for run in race.runs if run["figure_lb"] is not None]
    return f"{won}{_best(rated, winners)}."


def _best(rated: list[dict[str, Any]], winners: list[dict[str, Any]]) -> str:
    if not rated:
        return ""
    best = max(rated, key=lambda run: float(run["figure_lb"]))
    worth = f"{best['figure_lb']:.0f}\u00a0lb"
    if best in winners:
        return f", the best run of the race on our figures at {worth}"
    return f"; the best run on our figures was {best['horse_name']}'s, {worth}"
