"""Parts that many pages are made of: a field, a table, a chart, a person, a day, and what holds only now.

- `{% field form.name %}`: a labelled field with its hint and what is wrong with it
- `{% table columns rows caption %}`: a table; on a phone a card a row
- `{% chart pictures spec_url caption %}`: a picture, drawn anew by the browser where there is an address
- `{% chart_scripts %}`: in the block `head` of a page that has charts
- `{% person p %}`: somebody's name, a link for those who may open it
- `{% day when %}`, `{% day when "short" %}`: a day, or a moment in the yard's own time
- `{% live %}…{% endlive %}`: what makes sense only now, left out of an earlier moment
- `{% as_of_form %}`: in the block `foot`: look at an earlier moment
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.forms.boundfield import BoundField
from django.template.context import Context
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.models import Person
from upsides.books.queries.moments import Moment
from upsides.web.shell.access import may_open

register = template.Library()

FORMATS = {"": "j F Y", "short": "j M y", "weekday": "D j F Y"}


@register.inclusion_tag("shell/components/field.html")
def field(bound: BoundField) -> dict[str, Any]:
    """Show a form's field: label, hint, control, errors; its own group where it holds several controls."""
    kind = getattr(bound.field.widget, "input_type", "")
    return {"field": bound, "tick": kind == "checkbox" and not bound.use_fieldset}


@register.inclusion_tag("shell/components/table.html")
def table(columns: Sequence[str | tuple[str, str]], rows: Sequence[Sequence[Any]], caption: str = "") -> dict[str, Any]:
    """Show a table whose first column names the row.

    Args:
        columns: the words above each column; a pair ("Weight, kg", "number") sets it flush right.
        rows: for each row a cell a column, in words or as safe HTML.
        caption: what the table holds, for those who come upon it out of its place.
    """
    heads = [(str(head), "") if not isinstance(head, tuple) else (str(head[0]), head[1]) for head in columns]
    return {"heads": heads, "rows": [list(zip(heads, row, strict=True)) for row in rows], "caption": caption}


@register.inclusion_tag("shell/components/chart.html")
def chart(pictures: SafeString | Mapping[str, SafeString], spec_url: str = "", caption: str = "") -> dict[str, Any]:
    """Show a picture drawn here; the browser draws it anew from its specification when it comes near the screen.

    Args:
        pictures: one SVG, or two under "wide" and "narrow".
        spec_url: address of the Vega-Lite specification as JSON, empty for a picture that stays as it is.
        caption: what it shows and how it is read.
    """
    drawn = pictures if isinstance(pictures, Mapping) else {"still": pictures}
    return {"drawn": drawn, "spec_url": spec_url, "caption": caption}


@register.inclusion_tag("shell/components/chart_scripts.html")
def chart_scripts() -> dict[str, Any]:
    """Load what draws charts; it waits for the first chart to come near the screen before it fetches more."""
    return {}


@register.simple_tag(takes_context=True)
def person(context: Context, somebody: Person | None) -> SafeString:
    """Show somebody's name, as a link where the visitor may open that page; say so where there is none."""
    if somebody is None or somebody.erased_at:
        words = _("name removed") if somebody else _("nobody")
        return format_html('<span class="soft">{}</span>', words)
    who = context.get("visitor")
    if who and may_open("person", who.roles):
        return format_html('<a href="{}">{}</a>', reverse("person", args=[somebody.pk]), somebody.name)
    return format_html("{}", somebody.name)


@register.simple_tag(takes_context=True)
def day(context: Context, when: date | None, style: str = "") -> SafeString:
    """Show a day as 3 May 2026, or a moment as 3 May 2026, 17:30 in the yard's own time; a dash for none.

    Args:
        context: the page's.
        when: a date, or a datetime with its zone.
        style: "" as above, "short" as 3 May 26 for columns, "weekday" as Sun 3 May 2026.
    """
    if when is None:
        return SafeString("–")
    local = when.astimezone(_zone(context)) if isinstance(when, datetime) else when
    words = date_format(local, FORMATS[style]).replace(" ", "\u00a0")
    exact = local.isoformat()
    if isinstance(local, datetime):
        words, exact = f"{words}, {local:%H:%M}", local.isoformat(timespec="minutes")
    return format_html('<time datetime="{}">{}</time>', exact, words)


def _zone(context: Context) -> ZoneInfo:
    yard = context.get("yard")
    return ZoneInfo(yard.zone) if yard else clock.place().zone


@register.simple_block_tag(takes_context=True)
def live(context: Context, content: str, tag: str = "div") -> str:
    """Keep what makes sense only now (buttons, forms) out of a page that looks at an earlier moment.

    Args:
        context: the page's; `moment` says when it looks from.
        content: what stands between the tags.
        tag: the element around it, "span" within a paragraph.
    """
    if looks_back(context):
        return ""
    return format_html('<{} class="live">{}</{}>', SafeString(tag), content, SafeString(tag))


@register.inclusion_tag("shell/components/as_of_form.html", takes_context=True)
def as_of_form(context: Context) -> dict[str, Any]:
    """Ask for the moment at which the books are to be looked at; what else the address says is kept."""
    request, moment = context["request"], context.get("moment")
    at = f"{moment.at.astimezone(_zone(context)):%Y-%m-%dT%H:%M}" if moment and moment.at else ""
    kept = [(name, value) for name, values in request.GET.lists() for value in values if name != "as_of"]
    return {"at": at, "kept": kept, "path": request.path}


def looks_back(context: Context) -> bool:
    """Return whether the page looks at an earlier moment."""
    moment: Moment | None = context.get("moment")
    return moment is not None and moment.at is not None
