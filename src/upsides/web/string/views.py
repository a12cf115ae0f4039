"""The string and a horse."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from upsides.books.queries import string as reads
from upsides.books.queries.levels import Levels
from upsides.web.shell.fit import needs_fit
from upsides.web.string.pictures import curves, small_curve
from upsides.web.string.sentences import about_horse, about_string, between


@needs_fit
def string(request: HttpRequest, levels: Levels) -> HttpResponse:
    """Show the string, best level first."""
    listed = reads.string(settings.UPSIDES_LIBRARY, levels)
    if not listed:
        return render(request, "string/empty.html", {"library": settings.UPSIDES_LIBRARY})
    rows = [(one, one.level and between(one.level), small_curve(one)) for one in listed]
    context = {"sentence": about_string(listed), "rows": rows, "as_of": levels.as_of}
    return render(request, "string/string.html", context)


@needs_fit
def horse(request: HttpRequest, levels: Levels, number: int) -> HttpResponse:
    """Show one horse: what it is worth, its curve, its runs."""
    shown = reads.horse(settings.UPSIDES_LIBRARY, levels, number)
    if shown is None:
        raise Http404(f"There is no horse {number} in this string.")
    context = {"shown": shown, "sentence": about_horse(shown), "curves": curves(shown)}
    context |= {"runs": shown.runs.to_dicts(), "as_of": levels.as_of}
    return render(request, "string/horse.html", context)
