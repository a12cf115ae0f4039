"""Work on the yard's own tables: looking at all rows of a long one, taking it in, undoing an import."""

from typing import Any

from upsides.books.intake.checking import SHOWN, check, opened
from upsides.books.intake.proposing import Chosen
from upsides.books.jobs.running import Running
from upsides.books.models import Intake, Person
from upsides.books.services.intakes import take, undo
from upsides.errors import ColumnsError
from upsides.errors.wording import gettext as _


def table(running: Running) -> dict[str, Any]:
    """Do what the argument `do` says: check, take or undo.

    A look at a table writes nothing and begins anew after a worker's death. Of taking in, every lot of rows is one
    transaction together with the note that it is done; what stands when the job is stopped stays, and can be undone.

    Raises:
        ColumnsError: it says nothing that can be done.
    """
    asked = running.arguments
    match asked.get("do"):
        case "check":
            return _check(running)
        case "take":
            intake = Intake.objects.get(pk=asked["intake"])
            counts = take(intake, running.folder, running.progress, running.checkpoint, running.keep)
            return {"taken": counts.taken, "already": counts.already, "refused": counts.refused}
        case "undo":
            return _undo(running)
    raise ColumnsError(_("no table was named"), _("begin on the page of tables"))


def _check(running: Running) -> dict[str, Any]:
    asked = running.arguments
    one = opened(asked["sha256"], asked["what"], running.folder)
    counts = check(one, Chosen.of(asked["chosen"]), running.progress)
    return {
        "rows": counts.rows, "fine": counts.fine, "taken": counts.taken, "already": counts.already,
        "refused": counts.refused, "first": counts.first,
        "wrong": [
            one.as_kept() for one in counts.wrong[:SHOWN]
        ],
    }  # fmt: skip


def _undo(running: Running) -> dict[str, Any]:
    asked = running.arguments
    intake, by = Intake.objects.get(pk=asked["intake"]), Person.objects.get(pk=asked["by"])
    done = undo(intake, by, running.progress)
    return {"withdrawn": done.withdrawn, "removed": done.removed, "kept": done.kept}
