"""Bringing books that an earlier program wrote up to this one: a copy first, then every migration, or nothing."""

import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic, sleep

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from upsides.books.keeping.laying import lay_tables, tables_laid
from upsides.books.models.yard import FORMAT, Yard
from upsides.errors import BooksNewerError, LibraryBusyError, UpgradeCopyError
from upsides.errors.wording import gettext as _
from upsides.results.lock import writing

PATIENCE_S = 60.0


def upgrade() -> Path | None:
    """Bring the books up to this program.

    Returns:
        The copy that was taken first, None where nothing had to change or the books are new.

    Raises:
        BooksNewerError: a newer program wrote them.
        UpgradeCopyError: no copy could be taken, so nothing was changed.
    """
    with alone(settings.UPSIDES_LIBRARY):
        refuse_newer()
        executor = MigrationExecutor(connection)
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        applied = _applied()
        copy = _copy() if plan and applied else None
        if not applied:
            lay_tables()
            tables_laid()
        elif plan:
            call_command("migrate", verbosity=0, interactive=False)
        call_command("createcachetable", verbosity=0)
        Yard.objects.filter(format_version__lt=FORMAT).update(format_version=FORMAT)
    return copy


def refuse_newer() -> None:
    """Refuse books that this program does not know how to read.

    Raises:
        BooksNewerError: a newer program wrote them.
    """
    known = {key for key in MigrationExecutor(connection).loader.disk_migrations or () if key[0] == "books"}
    newer = sorted(name for app, name in _applied() if app == "books" and (app, name) not in known)
    if newer:
        raise BooksNewerError(
            _("their tables hold the change {newer}, which this program does not know", newer=newer[-1])
        )
    if Yard._meta.db_table in connection.introspection.table_names():
        written = Yard.objects.values_list("format_version", flat=True).first()
        if written is not None and written > FORMAT:
            raise BooksNewerError(
                _("their format is {written}, and this program reads {format} at most", written=written, format=FORMAT)
            )


def _applied() -> set[tuple[str, str]]:
    return set(MigrationRecorder(connection).applied_migrations())


def _copy() -> Path:
    """Copy the books as they are, and return where to."""
    when = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    place: Path = settings.UPSIDES_LIBRARY / f"books-before-upgrade-{when}"
    fresh = place.with_suffix(".part")
    try:
        if connection.vendor == "sqlite":
            _copy_sqlite(fresh)
        else:
            _copy_postgresql(fresh)
        return fresh.replace(place.with_suffix(".sqlite3" if connection.vendor == "sqlite" else ".sql"))
    except (OSError, sqlite3.Error, subprocess.CalledProcessError) as error:
        fresh.unlink(missing_ok=True)
        raise UpgradeCopyError(settings.UPSIDES_LIBRARY, error) from error


def _copy_sqlite(place: Path) -> None:
    source = settings.DATABASES["default"]["NAME"]
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(place)) as new:
        old.backup(new)


def _copy_postgresql(place: Path) -> None:
    command = shutil.which("pg_dump")
    if command is None:
        raise FileNotFoundError("pg_dump, which comes with PostgreSQL's client, is not on this machine")
    at = connection.settings_dict
    parts = {"--host": at["HOST"], "--port": at["PORT"], "--username": at["USER"], "--dbname": at["NAME"]}
    options = [f"{name}={value}" for name, value in parts.items() if value]
    with place.open("wb") as out:
        env = {"PGPASSWORD": at["PASSWORD"]} if at["PASSWORD"] else {}
        subprocess.run([command, *options], stdout=out, stderr=subprocess.PIPE, check=True, env=env)  # noqa: S603 (found above)


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Wait until no other process upgrades the same books."""
    (folder / "upgrading").mkdir(exist_ok=True)
    until = monotonic() + PATIENCE_S
    while True:
        try:
            with writing(folder / "upgrading"):
                yield
                return
        except LibraryBusyError:
            if monotonic() > until:
                raise
            sleep(0.1)
