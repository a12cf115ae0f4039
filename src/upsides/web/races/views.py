"""A race."""

from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from upsides.books.queries.levels import Levels
from upsides.books.queries.races import race_with_figures
from upsides.web.races.sentences import about_race
from upsides.web.shell.fit import needs_fit


@needs_fit
def race(request: HttpRequest, levels: Levels, race_key: str) -> HttpResponse:
    """Show one race: who ran, where each finished, what each run was worth."""
    found = race_with_figures(settings.UPSIDES_LIBRARY, levels, race_key)
    if found is None:
        raise Http404(f"There is no race {race_key} in this library.")
    context: dict[str, Any] = {"race": found.race, "runs": found.runs, "as_of": levels.as_of}
    return render(request, "races/race.html", context | {"sentence": about_race(found)})
