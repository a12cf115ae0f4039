"""Entries of the diary, for templates."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django import template
from django.template.context import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString

from upsides.books.queries.diary import Written
from upsides.books.queries.names import Lists
from upsides.web.diary import scripts
from upsides.web.diary.forms import Filled
from upsides.web.shell.templatetags.components import day

register = template.Library()


@register.simple_tag(takes_context=True)
def at(context: Context, when: datetime) -> SafeString:
    """Show a moment as 06:10 on the day that the page is of, with the day before it otherwise."""
    moment = context.get("moment")
    if moment is not None and when.date() == moment.day:
        return format_html('<time datetime="{}">{}</time>', when.isoformat(timespec="minutes"), f"{when:%H:%M}")
    return day(context, when, "short")


@register.filter
def rows(one: Filled, lists: Lists | str | None) -> list[tuple[int, str, bool]]:
    """Return the rows that a field offers, out of the lists that the page has."""
    return one.rows(lists) if isinstance(lists, Lists) else []


@register.filter
def of(fields: Mapping[int, Any] | str | None, one: Written) -> Any:
    """Return the fields for correcting an entry, None where it is not to be corrected here."""
    return fields.get(one.entry.pk) if isinstance(fields, Mapping) else None


@register.simple_tag
def diary_script(name: str) -> str:
    """Return where one of the diary's scripts lies."""
    return scripts.address(name)


@register.simple_tag
def fresh_number() -> UUID:
    """Return a number for an entry, so that a form that is sent twice enters once."""
    return uuid4()
