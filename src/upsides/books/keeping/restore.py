"""Bringing a backup back: checked whole before anything is written, built beside its place, compared, then renamed."""

import shutil
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Model

from upsides.books.keeping.backup import Progress, silent
from upsides.books.keeping.disk import names_on_disk, new_file
from upsides.books.keeping.laying import changes_known, lay_tables
from upsides.books.keeping.members import BOOKS, LIBRARY, Manifest, Reader
from upsides.books.keeping.rows import load, models_after, numbered, unknown_changes, written
from upsides.books.keeping.snapshot import set_last_number
from upsides.books.services.opening import SECRET, connect_books
from upsides.errors import (
    BackupDamagedError,
    BackupNewerError,
    NoRoomError,
    RestoreDiffersError,
    RestorePlaceError,
)
from upsides.errors.wording import gettext as _

CHECKED, FILED, LOADED = 0.2, 0.5, 0.9
"""How far a restore is when everything was checked, when the files are there, and when the rows are."""

GROWTH = 4
"""Rows take up to about so many times the room of their lines: indexes, the log. Measured on the invented yard."""


@dataclass(frozen=True, slots=True)
class Restored:
    """A backup that was brought back.

    Args:
        folder: where.
        manifest: what it holds.
        files: how many files of the library came back.
    """

    folder: Path
    manifest: Manifest
    files: int


def restore(file: Path, folder: Path, progress: Progress = silent) -> Restored:
    """Bring a backup back into a folder that is empty or not there, and into an empty database.

    Every part is checked first. The books are laid as the program that wrote them had them, filled, compared with the
    backup table by table, and only then brought up to this program. No other books may be open in this process.

    Args:
        file: the backup.
        folder: the new library's folder.
        progress: called with the share done and what is being done.

    Raises:
        BackupDamagedError: it is no backup, or not as it was written.
        BackupNewerError: a newer program wrote it.
        BooksOpenError: this process has books open.
        RestorePlaceError: something is in the folder or the database.
        RestoreDiffersError: what was written was not what the backup holds; it was taken away again.
        NoRoomError: there is not enough room on the disk.
    """
    _refuse_used_folder(folder)
    with Reader(file) as backup:
        _check(backup, folder, progress)
        with _beside(folder) as fresh:
            connect_books(fresh)
            with _empty_database(backup):
                files = _unpack(backup, fresh, progress)
                _fill(backup, progress)
                connection.close()
                _into_place(fresh, folder)
        progress(1.0, "done")
        return Restored(folder, backup.manifest, files)


def _refuse_used_folder(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise RestorePlaceError(folder, _("it is a file"), _("name a new folder"))
    if folder.is_dir() and any(folder.iterdir()):
        raise RestorePlaceError(folder, _("it is not empty"), _("name a new folder, or an empty one"))


def _check(backup: Reader, folder: Path, progress: Progress) -> None:
    """Read every part to its end, and see that there is room for them."""
    members = backup.manifest.members
    whole, done = max(1, sum(member.bytes for member in members.values())), 0
    for name, member in members.items():
        deque(backup.blocks(name), maxlen=0)
        done += member.bytes
        progress(CHECKED * done / whole, f"checking {name}")
    above = next(place for place in (folder, *folder.absolute().parents) if place.exists())
    growth = {True: GROWTH, False: 1}
    needed = sum(member.bytes * growth[name.startswith(BOOKS)] for name, member in members.items())
    if shutil.disk_usage(above).free < needed:
        raise NoRoomError


@contextmanager
def _beside(folder: Path) -> Iterator[Path]:
    """Give a folder beside another, which is gone at the end unless it was renamed."""
    fresh = folder.absolute().with_name(f".{folder.absolute().name}.{uuid4().hex[:8]}")
    fresh.mkdir(parents=True)
    try:
        yield fresh
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


@contextmanager
def _empty_database(backup: Reader) -> Iterator[None]:
    """See that the database is empty and that its changes are known, and empty it again where the block fails.

    SQLite's is a file of the folder that is being built, and goes with it.
    """
    if connection.introspection.table_names():
        at = connection.settings_dict["NAME"]
        raise RestorePlaceError(
            _("the database {at}", at=at), _("it holds tables"), _("make a new one and name it in UPSIDES_DATABASE")
        )
    if unknown := unknown_changes(connection, backup.manifest.migrations):
        raise BackupNewerError(
            backup.file, _("its tables hold the change {unknown}, which this program does not know", unknown=unknown[0])
        )
    try:
        yield
    except BaseException:
        if connection.vendor == "postgresql":
            _drop_tables()
        connection.close()
        raise


def _drop_tables() -> None:
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"DROP TABLE IF EXISTS {connection.ops.quote_name(table)} CASCADE")


def _unpack(backup: Reader, fresh: Path, progress: Progress) -> int:
    """Write the library's files, each on disk before the next, and return how many."""
    names = [name for name in backup.manifest.members if name.startswith(LIBRARY)]
    for number, name in enumerate(names, start=1):
        place = fresh / name.removeprefix(LIBRARY)
        place.parent.mkdir(parents=True, exist_ok=True)
        place.unlink(missing_ok=True)
        with new_file(place, 0o600 if place.name == SECRET else 0o666) as out:
            for block in backup.blocks(name):
                out.write(block)
        progress(CHECKED + (FILED - CHECKED) * number / len(names), name)
    return len(names)


def _fill(backup: Reader, progress: Progress) -> None:
    """Lay the tables as they were, fill and compare them, and bring them up to this program."""
    progress(FILED, "laying the tables")
    models = _lay_tables(backup)
    try:
        with transaction.atomic():
            for number, (name, model) in enumerate(models.items(), start=1):
                _fill_table(backup, name, model)
                progress(FILED + (LOADED - FILED) * number / len(models), name)
    except DatabaseError as error:
        raise RestoreDiffersError(_("of some rows that name one another"), str(error)) from error
    progress(LOADED, "bringing the tables up to this program")
    from upsides.books.services.upgrading import upgrade

    call_command("migrate", verbosity=0, interactive=False)
    upgrade()


def _lay_tables(backup: Reader) -> dict[str, type[Model]]:
    """Make the changes to the tables that the backup's had seen; return its tables."""
    changes = backup.manifest.migrations
    if changes == changes_known():
        lay_tables()
        return _those_of(backup, models_after(connection, changes))
    executor = MigrationExecutor(connection)
    nodes = {(app, name) for app, names in changes.items() for name in names} & set(executor.loader.graph.nodes)
    last = [node for node in sorted(nodes) if not _followed(executor, node, nodes)]
    executor.migrate(last)
    return _those_of(backup, models_after(connection, changes))


def _those_of(backup: Reader, models: dict[str, type[Model]]) -> dict[str, type[Model]]:
    """Return the tables that were laid, refusing a backup that has others."""
    odd = models.keys() ^ backup.manifest.tables.keys()
    if odd:
        raise BackupDamagedError(backup.file, min(odd), _("the tables are not those of its changes"))
    return models


def _followed(executor: MigrationExecutor, node: tuple[str, str], nodes: set[tuple[str, str]]) -> bool:
    """Return whether a later change of the same application is among `nodes`."""
    children = executor.loader.graph.node_map[node].children
    return any(child.key[0] == node[0] and child.key in nodes for child in children)


def _fill_table(backup: Reader, name: str, model: type[Model]) -> None:
    """Write the rows of one table, read them again and compare."""
    part, wanted = f"{BOOKS}{name}.jsonl", backup.manifest.tables[name]
    try:
        model._base_manager.all()._raw_delete("default")
        load(model, backup.lines(part), connection)
    except (ValueError, TypeError, ValidationError) as error:
        raise BackupDamagedError(
            backup.file, part, _("it holds no rows of {name} ({error})", name=name, error=error)
        ) from None
    except DatabaseError as error:
        raise RestoreDiffersError(name, str(error)) from error
    _give_from(model, wanted.last_number or 0)
    count, digest = 0, sha256()
    for line in written(model, "default"):
        digest.update(line)
        count += 1
    if (count, digest.hexdigest()) != (wanted.rows, backup.manifest.members[part].sha256):
        raise RestoreDiffersError(
            name, _("{count:,} rows of {rows:,} came back, or some came back otherwise", count=count, rows=wanted.rows)
        )


def _give_from(model: type[Model], number: int) -> None:
    """Let numbers begin after the last that was ever given."""
    column = numbered(model)
    if column:
        highest = model._base_manager.order_by("-pk").values_list("pk", flat=True).first() or 0
        if max(number, highest):
            set_last_number(connection, model._meta.db_table, column, max(number, highest))


def _into_place(fresh: Path, folder: Path) -> None:
    if folder.exists():
        folder.rmdir()
    names_on_disk(fresh)
    fresh.rename(folder.absolute())
    names_on_disk(folder.absolute().parent)
