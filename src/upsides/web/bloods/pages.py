"""What the page of a horse's blood samples shows."""

from collections.abc import Mapping
from typing import Any, Final
from uuid import uuid4

from upsides.books.diary.vet import Bloods
from upsides.books.models import Horse
from upsides.books.queries import names
from upsides.books.queries.bloods import samples_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.web.bloods.forms import offered_rows, typed_rows
from upsides.web.bloods.sentences import about_bloods, offering
from upsides.web.bloods.table import lines

MOST: Final = 5
"""Samples that stand side by side; earlier ones are listed below."""


def bloods_page(
    horse: Horse, moment: Moment, who: Visitor, typed: Mapping[str, str] | None = None, wrong: str = ""
) -> dict[str, Any]:
    """Return the page of a horse's samples; what was typed and refused stands in the form again."""
    samples = samples_of(horse.pk, moment, who)
    last = samples[0] if samples else None
    return {
        "moment": moment,
        "horse": horse,
        "sentence": about_bloods(horse.name, samples),
        "samples": samples[:MOST],
        "earlier": samples[MOST:],
        "lines": lines(samples[:MOST]),
        "may_add": bool(who.roles & Bloods.by),
        "rows": typed_rows(typed) if typed else offered_rows(last.results if last else ()),
        "offering": offering(last) if last and not typed else "",
        "laboratories": names.lists(moment).things.get("laboratory", []),
        "laboratory": typed.get("laboratory", "") if typed else last.laboratory if last else "",
        "client_id": uuid4(),
        "typed": typed or {},
        "wrong": wrong,
    }
