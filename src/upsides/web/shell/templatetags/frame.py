"""What the frame of every page says of itself: its language, its day, the moment that it looks from."""

from datetime import date
from typing import Any

from django import template
from django.template.context import Context
from django.utils.translation import get_language, to_locale

from upsides.books import clock
from upsides.charts.theme import DARK, LIGHT
from upsides.web.shell.templatetags.components import looks_back

register = template.Library()


@register.simple_tag
def language() -> str:
    """Return the language of the page as HTML writes it, e.g. en-GB."""
    return to_locale(get_language() or "en-gb").replace("_", "-")


@register.simple_tag(takes_context=True)
def today(context: Context) -> date:
    """Return the yard's day, also on a page that looks at an earlier one."""
    moment = context.get("moment")
    return clock.today() if moment is None or looks_back(context) else moment.day


@register.simple_tag
def paper(scheme: str) -> str:
    """Return the colour of the page, for what the browser paints around it."""
    return (DARK if scheme == "dark" else LIGHT).paper


@register.inclusion_tag("shell/components/moment_banner.html", takes_context=True)
def moment_banner(context: Context) -> dict[str, Any]:
    """Say so above a page that looks at an earlier moment, with the way back to now."""
    if not looks_back(context):
        return {}
    rest = context["request"].GET.copy()
    rest.pop("as_of", None)
    address = context["request"].path + (f"?{rest.urlencode()}" if rest else "")
    return {"at": context["moment"].at, "now": address, "yard": context.get("yard")}
