"""Laying the tables of new books as the program has them now, instead of making every change that there ever was.

Books of an earlier program come forward by those changes; a test holds both ways to the same tables.
"""

from django.apps import apps
from django.core.management.sql import emit_post_migrate_signal
from django.db import DEFAULT_DB_ALIAS, connection, router
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder


def lay_tables() -> None:
    """Make every table in an empty database and note every change to them as made, all or nothing.

    What follows every change, such as the triggers of tables that refuse change, follows from `tables_laid`.
    """
    MigrationRecorder(
        connection
    ).ensure_schema()  # empty until the tables stand, so that a beginning cut short is begun again
    with connection.schema_editor() as editor:
        for config in apps.get_app_configs():
            for model in router.get_migratable_models(config, DEFAULT_DB_ALIAS):
                if model._meta.can_migrate(connection):
                    editor.create_model(model)
        note_changes()


def note_changes() -> None:
    """Note every change to the tables as made: they stand as this program has them."""
    recorder = MigrationRecorder(connection)
    for app, names in changes_known().items():
        for name in names:
            recorder.record_applied(app, name)


def tables_laid() -> None:
    """Do what follows when tables were laid."""
    emit_post_migrate_signal(verbosity=0, interactive=False, db=DEFAULT_DB_ALIAS)


def changes_known() -> dict[str, list[str]]:
    """Return every change to the tables that this program knows, by application, as `rows.changes_made` does."""
    known: dict[str, list[str]] = {}
    for app, name in sorted(MigrationLoader(connection).disk_migrations or {}):
        known.setdefault(app, []).append(name)
    return known
