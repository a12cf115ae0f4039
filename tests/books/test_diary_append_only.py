"""The tables refuse that the diary is changed, whatever speaks to them."""

import json
import os
import subprocess
import sys
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

import fresh
from upsides.books import append_only
from upsides.books.models import Entry, Horse, Person

pytestmark = pytest.mark.django_db
CHANGES = [
    "UPDATE books_entry SET kind = 'note'",
    "UPDATE books_entry SET withdrawn = withdrawn",
    "DELETE FROM books_entry",
]


@pytest.fixture
def entry() -> Entry:
    moments = dict.fromkeys(("happened_at", "made_at", "recorded_at"), timezone.now())
    author, horse = Person.objects.get(login="carer"), Horse.objects.first()
    return Entry.objects.create(client_id=uuid4(), kind="looked_at", author=author, horse=horse, **moments)


@pytest.mark.parametrize("statement", CHANGES)
def test_no_statement_changes_the_diary(entry: Entry, statement: str) -> None:
    """An UPDATE or a DELETE is refused in plain words, and the row stays as it was."""
    with pytest.raises(IntegrityError, match="never changed or removed"), transaction.atomic():
        connection.cursor().execute(statement)
    assert Entry.objects.get(pk=entry.pk).kind == "looked_at"


def test_neither_does_the_program(entry: Entry) -> None:
    """Saving a row again, and deleting one or many, is refused."""
    entry.kind = "note"
    with pytest.raises(IntegrityError, match="correct or withdraw"), transaction.atomic():
        entry.save()
    with pytest.raises(IntegrityError), transaction.atomic():
        Entry.objects.filter(pk=entry.pk).update(values={"text": "otherwise"})
    with pytest.raises(IntegrityError), transaction.atomic():
        entry.delete()
    assert Entry.objects.filter(pk=entry.pk, kind="looked_at", values={}).exists()


def test_a_row_is_not_replaced_either(entry: Entry) -> None:
    """An insert that would take the place of a row is refused: REPLACE in SQLite, ON CONFLICT in PostgreSQL."""
    columns = "id, client_id, kind, author_id, happened_at, made_at, recorded_at, {v}, withdrawn"
    named = columns.format(v=connection.ops.quote_name("values"))
    old = f"SELECT id, client_id, 'note', {named.split(', ', 3)[3]} FROM books_entry WHERE id = {entry.pk}"  # noqa: S608 (a number)
    if connection.vendor == "sqlite":
        statement = f"INSERT OR REPLACE INTO books_entry ({named}) {old}"
    else:
        statement = f"INSERT INTO books_entry ({named}) {old} ON CONFLICT (id) DO UPDATE SET kind = 'note'"
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        connection.cursor().execute(statement)
    assert Entry.objects.get(pk=entry.pk).kind == "looked_at"


@pytest.mark.skipif("postgresql" not in os.environ.get("UPSIDES_DATABASE", ""), reason="SQLite has no TRUNCATE")
def test_the_table_is_not_emptied(entry: Entry) -> None:
    """TRUNCATE is refused."""
    connection.check_constraints()  # PostgreSQL truncates no table whose constraints it still has to check
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        connection.cursor().execute("TRUNCATE books_entry CASCADE")


def test_making_them_again_changes_nothing(entry: Entry) -> None:
    """The triggers may be made any number of times."""
    for _ in range(2):
        append_only.refuse_change(connection)
    test_no_statement_changes_the_diary(entry, CHANGES[2])


REBUILT = """
import json, sys
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(sys.argv[1]))
from django.core.management import call_command
from django.db import connection, models, transaction, IntegrityError
from django.utils import timezone
from uuid import uuid4
from upsides.books.models import Entry
from upsides.books.services.people import add_person
moment = timezone.now()
author = add_person("somebody", ["carer"])
moments = dict.fromkeys(("happened_at", "made_at", "recorded_at"), moment)
Entry.objects.create(client_id=uuid4(), kind="note", author=author, **moments)

def refused():
    try:
        with transaction.atomic():
            Entry.objects.update(kind="other")
    except IntegrityError as error:
        return str(error)

wider = models.CharField(max_length=60)
wider.set_attributes_from_name("kind")
with connection.schema_editor() as editor:
    editor.alter_field(Entry, Entry._meta.get_field("kind"), wider)
between = refused()
call_command("migrate", verbosity=0)
print(json.dumps([between, refused(), Entry.objects.count()]))
"""


def test_migrating_brings_them_back(tmp_path: Path) -> None:
    """After a migration that rebuilt the table the rows are there and the diary refuses change again."""
    with fresh.fresh(tmp_path, ready=True) as env:
        done = subprocess.run(
            [sys.executable, "-c", REBUILT, str(tmp_path)], env=env, capture_output=True, text=True, check=True
        )
    between, after, rows = json.loads(done.stdout)
    assert "never changed or removed" in after
    assert rows == 1
    assert (between is None) == ("UPSIDES_DATABASE" not in env)
