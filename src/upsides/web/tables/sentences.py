"""Tables in words."""

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.intake.checking import Counts
from upsides.books.intake.specs import Column
from upsides.books.models import Intake, Job
from upsides.books.queries.intakes import Brought
from upsides.books.services.intakes import Undone


def about_tables(brought: Sequence[Brought]) -> str:
    """Return how many tables were taken in."""
    standing = [one for one in brought if one.intake.undone_at is None]
    if not brought:
        return _("No table has been taken in yet.")
    told = {"number": len(standing), "rows": f"{sum(one.rows for one in standing):,}"}
    words = ngettext(
        "%(number)s table stands in the books; it brought %(rows)s entries or horses.",
        "%(number)s tables stand in the books; they brought %(rows)s entries or horses.",
        len(standing),
    )
    return words % told


def about_read(lacking: Sequence[Column], counts: Counts | None, job: Job | None) -> str:
    """Return what can be done with a table as its columns are chosen."""
    if lacking:
        names = ", ".join(str(column.label).lower() for column in lacking)
        return _("Say first where this stands: %(names)s.") % {"names": names}
    if counts is None:
        if job is not None and job.state in {Job.State.WAITING, Job.State.RUNNING}:
            return _("All its rows are being looked at.")
        return _("The table is long. Have all its rows looked at before any is taken.")
    return " ".join(_counted(counts))


def _counted(counts: Counts) -> list[str]:
    told = {"fine": f"{counts.fine:,}", "rows": f"{counts.rows:,}"}
    said = [_("%(fine)s of %(rows)s rows can be taken.") % told]
    if not counts.refused and counts.fine == counts.rows:
        said = [ngettext("The row can be taken.", "All %(rows)s rows can be taken.", counts.rows) % told]
    if counts.already:
        words = ngettext(
            "%(number)s entry is in the books already and is not doubled.",
            "%(number)s entries are in the books already and are not doubled.",
            counts.already,
        )
        said.append(words % {"number": f"{counts.already:,}"})
    if counts.refused:
        words = ngettext("%(number)s row cannot be taken.", "%(number)s rows cannot be taken.", counts.refused)
        said.append(words % {"number": f"{counts.refused:,}"})
    return said


def taken_words(counts: Counts) -> str:
    """Return what was taken in."""
    words = ngettext("%(taken)s was taken in.", "%(taken)s were taken in.", counts.taken)
    said = words % {"taken": f"{counts.taken:,}"}
    if not counts.refused:
        return said
    left = ngettext("%(number)s row was left out.", "%(number)s rows were left out.", counts.refused)
    return f"{said} {left % {'number': f'{counts.refused:,}'}}"


def undone_words(done: Undone) -> str:
    """Return what was undone."""
    told = {"withdrawn": f"{done.withdrawn:,}", "removed": f"{done.removed:,}", "kept": f"{done.kept:,}"}
    if done.kept:
        return _("Undone: %(withdrawn)s entries withdrawn, %(removed)s horses taken out; %(kept)s stay.") % told
    return _("Undone: %(withdrawn)s entries withdrawn, %(removed)s horses taken out.") % told


def about_one(one: Brought, job: Job | None) -> str:
    """Return what became of an import."""
    if one.undone:
        undone = one.undone
        return undone_words(Undone(undone["withdrawn"], undone["removed"], kept=undone["kept"]))
    if job is not None and job.state in {Job.State.WAITING, Job.State.RUNNING}:
        if job.arguments.get("do") == "undo":
            return _("It is being undone.")
        return _("It is being taken in; what stands so far is whole.")
    if not one.told:
        words = ngettext(
            "It was stopped before its end; %(rows)s entry or horse of it stands.",
            "It was stopped before its end; %(rows)s entries and horses of it stand.",
            one.rows,
        )
        return words % {"rows": f"{one.rows:,}"}
    return _brought(one.rows, one.told)


def _brought(rows: int, told: dict[str, Any]) -> str:
    said = ngettext("It brought %(rows)s entry or horse.", "It brought %(rows)s entries or horses.", rows)
    parts = [said % {"rows": f"{rows:,}"}]
    if told["already"]:
        words = ngettext(
            "%(number)s was in the books already.", "%(number)s were in the books already.", told["already"]
        )
        parts.append(words % {"number": f"{told['already']:,}"})
    if told["refused"]:
        words = ngettext("%(number)s row was left out.", "%(number)s rows were left out.", told["refused"])
        parts.append(words % {"number": f"{told['refused']:,}"})
    return " ".join(parts)


def title(intake: Intake) -> str:
    """Return what an import is called."""
    return _("%(what)s from %(file)s") % {"what": str(Intake.What(intake.what).label).capitalize(), "file": intake.file}
