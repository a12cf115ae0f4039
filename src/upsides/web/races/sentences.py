"""The sentence that a race's page opens with."""

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _

from upsides.books.queries.races import Race
from upsides.results.by_hand import is_by_hand
from upsides.web.shell.templatetags.words import by_lengths


def about_race(race: Race) -> str:
    """Return who won, by how far, and what the best run was worth."""
    placed = [run for run in race.runs if run["position"] is not None]
    if not placed:
        return _("No finishing order is published for this race.")
    winners = [run for run in placed if run["position"] == 1]
    sentences = [_won(winners, placed)]
    rated = [run for run in race.runs if run["figure_lb"] is not None]
    if rated:
        sentences.append(_best(rated, winners))
    return " ".join(sentences)


def _won(winners: Sequence[dict[str, Any]], placed: Sequence[dict[str, Any]]) -> str:
    if not winners:
        return _("No winner is published for this race.")
    names = [str(run["horse_name"]) for run in winners]
    if len(names) > 1:
        told = {"horses": ", ".join(names[:-1]), "last": names[-1]}
        return _("A dead heat between %(horses)s and %(last)s.") % told
    behind = [
        run for run in placed if run["position"] == 2 or (run["position"] != 1 and not is_by_hand(run["race_key"]))
    ]
    rest = [run["beaten_lengths"] for run in behind if run["beaten_lengths"] is not None]
    if not rest:
        return _("%(horse)s won.") % {"horse": names[0]}
    return _("%(horse)s won by %(lengths)s.") % {"horse": names[0], "lengths": by_lengths(min(rest))}


def _best(rated: Sequence[dict[str, Any]], winners: Sequence[dict[str, Any]]) -> str:
    best = max(rated, key=lambda run: float(run["figure_lb"]))
    told = {"horse": best["horse_name"], "figure": f"{best['figure_lb']:.0f}"}
    if best in winners:
        return _("That was the best run of the race on our figures, %(figure)s\u00a0lb.") % told
    return _("The best run on our figures was that of %(horse)s, %(figure)s\u00a0lb.") % told
