"""How good plans are, in sentences: by how many steps they depart, and what no plan comes to less than."""

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.plan_values import Planned, Proof


def steps(many: float) -> str:
    """Return how many steps: 1 step, 3.7 steps."""
    shown = round(many, 1) + 0.0
    text = ngettext("%(steps)s step", "%(steps)s steps", 1 if shown == 1 else 2)
    return text % {"steps": number_format(shown, 0 if shown == int(shown) else 1)}


def own_words(planned: Planned | None) -> list[str]:
    """Return by how much the plan of one horse departs; nothing where that was not kept."""
    if planned is None or planned.departs is None:
        return []
    told = {"name": planned.horse.name, "much": _much(planned.departs, planned.changed)}
    return [_("%(name)s departs by %(much)s.") % told]


def _much(departs: float, changed: float) -> str:
    """Return by how much from the routine, and from the plan that stood where it does."""
    if changed:
        return _("%(routine)s from the routine and by %(change)s from the plan before") % {
            "routine": steps(departs), "change": steps(changed),
        }  # fmt: skip
    return _("%(routine)s from the routine") % {"routine": steps(departs)}


def proof_words(proof: Proof) -> list[str]:
    """Return by how much the plans of the string depart, how good that is, and what a step is."""
    if proof.departs is None:
        return [_proof(proof)]
    much = _much(proof.departs, proof.changed)
    return [
        _("Over the whole string the plan departs by %(much)s.") % {"much": much},
        _proof(proof),
        _("A step is one day with an order one step of effort easier than the routine's."),
    ]


def _proof(proof: Proof) -> str:
    if proof.proven and proof.kept_to:
        return _(
            "No plan that keeps every limit changes fewer days of a plan that still holds, and of those that change as "
            "few none departs less from the routine, over the whole string."
        )
    if proof.proven:
        return _("No plan that keeps every limit departs less from the routine, over the whole string.")
    return _(
        "The search was stopped: over the whole string the plan departs by at most %(gap)s steps more than it must, "
        "and no plan comes to less than %(bound)s in all."
    ) % {"gap": number_format(proof.gap, 1), "bound": steps(proof.bound)}  # fmt: skip
