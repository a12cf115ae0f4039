"""Parts of the pages about people: where one can go from there."""

from typing import Any

from django import template
from django.template.context import Context
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from upsides.web.shell.access import may_open

register = template.Library()

WAYS = (
    ("people", _("Everybody")),
    ("person_new", _("Enter a person")),
    ("released", _("Released")),
    ("looked", _("Who looked")),
    ("barn_phones", _("Barn phones")),
    ("staff", _("Working hours")),
    ("yard", _("The yard")),
)


@register.simple_tag(takes_context=True)
def ways(context: Context) -> list[tuple[str, Promise, bool]]:
    """Return the pages beside this one that the visitor may open: name, words, whether this is it."""
    match = context["request"].resolver_match
    return [(name, words, name == match.url_name) for name, words in WAYS if may_see(context, name)]


@register.simple_tag(takes_context=True)
def may_see(context: Context, name: str) -> bool:
    """Return whether the visitor may open a page."""
    who: Any = context["visitor"]
    return may_open(name, who.roles)
