"""`upsides backup`, `restore` and `check` as people and scripts use them."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fresh import SMALL_BOOKS, fresh, opened
from upsides.books.keeping import check_files
from upsides.books.models import Entry, Horse
from upsides.books.services.opening import keep_secret


def command(env: dict[str, str], *arguments: object) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-c", "from upsides.cli.main import main; main()", *map(str, arguments)]
    return subprocess.run(line, env=env, capture_output=True, text=True, check=False)


@pytest.fixture
def kept(yard, loaded, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The invented yard's library, on a disk with room, with its key."""
    monkeypatch.setattr(check_files, "LITTLE_ROOM", 1)
    keep_secret(yard.library / "secret.key")
    return Path(yard.library)


def test_backup_says_what_it_wrote(ask, kept: Path, tmp_path: Path) -> None:
    """The file, its size, the rows of every table and the number of files are told, as they are."""
    told = ask("backup", "--to", tmp_path, "--keep", 2, "--library", kept)
    file = Path(told["file"])
    assert file.parent == tmp_path
    assert told["bytes"] == file.stat().st_size
    assert told["tables"]["books.horse"] == Horse.objects.count() > 0
    assert told["rows"] == sum(told["tables"].values())
    assert told["files"] > 0
    assert told["removed"] == []


def test_backup_in_words(run, kept: Path, tmp_path: Path) -> None:
    """A backup on another disk is told in a line; one in the library's own folder with the advice to copy it."""
    told = run("backup", "--to", tmp_path / "one.zip", "--books-only", "--library", kept)
    assert told.exit_code == 0, told.stderr
    assert "one.zip: " in told.stdout
    assert "the books only" in told.stdout
    assert "Copy it" not in told.stdout
    own = run("backup", "--library", kept)
    assert "It lies on the same disk as the books. Copy it to another machine." in own.stdout
    shutil.rmtree(kept / "backups")


def test_backup_refuses_in_words(run, kept: Path, tmp_path: Path) -> None:
    """A place where nothing can be written is named, with what to do."""
    told = run("backup", "--to", tmp_path / "no" / "one.zip", "--library", kept)
    assert told.exit_code == 1
    assert "there is no folder" in told.stderr
    assert run("backup", "--keep", 0, "--library", kept).exit_code == 2


def test_check_says_that_all_is_well(run, ask, kept: Path) -> None:
    """Of a sound yard the first line says it, every finding follows, and the command ends well."""
    told = run("check", "--library", kept)
    assert told.exit_code == 0, told.stdout
    first, *rest = told.stdout.splitlines()
    assert first == "All is well."
    value = ask("check", "--library", kept)
    assert value["well"] is True
    assert value["accepted_entry"] is None
    moving = re.compile(r"The clock says \S+ \S+ UTC|\S+ \S+ are free")  # a minute may pass, and others write meanwhile
    lines = [f"  well      {one['words']}" for one in value["findings"]]
    assert [moving.sub("", line) for line in lines] == [moving.sub("", line) for line in rest]
    assert {one["subject"] for one in value["findings"]} >= {"database", "rows", "diary", "history", "library"}


def test_check_ends_with_one_where_something_is_wrong(run, kept: Path) -> None:
    """What is not well stands first, as JSON too, and the command ends with 1 and without an error."""
    Horse.objects.filter(pk=Horse.objects.earliest("pk").pk).update(colour="bay")
    told = run("check", "--library", kept)
    assert told.exit_code == 1
    lines = told.stdout.splitlines()
    assert lines[0] == "One thing is not well."
    assert lines[1].startswith("  NOT WELL  books_horse row ")
    assert "Error" not in told.stderr
    value = json.loads(run("check", "--json", "--library", kept).stdout)
    assert value["well"] is False
    assert [one["subject"] for one in value["findings"] if not one["well"]] == ["history"]


def test_the_clock_is_accepted(run, kept: Path) -> None:
    """The entry up to which the clock is accepted is told."""
    last = Entry.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
    told = run("check", "--accept-clock", "--library", kept)
    assert told.exit_code == 0, told.stdout
    assert told.stdout.startswith(f"The clock is accepted: what comes after entry {last} may be earlier.\n")


@pytest.mark.skipif(bool(os.environ.get("UPSIDES_DATABASE")), reason="the books are PostgreSQL's, not in the folder")
def test_a_folder_without_books_is_refused(tmp_path: Path) -> None:
    """Neither a backup nor a check makes books, or any file, where there are none; the folder is named."""
    with fresh(tmp_path) as env:
        for name in ("backup", "check"):
            told = command(env, name, "--library", tmp_path)
            assert told.returncode == 1
            assert f"there are no books in {tmp_path}" in told.stderr
    assert list(tmp_path.iterdir()) == []


def test_restore_says_that_all_came_back(tmp_path: Path) -> None:
    """Of a yard backed up and restored the words name the yard, its day, its rows and that they are the same."""
    folder, new = tmp_path / "library", tmp_path / "new"
    folder.mkdir()
    with fresh(folder, ready=True) as env:
        opened(folder, env, SMALL_BOOKS)
        made = json.loads(command(env, "backup", "--to", tmp_path / "one.zip", "--json", "--library", folder).stdout)
    with fresh(new) as env:
        told = command(env, "restore", tmp_path / "one.zip", "--library", new)
        assert told.returncode == 0, told.stderr
        assert "the books of Quarr Down as they were at " in told.stdout
        assert (
            f"{made['rows']:,} rows of {len(made['tables'])} tables and {made['files']:,} files came back"
            in told.stdout
        )
        assert "is the same, row for row, as in the backup" in told.stdout
        again = command(env, "restore", tmp_path / "one.zip", "--json", "--library", new)
        assert again.returncode == 1
        assert json.loads(again.stdout)["error"]["kind"] == "RestorePlaceError"
    with fresh(tmp_path / "other") as env:
        value = json.loads(
            command(env, "restore", tmp_path / "one.zip", "--json", "--library", tmp_path / "other").stdout
        )
    assert value["same"] is True
    assert value["rows"] == made["rows"]
    assert value["tables"] == made["tables"]
    assert value["yard"] == "Quarr Down"
    assert value["library"] == str(tmp_path / "other")
