"""What is thought of a trip, in sentences: the answer first."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.text import capfirst, get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.queries.trips import Trip
from upsides.web.trip.words import KINDS, PIECES, in_a_hundred, trip_words, way_words

WORTH_SAYING: Final = 0.25
"""Furlongs below which a move is none to speak of."""

_SAYS: Final[Mapping[str, Sequence[str | Promise]]] = {
    "family": (
        gettext_lazy("bred to sprint"),
        gettext_lazy("bred for seven furlongs to a mile"),
        gettext_lazy("bred for middle distances"),
        gettext_lazy("bred to stay"),
    ),
    "gene": (
        gettext_lazy("by its gene a sprinter"),
        gettext_lazy("by its gene one for seven furlongs to a mile"),
        gettext_lazy("by its gene one for middle distances"),
        gettext_lazy("by its gene a stayer"),
    ),
    "shape": (
        gettext_lazy("made like a sprinter"),
        gettext_lazy("made like one for seven furlongs to a mile"),
        gettext_lazy("made for middle distances"),
        gettext_lazy("made like a stayer"),
    ),
    "entries": (
        gettext_lazy("entered like a sprinter"),
        gettext_lazy("entered like one for seven furlongs to a mile"),
        gettext_lazy("entered over middle distances"),
        gettext_lazy("entered like a stayer"),
    ),
    "runs": (
        gettext_lazy("runs like a sprinter"),
        gettext_lazy("runs like one for seven furlongs to a mile"),
        gettext_lazy("runs like one for middle distances"),
        gettext_lazy("runs like a stayer"),
    ),
    "measures": (
        gettext_lazy("works like a sprinter"),
        gettext_lazy("works like one for seven furlongs to a mile"),
        gettext_lazy("works like one for middle distances"),
        gettext_lazy("works like a stayer"),
    ),
}
"""What each piece says, by the kind that it points at."""


def about_trip(trip: Trip) -> str:
    """Return what kind of horse it is, its best trip and between which that lies: the answer."""
    told = {
        "kind": KINDS[trip.kind],
        "chance": in_a_hundred(trip.chance),
        "best": trip_words(trip.best),
        "low": trip_words(trip.low),
        "high": trip_words(trip.high),
    }
    if told["low"] == told["high"]:
        return _("%(kind)s, %(chance)s in 100; best at %(best)s, give or take little.") % told
    return _("%(kind)s, %(chance)s in 100; best at %(best)s, between %(low)s and %(high)s.") % told


def about_range(trip: Trip, kinds: Mapping[str, float]) -> str:
    """Return how the picture is read, how sure the answer is, and what else the horse may be."""
    told = {"low": trip_words(trip.lowest), "high": trip_words(trip.highest)}
    sure = (
        _(
            "How likely each distance is its best. The inner band holds it one time in two, the outer one, %(low)s to "
            "%(high)s, nine times in ten."
        )
        % told
    )
    others = [
        _("%(kind)s %(chance)s in 100") % {"kind": str(KINDS[kind]).lower(), "chance": in_a_hundred(chance)}
        for kind, chance in kinds.items()
        if kind != trip.kind and chance >= 0.05
    ]
    if not others:
        return sure
    other = _("Other kinds: %(others)s.") % {"others": ", ".join(others)}
    return f"{sure} {other}"


def about_curve(trip: Trip) -> str:
    """Return what the picture shows, for those who cannot see it."""
    told = {
        "best": trip_words(trip.best),
        "low": trip_words(trip.low),
        "high": trip_words(trip.high),
        "lowest": trip_words(trip.lowest),
        "highest": trip_words(trip.highest),
    }
    return (
        _(
            "How likely each distance is its best: highest about %(best)s, one time in two between %(low)s and "
            "%(high)s, nine times in ten between %(lowest)s and %(highest)s."
        )
        % told
    )


def rests_on(available: Sequence[str], left_out: Sequence[str], runs: int) -> str:
    """Return what the answer rests on."""
    used = [piece for piece in available if piece not in left_out]
    if "runs" not in used:
        used = [piece for piece in used if piece != "sections"]  # how it finished tells only with its runs
    told: dict[str, object] = {"pieces": _listed(used), "left": _listed(left_out), "count": runs}
    if left_out and used:
        return _("Without %(left)s; it rests on %(pieces)s.") % told
    if not used:
        return _("It rests on nothing but what such horses usually are.")
    if "runs" not in used:
        return _("It has no run that the figures know; this rests on %(pieces)s.") % told
    told["pieces"] = _listed([piece for piece in used if piece != "runs"])
    return ngettext("It rests on %(count)s run, %(pieces)s.", "It rests on %(count)s runs, %(pieces)s.", runs) % told


def _listed(pieces: Sequence[str]) -> str:
    return get_text_list([str(PIECES[piece]) for piece in pieces], _("and"))


def moved(pull: float) -> str:
    """Return which way a piece moved the answer, and by how much."""
    told = {"way": way_words(pull)}
    if not told["way"]:
        return _("hardly moved it")
    return _("moved it %(way)s shorter") % told if pull < 0 else _("moved it %(way)s longer") % told


def narrows(information: float) -> str:
    """Return what a piece did to the width of the range that holds nine times in ten."""
    told = {"way": way_words(information)}
    if not told["way"]:
        return _("leaves the range as wide")
    return _("narrows the range by %(way)s") % told if information > 0 else _("widens the range by %(way)s") % told


def disagreement(value: Mapping[str, str], kinds: Sequence[str]) -> str:
    """Return that two pieces point at different trips: Bred to stay, runs like a sprinter."""
    pair = [(value["longer"], value["longer_kind"]), (value["shorter"], value["shorter_kind"])]
    pair.sort(key=lambda one: list(_SAYS).index(one[0]))
    first, second = (str(_SAYS[piece][kinds.index(kind)]) for piece, kind in pair)
    return _("%(first)s, %(second)s.") % {"first": capfirst(first), "second": second}


def try_next(value: Mapping[str, Any]) -> str:
    """Return what something would tell on average."""
    told = {"way": way_words(value["narrows_furlongs"]), "trip": trip_words(value["furlongs"] or 0.0)}
    if value["what"] == "gene":
        return _("A test of its own gene would narrow the range by %(way)s on average.") % told
    return _("A run over %(trip)s would narrow the range by %(way)s on average.") % told


def expected(value: Mapping[str, float]) -> str:
    """Return what the horse is expected to run to over a trip."""
    told = {
        "trip": trip_words(value["furlongs"]),
        "figure": round(value["figure_lb"]),
        "low": round(value["low_lb"]),
        "high": round(value["high_lb"]),
    }
    return (
        _("Over %(trip)s it is expected to run to %(figure)s\u00a0lb, four times in five between %(low)s and %(high)s.")
        % told
    )
