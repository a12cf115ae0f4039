"""Writes of the yard's own tables: begun, taken in some rows at a time, and undone as a whole."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from uuid import UUID, uuid5

from django.db import transaction

from upsides.books import clock
from upsides.books.intake.checking import Counts, Opened, Row, looked_at, opened, reading_of
from upsides.books.intake.proposing import Chosen
from upsides.books.intake.rows import Wrong
from upsides.books.models import Entry, Horse, Intake, Job, Person, Taken, Yard
from upsides.books.queries.visitors import visitor
from upsides.books.services.diary import MENDERS, Draft, record, withdraw
from upsides.books.services.horses import enter_horses
from upsides.errors import EntryNotYoursError, ImportBusyError, ImportUndoneError, NothingToTakeError, UpsidesError
from upsides.errors.wording import as_kept
from upsides.errors.wording import gettext as _

ROOT: Final = UUID("6f1d2f0e-7d0a-5b54-9c52-5d1f2a6f0c31")
"""The name space of numbers of entries that came of tables."""
JOB: Final = "table"
"""The kind of job that works on tables."""
MANY: Final = 200
REFERS: Final[Mapping[str, str]] = {
    "Entry": _("entries of the diary"),
    "Share": _("shares"),
    "Stand": _("the boxes that it stood in"),
    "Move": _("its moves"),
    "OfficialMark": _("its handicap marks"),
    "Engagement": _("its races"),
    "LetGo": _("races that were let go"),
    "Ration": _("its rations"),
}
"""What rows that refer to a horse are called."""
Progress = Callable[[float, str], None]
Keep = Callable[[Any], None]


def unheard(_share: float, _what: str) -> None:
    """Tell nobody."""


@dataclass(slots=True)
class Undone:
    """What became of an import that was undone.

    Args:
        withdrawn: entries that were withdrawn, now or before.
        removed: horses that were taken out.
        left: what could not be undone, and why; the first of it in words.
        kept: how many that were.
    """

    withdrawn: int = 0
    removed: int = 0
    left: list[str] | None = None
    kept: int = 0

    def leave(self, words: str) -> None:
        """Note something that stays."""
        self.kept += 1
        self.left = [*(self.left or []), words][:50]


def begin(one: Opened, chosen: Chosen, by: Person, counts: Counts | None = None) -> Intake:
    """Note that a table is taken in.

    Args:
        one: the table.
        chosen: which column says what.
        by: in whose name its entries are written.
        counts: what a look at all its rows found, where there was one.

    Raises:
        ColumnsError: the choice cannot be used.
        NothingToTakeError: there is nothing to take.
    """
    reading_of(one, chosen)
    if counts is not None and not counts.taken:
        raise NothingToTakeError(one.kept.name, counts.refused, counts.already)
    return Intake.objects.create(
        what=one.spec.what, file=one.kept.name, sha256=one.kept.sha256, columns=chosen.told(), by=by, at=clock.now()
    )


def take(
    intake: Intake, library: Path, progress: Progress = unheard, done: Any = None, keep: Keep = lambda _: None
) -> Counts:
    """Take in a table, two hundred rows at a time, each lot of them whole or not at all.

    Args:
        intake: as it was begun.
        library: folder of the library.
        progress: called with the share done and what is being done.
        done: what `keep` was last given, to go on from there.
        keep: called within the transaction of each lot of rows with what is done then.

    Returns:
        What became of the rows.

    Raises:
        TableGoneError: the file is no longer kept.
        ImportUndoneError: it was undone.
    """
    if intake.undone_at is not None:
        raise ImportUndoneError
    one = opened(intake.sha256, intake.what, library)
    reading = reading_of(one, Chosen.of(intake.columns))
    counts, after = _so_far(done)
    for some in looked_at(one, reading, after):
        with transaction.atomic():
            Yard.objects.select_for_update().first()
            refused = _written(intake, some, library)
            _count(counts, some, refused)
            keep({"line": some[-1].line, "counts": _told(counts)})
        progress(min(1.0, counts.rows / max(one.kept.rows, 1)), "rows taken in")
    _own_as_taken(counts, intake.rows.count())
    wrong = [one.as_kept() for one in counts.wrong[:50]]
    intake.columns = intake.columns | {"told": _told(counts) | {"wrong": wrong}}
    intake.save()
    return counts


def _own_as_taken(counts: Counts, rows: int) -> None:
    """Count as taken what an earlier try of the same import had written."""
    counts.already = max(0, counts.already - (rows - counts.taken))
    counts.taken = rows


def _so_far(done: Any) -> tuple[Counts, int]:
    if not done:
        return Counts(), 0
    return Counts(**done["counts"]), int(done["line"])


def _told(counts: Counts) -> dict[str, int]:
    names = ("rows", "fine", "taken", "already", "refused")
    return {name: getattr(counts, name) for name in names}


def _count(counts: Counts, some: Sequence[Row], refused: Mapping[int, Wrong]) -> None:
    """Count rows; those that the books refused only now count as wrong."""
    for row in some:
        counts.add(Row(row.line, row.cells, wrong=[refused[row.line]]) if row.line in refused else row)


def _written(intake: Intake, some: Sequence[Row], library: Path) -> dict[int, Wrong]:
    """Write what some rows say; return why some of them could not be."""
    earlier = Intake.objects.filter(sha256=intake.sha256, what=intake.what, pk__lt=intake.pk)
    turn = earlier.exclude(undone_at=None).count()
    refused = _entered(intake, [row for row in some if row.horse], library)
    made: list[Taken] = []
    for row in (row for row in some if row.said):
        try:
            made += [Taken(intake=intake, line=row.line, entry=entry) for entry in _recorded(intake, row, turn)]
        except UpsidesError as error:
            refused[row.line] = _refusal(row, error)
    Taken.objects.bulk_create(made)
    return refused


def _recorded(intake: Intake, row: Row, turn: int) -> list[Entry]:
    """Write the entries of one row, all or none."""
    if len(row.said) == 1:
        return [record(_draft(intake, row, 0, turn), intake.by)]
    with transaction.atomic():
        return [record(_draft(intake, row, place, turn), intake.by) for place in range(len(row.said))]


def _entered(intake: Intake, rows: Sequence[Row], library: Path) -> dict[int, Wrong]:
    """Enter the horses of some rows, all that came on a day at once; one by one where one of them is refused."""
    refused: dict[int, Wrong] = {}
    for joined in dict.fromkeys(row.horse.joined for row in rows if row.horse):
        group = [row for row in rows if row.horse and row.horse.joined == joined]
        try:
            _enter(intake, group, library)
        except UpsidesError as error:
            if len(group) == 1:
                refused[group[0].line] = _refusal(group[0], error)
                continue
            for row in group:
                refused |= _entered(intake, [row], library)
    return refused


@transaction.atomic
def _enter(intake: Intake, group: Sequence[Row], library: Path) -> None:
    horses = [row.horse for row in group if row.horse]
    made = enter_horses([one.described for one in horses], horses[0].joined, library)
    for row, one, horse in zip(group, horses, made, strict=True):
        if one.more:
            for name, value in one.more.items():
                setattr(horse, name, value)
            horse.save()
        Taken.objects.create(intake=intake, line=row.line, horse=horse)


def _refusal(row: Row, error: UpsidesError) -> Wrong:
    reason, remedy = (getattr(error, part, "") for part in ("reason", "remedy"))
    return Wrong(row.line, _("row"), "", reason or str(error), remedy or _("see the row"))


def _draft(intake: Intake, row: Row, place: int, turn: int) -> Draft:
    """Return an entry of a row, numbered by the file and the line: the same again is the same entry.

    A table that was undone and is taken in anew gets other numbers, by how often it was undone.
    """
    said = row.said[place]
    number = uuid5(ROOT, f"{intake.sha256}/{intake.what}/{row.line}/{_part(row, place)}/{turn}")
    return Draft(number, said.kind, said.horse.pk, said.values, intake.at, said.at)


def _part(row: Row, place: int) -> str:
    """Return which entry of a row this is, by what it says, for one of two may be in the diary already."""
    return str(row.said[place].values.get("disease", ""))


def may_undo(intake: Intake, by: Person) -> None:
    """Refuse what cannot be undone, or not by this person.

    Raises:
        ImportUndoneError: it was undone before.
        ImportBusyError: a job is at work on it.
        EntryNotYoursError: it is somebody else's, and `by` may not correct what others entered.
    """
    if intake.undone_at is not None:
        raise ImportUndoneError
    if job_of(intake) is not None:
        raise ImportBusyError
    if intake.by_id != by.pk and not visitor(by, barn=False).roles & MENDERS:
        raise EntryNotYoursError


def job_of(intake: Intake) -> Job | None:
    """Return the job that takes an import in, or undoes it, as long as it has not ended."""
    still = Job.objects.filter(kind=JOB, state__in=(Job.State.WAITING, Job.State.RUNNING))
    return next((job for job in still if job.arguments.get("intake") == intake.pk), None)


def undo(intake: Intake, by: Person, progress: Progress = unheard) -> Undone:
    """Withdraw every entry of an import, and take out its horses that nothing refers to.

    It goes on where it was stopped: what is withdrawn already counts as undone.

    Args:
        intake: the import.
        by: who undoes it.
        progress: called with the share done and what is being done.

    Raises:
        ImportUndoneError: it was undone before.
    """
    if intake.undone_at is not None:
        raise ImportUndoneError
    done, rows = Undone(), list(intake.rows.select_related("entry", "horse").order_by("pk"))
    named = _horses_named() if any(row.horse_id for row in rows) else frozenset()
    for first in range(0, len(rows), MANY):
        with transaction.atomic():
            Yard.objects.select_for_update().first()
            for row in rows[first : first + MANY]:
                _undo_row(row, by, done, named)
        progress(min(first + MANY, len(rows)) / len(rows), "rows taken back")
    intake.undone_at = clock.now()
    left = [as_kept(one) for one in done.left or ()]
    told = {"withdrawn": done.withdrawn, "removed": done.removed, "kept": done.kept, "left": left}
    intake.columns = intake.columns | {"undone": told | {"by": by.pk}}
    intake.save()
    return done


def _undo_row(row: Taken, by: Person, done: Undone, named: frozenset[int]) -> None:
    if row.entry is not None:
        _undo_entry(row, row.entry, by, done)
    elif row.horse is not None:
        _undo_horse(row, row.horse, done, named)


def _undo_entry(row: Taken, entry: Entry, by: Person, done: Undone) -> None:
    later = Entry.objects.filter(supersedes=entry)
    if any(map(_stands, later)):
        done.leave(_("line {line}: the entry was corrected since; withdraw the correction in the diary", line=row.line))
        return
    if not later:
        withdraw(entry, by, client_id=uuid5(entry.client_id, "undone"), made_at=clock.now())
    done.withdrawn += 1


def _stands(entry: Entry) -> bool:
    """Return whether an entry, or a correction of it, still says something."""
    later = Entry.objects.filter(supersedes=entry)
    return any(map(_stands, later)) if later else not entry.withdrawn


def _undo_horse(row: Taken, horse: Horse, done: Undone, named: frozenset[int]) -> None:
    if about := _refers(horse, named):
        stays = _("line {line}: {horse} stays, for {about} refer to it", line=row.line, horse=horse.name, about=about)
        done.leave(stays)
        return
    row.delete()
    horse.delete()
    done.removed += 1


def _refers(horse: Horse, named: frozenset[int]) -> str:
    """Return what of the books refers to a horse, "" where nothing does."""
    if horse.pk in named:
        return _("entries of the diary")
    for relation in Horse._meta.related_objects:
        model = relation.related_model
        if model is Taken or not isinstance(model, type) or model.__name__.startswith("Historical"):
            continue
        if model._default_manager.filter(**{relation.field.name: horse.pk}).exists():
            return REFERS.get(model.__name__, _("other rows of the books"))
    return ""


def _horses_named() -> frozenset[int]:
    """Return the numbers of horses that entries about others name."""
    from upsides.books.diary import KINDS

    kinds = [kind.name for kind in KINDS.values() if any(getattr(one, "of", "") == "horse" for one in kind.fields)]
    found = Entry.objects.filter(kind__in=kinds).values_list("kind", "values")
    return frozenset(
        number
        for kind, values in found.iterator()
        for what, number in KINDS[kind].kept_as(values).rows()
        if what == "horse"
    )
