"""Whether what the rows say can be: constraints, the order of the diary, and the history of what changes."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.db import connection
from django.db.models import BooleanField, CharField, CheckConstraint, ExpressionWrapper, Model, Q
from django.db.models.functions import Length

from upsides.books import clock
from upsides.books.clock import SMALL_STEP
from upsides.books.keeping.check_database import kept_models
from upsides.books.keeping.findings import BRING_BACK, Finding, told
from upsides.books.models import Entry, LotNote, Yard

NOT_OF_THE_YARD = frozenset({"format_version"})
"""Fields that the program brings up by itself, without a row of history."""


def of_constraints() -> Iterator[Finding]:
    """Count rows that break a constraint of their table, or hold a text that is too long or a word not offered."""
    wrong = [words for model in kept_models() for words in (*_breaks(model), *_odd_texts(model))]
    yield told("rows", wrong, "Every row keeps to the rules of its table.", BRING_BACK)


def _breaks(model: type[Model]) -> Iterator[str]:
    for constraint in model._meta.constraints:
        if isinstance(constraint, CheckConstraint):
            holds = ExpressionWrapper(Q(constraint.condition), output_field=BooleanField())
            count = model._base_manager.annotate(_holds=holds).filter(_holds=False).count()
            if count:
                yield f"{count} rows of {model._meta.db_table} break {constraint.name}"


def _odd_texts(model: type[Model]) -> Iterator[str]:
    """Yield what SQLite takes and PostgreSQL would not, and words that a field does not offer."""
    for field in model._meta.concrete_fields:
        if not isinstance(field, CharField):
            continue
        rows = model._base_manager.exclude(**{f"{field.name}__isnull": True})
        if field.max_length and connection.vendor == "sqlite":
            long = rows.annotate(_long=Length(field.name)).filter(_long__gt=field.max_length).count()
            if long:
                yield f"{long} rows of {model._meta.db_table} hold a {field.name} longer than {field.max_length}"
        if field.flatchoices:
            offered = [word for word, _ in field.flatchoices] + [""] * field.blank
            odd = rows.exclude(**{f"{field.name}__in": offered}).count()
            if odd:
                yield f"{odd} rows of {model._meta.db_table} hold a {field.name} that is not offered"


def of_diary() -> Iterator[Finding]:
    """Follow every correction back to an entry that corrects none, and see that time never goes back."""
    count = Entry.objects.count()
    circle = _circles(dict(Entry.objects.filter(supersedes__isnull=False).values_list("pk", "supersedes_id")))
    wrong = [f"entry {pk} corrects itself in a circle" for pk in circle]
    notes = _circles(dict(LotNote.objects.filter(supersedes__isnull=False).values_list("pk", "supersedes_id")))
    wrong += [f"note {pk} about a lot corrects itself in a circle" for pk in notes]
    well = f"The diary holds {count:,} entries, and every correction leads back to an entry."
    yield told("diary", wrong, well, BRING_BACK)
    back = list(_steps_back())
    remedy = "If the clock was wrong then and is right now, accept it: upsides check --accept-clock."
    yield told("order", back, "Entries were recorded in the order of their numbers.", remedy)


def _circles(corrects: dict[int, int]) -> list[int]:
    """Return entries from which following corrections comes back to where it was."""
    ends: set[int] = set()
    for start in corrects:
        way: list[int] = []
        seen: set[int] = set()
        at = start
        while at in corrects and at not in ends:
            if at in seen:
                return [at]
            way.append(at)
            seen.add(at)
            at = corrects[at]
        ends.update(way)
    return []


def _steps_back() -> Iterator[str]:
    accepted = Yard.objects.values_list("clock_from_entry", flat=True).first() or 0
    latest: datetime | None = None
    rows = Entry.objects.filter(pk__gt=accepted).order_by("pk").values_list("pk", "recorded_at")
    for number, at in rows.iterator(chunk_size=5000):
        if latest is not None and at < latest:
            yield f"entry {number} was recorded at {at:%Y-%m-%d %H:%M} UTC, after one of {latest:%Y-%m-%d %H:%M} UTC"
        latest = at if latest is None else max(at, latest)


def of_clock() -> Iterator[Finding]:
    """Compare the clock with the last entry, as the next entry will be."""
    accepted, fixed = Yard.objects.values_list("clock_from_entry", "fixed_day").first() or (0, None)
    counted = Entry.objects.filter(pk__gt=accepted).order_by("-recorded_at")
    last, now = counted.values_list("recorded_at", flat=True).first(), clock.now()
    if last is None or fixed is not None or last - now <= SMALL_STEP:
        yield Finding("clock", True, f"The clock says {now:%Y-%m-%d %H:%M} UTC, and no entry is later.")
        return
    words = (
        f"The clock says {now:%Y-%m-%d %H:%M} UTC, but the last entry was recorded at {last:%Y-%m-%d %H:%M} UTC, so "
        "nothing can be entered. Set the clock; if it is right and was wrong then, accept it: "
        "upsides check --accept-clock."
    )
    yield Finding("clock", False, words)


def of_history() -> Iterator[Finding]:
    """See that the last row of each row's history is the row itself, or says that it was removed."""
    wrong = [words for model in kept_models() if hasattr(model, "history") for words in _differs(model)]
    well = "The history agrees with every row that changes."
    yield told("history", wrong, well, "Save these rows again: that writes the history anew.")


def _differs(model: Any) -> Iterator[str]:
    past = model.history.model
    names = [field.attname for field in past.tracked_fields if field.name not in NOT_OF_THE_YARD]
    last: dict[object, tuple[str, tuple[object, ...]]] = {}
    rows = past.objects.order_by("history_id").values_list(model._meta.pk.attname, "history_type", *names)
    for number, kind, *values in rows.iterator(chunk_size=5000):
        last[number] = (kind, tuple(values))
    table = model._meta.db_table
    for number, *now in model._base_manager.values_list("pk", *names).iterator(chunk_size=5000):
        kind, then = last.pop(number, ("", ()))
        if not kind or kind == "-":
            yield f"{table} row {number} has no history"
        elif then != tuple(now):
            yield f"{table} row {number} is not as its history says"
    yield from (
        f"{table} row {number} went without a word in its history" for number, (kind, _) in last.items() if kind != "-"
    )
