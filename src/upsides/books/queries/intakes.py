"""Tables that were taken in, and what each brought."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count

from upsides.books.models import Intake, Job, Person
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment


@dataclass(frozen=True, slots=True)
class Brought:
    """One import.

    Args:
        intake: its row, as it stood.
        what: what its rows are, in words.
        by: who took it in.
        rows: entries or horses that came of it.
        told: what was counted while it was taken in; empty while it is not done.
        undone: what was counted while it was undone; empty where it was not.
    """

    intake: Intake
    what: str
    by: Person
    rows: int
    told: dict[str, Any]
    undone: dict[str, Any]


def brought(moment: Moment) -> list[Brought]:
    """Return the imports that had been begun, the latest first."""
    return _brought(list(moments.rows(Intake, moment).order_by("-at", "-id")), moment)


def one(number: int, moment: Moment) -> Brought | None:
    """Return one import, None where there is none."""
    return next(iter(_brought(list(moments.rows(Intake, moment).filter(id=number)), moment)), None)


def _brought(intakes: Sequence[Intake], moment: Moment) -> list[Brought]:
    found = Intake.objects.filter(pk__in=[intake.pk for intake in intakes])
    counted = dict(found.annotate(count=Count("rows")).values_list("pk", "count"))
    known = moments.people(moment, Person.objects.filter(pk__in=[intake.by_id for intake in intakes]))
    return [
        Brought(
            intake,
            str(Intake.What(intake.what).label),
            known[intake.by_id],
            intake.columns.get("told", {}).get("taken", counted.get(intake.pk, 0)),
            intake.columns.get("told", {}),
            intake.columns.get("undone", {}),
        )
        for intake in intakes
    ]


def same_file(sha256: str) -> list[Intake]:
    """Return the imports of a file that were not undone, the latest first."""
    return list(Intake.objects.filter(sha256=sha256, undone_at=None).select_related("by"))


def looked(job_kind: str, arguments: dict[str, Any]) -> Job | None:
    """Return the latest job that was asked for with some arguments, None where none was."""
    return next((job for job in Job.objects.filter(kind=job_kind) if job.arguments == arguments), None)


def of_import(job_kind: str, number: int) -> Job | None:
    """Return the latest job that worked on an import, None where none did."""
    return next((job for job in Job.objects.filter(kind=job_kind) if job.arguments.get("intake") == number), None)
