"""What each exercise order is, part by part, in words."""

from django.utils.translation import gettext as _

from upsides.books.queries.plan_values import OrderShown
from upsides.web.recordings import measures as m
from upsides.web.shell.templatetags.words import surface

LEAST_RISE_M = 0.5


def parts_words(order: OrderShown) -> list[str]:
    """Return the parts of an order in words; none where it covers no distance."""
    return [_part(*part) for part in order.parts]


def _part(metres: float, speed_ms: float, rise_m: float, on: str) -> str:
    told = [_("%(metres)s at %(speed)s") % {"metres": m.place(metres), "speed": m.speed(speed_ms)}]
    if abs(rise_m) >= LEAST_RISE_M:
        text = _("rising %(rise)s\u00a0m") if rise_m > 0 else _("falling %(rise)s\u00a0m")
        told.append(text % {"rise": m.decimal(abs(rise_m), 0)})
    if on:
        told.append(_("on %(surface)s") % {"surface": surface(on)})
    return ", ".join(told)
