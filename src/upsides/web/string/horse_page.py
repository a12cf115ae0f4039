"""A horse's page, ready for its template."""

from typing import Any

from upsides.books.queries.horse import Shown
from upsides.web.races.sections import late_words, sections
from upsides.web.string.pictures import curves
from upsides.web.string.sentences import about_horse, who


def horse_page(shown: Shown) -> dict[str, Any]:
    """Return what the template needs."""
    return {
        "shown": shown,
        "who": who(shown.age, shown.horse),
        "sentence": about_horse(shown),
        "curves": curves(shown),
        "runs": [run | {"sections": sections(run), "late": late_words(run)} for run in shown.runs],
        "diary": shown.diary,
    }
