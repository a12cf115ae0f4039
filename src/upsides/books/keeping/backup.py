"""A backup: everything that a yard needs in one file, made while the books are in use."""

import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from importlib.metadata import version
from itertools import chain, islice
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model

from upsides.books import clock
from upsides.books.keeping import folder as shelf
from upsides.books.keeping.disk import names_on_disk, new_file
from upsides.books.keeping.members import BOOKS, LIBRARY, Manifest, Table, Writer
from upsides.books.keeping.rows import MANY, changes_made, models_after, numbered, unknown_changes, written
from upsides.books.keeping.snapshot import last_number, standing_still
from upsides.books.services.opening import connect_books
from upsides.errors import BackupChangedError, BackupPlaceError, BooksMissingError, BooksNewerError
from upsides.errors.wording import gettext as _

Progress = Callable[[float, str], None]
ROW_BYTES = 300
"""About what a row is in bytes, so that rows and files can be added up for the progress."""

STALE_S = 3600.0
"""A half-written file that nobody wrote to for so long was left by a process that was killed."""


def silent(_done: float, _what: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that was made.

    Args:
        file: where.
        bytes: its size.
        tables: rows by table.
        files: how many files of the library's folder are in it.
        removed: older backups that were removed.
    """

    file: Path
    bytes: int
    tables: dict[str, int]
    files: int
    removed: list[Path] = field(default_factory=list)


def back_up(
    folder: Path,
    to: Path | None = None,
    progress: Progress = silent,
    *,
    books_only: bool = False,
    keep: int | None = None,
) -> BackedUp:
    """Write the books as they stand at one moment, and the library's folder, into one file.

    It is written under another name in the same folder and renamed when it is whole and on the disk.

    Args:
        folder: the library's folder.
        to: a file that is not there yet, or a folder, in which it gets a name by the day and time; without it the
            folder `backups` of the library.
        progress: called with the share done and what is being done.
        books_only: leave out the library's files, and with them the key.
        keep: how many backups named by us to keep in that folder, this one included; older ones are removed.

    Raises:
        BooksMissingError: there are no books.
        BooksNewerError: a newer program wrote them.
        BackupPlaceError: it cannot be written there.
        BackupChangedError: a file went away while it was being copied.
    """
    connect_books(folder)
    refuse_missing(folder)
    file = _place(folder, to, keep)
    with _whole_or_nothing(file) as out, standing_still() as at:
        made = _write(out, at, Files.of(folder) if not books_only else None, progress)
    done = _done(file, made, _drop_older(file, keep) if keep else [])
    _remember(folder, done, made.made_at)
    progress(1.0, "done")
    return done


def archive(folder: Path, to: Path, progress: Progress = silent, *, with_results: bool = False) -> BackedUp:
    """Write the yard's books and photographs into one file that other programs read; docs/archive.md describes it.

    It is a backup without what is no record of the yard: the key, letters, certificates, and, unless they are asked
    for, results and fits. `restore` rebuilds the yard from it.

    Args:
        folder: the library's folder.
        to: a file that is not there yet.
        progress: called with the share done and what is being done.
        with_results: whether the library of results goes in.

    Raises:
        BooksMissingError, BooksNewerError, BackupPlaceError, BackupChangedError: as `back_up`.
    """
    connect_books(folder)
    refuse_missing(folder)
    file = _place(folder, to, None)
    with _whole_or_nothing(file) as out, standing_still() as at:
        made = _write(out, at, Files.of(folder).without_secrets(results=with_results), progress)
    progress(1.0, "done")
    return _done(file, made, [])


def _done(file: Path, made: Manifest, removed: list[Path]) -> BackedUp:
    rows = {name: one.rows for name, one in made.tables.items()}
    return BackedUp(file, file.stat().st_size, rows, sum(name.startswith(LIBRARY) for name in made.members), removed)


def refuse_missing(folder: Path) -> None:
    """Refuse a folder without books, rather than have SQLite make an empty file.

    Raises:
        BooksMissingError: there are none.
    """
    database = settings.DATABASES["default"]
    if "sqlite" in database["ENGINE"] and not Path(database["NAME"]).exists():
        raise BooksMissingError(folder)


def _place(folder: Path, to: Path | None, keep: int | None) -> Path:
    if to is None:
        to = folder / shelf.BACKUPS
        to.mkdir(mode=0o700, exist_ok=True)
    if to.is_dir():
        return to / f"upsides-{clock.now().astimezone(clock.place().zone):%Y-%m-%d-%H%M%S}.zip"
    if keep is not None:
        raise BackupPlaceError(to, _("older backups can only be counted in a folder"), _("name a folder with --to"))
    if not to.parent.is_dir():
        raise BackupPlaceError(
            to, _("there is no folder {parent}", parent=to.parent), _("make it first, or name another")
        )
    if to.exists():
        raise BackupPlaceError(to, _("there is a file of that name"), _("name another, or a folder"))
    return to


@contextmanager
def _whole_or_nothing(file: Path) -> Iterator[BinaryIO]:
    """Give a file to write, which gets its name when the block ends well and is gone when it does not."""
    fresh = file.with_name(f".{file.name}.part")
    try:
        with new_file(fresh, 0o600) as out:
            _drop_leftovers(file.parent, fresh.stat().st_mtime - STALE_S)
            yield out
        fresh.rename(file)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    names_on_disk(file.parent)


def _drop_leftovers(place: Path, before: float) -> None:
    """Remove what backups that were killed have left half-written."""
    for path in place.glob(".*.zip.part"):
        with suppress(FileNotFoundError):
            if path.stat().st_mtime < before:
                path.unlink()


def _drop_older(file: Path, keep: int) -> list[Path]:
    """Remove the oldest backups that we named, all but `keep` of them."""
    others = [path for path in file.parent.iterdir() if shelf.OURS.fullmatch(path.name) and path != file]
    newest = sorted(others, key=lambda path: (path.stat().st_mtime_ns, path.name), reverse=True)
    for path in newest[keep - 1 :]:
        path.unlink()
    return sorted(newest[keep - 1 :])


def _remember(folder: Path, done: BackedUp, made_at: str) -> None:
    """Note in the library's folder when the last backup was; `upsides check` tells."""
    fresh = folder / f".{shelf.LAST_BACKUP}.new"
    with suppress(OSError):
        fresh.write_text(json.dumps({"file": str(done.file.resolve()), "made_at": made_at}), encoding="utf-8")
        fresh.replace(folder / shelf.LAST_BACKUP)


@dataclass(frozen=True, slots=True)
class Files:
    """The files of a library's folder at the moment at which this was made.

    Args:
        pins: what `library.json` says; empty without results.
        pinned: the files that it needs, by name.
        fits: the folder of every fit.
        others: everything else, by name.
        results: whether results and fits are among them.
    """

    pins: bytes
    pinned: dict[str, Path]
    fits: list[Path]
    others: dict[str, Path]
    results: bool = True

    @classmethod
    def of(cls, folder: Path) -> "Files":
        """Return all files that belong into a backup."""
        pins, pinned = shelf.pinned_files(folder)
        return cls(pins, pinned, shelf.fits(folder), shelf.other_files(folder))

    def without_secrets(self, *, results: bool) -> "Files":
        """Return what may be handed on: no key, no letters, no certificates; results and fits where asked for."""
        open_ = {name: path for name, path in self.others.items() if not shelf.SECRETS.fullmatch(name)}
        if results:
            return Files(self.pins, self.pinned, self.fits, open_)
        return Files(b"", {}, [], {name: path for name, path in open_.items() if name != shelf.LATEST}, results=False)

    def size(self) -> int:
        """Return about how many bytes they are."""
        in_fits = (path for fit in self.fits for path in fit.glob("*"))
        return sum(_size(path) for path in chain(self.pinned.values(), self.others.values(), in_fits))

    def parts(self) -> Iterator[tuple[str, Iterable[bytes]]]:
        """Yield name and content of each.

        Raises:
            BackupChangedError: one went away.
        """
        if self.pins:
            yield shelf.PINS, [self.pins]
        for name, path in self.pinned.items():
            try:
                with path.open("rb") as file:
                    yield name, shelf.blocks(file)
            except FileNotFoundError:
                raise BackupChangedError(path) from None
        for place in self.fits:
            with shelf.one_fit(place) as files:
                yield from ((f"fits/{place.name}/{name}", shelf.blocks(file)) for name, file in files.items())
        for name, path in self.others.items():
            with suppress(FileNotFoundError), path.open("rb") as file:
                yield name, shelf.blocks(file)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


class _Told:
    """Tells how far a copy is, by the bytes that went through."""

    def __init__(self, progress: Progress, whole: int) -> None:
        self.progress, self.whole, self.done = progress, max(whole, 1), 0

    def through(self, blocks: Iterable[bytes], what: str) -> Iterator[bytes]:
        """Pass blocks on, and tell."""
        for block in blocks:
            yield block
            self.done += len(block)
            self.progress(min(0.99, self.done / self.whole), what)


def _write(out: BinaryIO, at: BaseDatabaseWrapper, library: Files | None, progress: Progress) -> Manifest:
    """Write every part, and return the manifest."""
    writer, changes, tables = Writer(out), changes_made(at), {}
    if unknown := unknown_changes(at, changes):
        raise BooksNewerError(
            _("their tables hold the change {unknown}, which this program does not know", unknown=unknown[0])
        )
    models = models_after(at, changes)
    rows = {name: model._base_manager.using(at.alias).count() for name, model in models.items()}
    told = _Told(progress, ROW_BYTES * sum(rows.values()) + (library.size() if library else 0))
    for name, model in models.items():
        writer.add(f"{BOOKS}{name}.jsonl", told.through(_joined(written(model, at.alias)), name))
        tables[name] = Table(rows[name], _last(at, model))
    for name, blocks in library.parts() if library else ():
        writer.add(f"{LIBRARY}{name}", told.through(blocks, name))
    yards = models["books.yard"]._base_manager.using(at.alias) if "books.yard" in models else None
    manifest = Manifest(
        made_at=clock.now().isoformat(),
        program=version("upsides"),
        yard=(yards.values_list("name", flat=True).first() or "") if yards is not None else "",
        database=at.vendor,
        migrations=changes,
        tables=tables,
        library=library is not None and library.results,
    )
    return writer.finish(manifest)


def _joined(lines: Iterator[bytes]) -> Iterator[bytes]:
    """Join many lines to a block."""
    while some := b"".join(islice(lines, MANY)):
        yield some


def _last(at: BaseDatabaseWrapper, model: type[Model]) -> int | None:
    column = numbered(model)
    return last_number(at, model._meta.db_table, column) if column else None
