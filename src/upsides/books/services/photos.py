"""Keeping photographs: their files beside the books, and the entries of the diary that show them."""

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Final
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from upsides.books import clock
from upsides.books.keeping.disk import names_on_disk, new_file
from upsides.books.models import Device, Entry, Horse, Person, Photo, Yard
from upsides.books.photographs import MOST_BYTES, Picture, prepared, small
from upsides.books.queries.photos import file_of, small_file_of
from upsides.books.sent import Sent
from upsides.books.services.diary import Draft, record
from upsides.errors import NoPhotoError, TooManyPhotosError

MOST: Final = 12
"""Most pictures at once."""


def add_pictures(
    horse: Horse,
    sent: Sequence[Sent],
    said: Mapping[str, str],
    author: Person,
    device: Device | None = None,
    *,
    page: UUID | None = None,
    seen: datetime | None = None,
) -> list[Entry]:
    """Keep pictures of a horse, each with an entry of the diary; all of them or none.

    Args:
        horse: what they show.
        sent: the files.
        said: what else the entries hold, as typed: text, for_owner.
        author: in whose name.
        device: where they were entered, if that is known.
        page: the number of the page that they were sent from, so that sending it twice keeps them once.
        seen: when they were taken, None for now.

    Raises:
        NoPhotoError, TooManyPhotosError, PhotoRefusedError: the files are none, too many, or one is no photograph.
        EntryRefusedError, KindNotYoursError, NoDiaryError: the entry cannot be made.
    """
    if not sent:
        raise NoPhotoError
    if len(sent) > MOST:
        raise TooManyPhotosError(len(sent), MOST)
    ready = {one.sha256: one for one in (prepared(one.file.read(MOST_BYTES + 1), one.name) for one in sent)}
    number, made = page or uuid4(), clock.now()
    drafts = [
        Draft(uuid5(number, sha256), "picture", horse.pk, {"picture": sha256, **said}, made, seen) for sha256 in ready
    ]
    with transaction.atomic():
        Yard.objects.select_for_update().first()  # one writer at a time, so that no file goes that another needs
        fresh = [path for one in ready.values() if (path := _stored(one))]
        try:
            with transaction.atomic():
                for one in ready.values():
                    _row(one, made)
                return [record(draft, author, device) for draft in drafts]
        except BaseException:
            for path in fresh:
                path.unlink(missing_ok=True)
            raise


def _row(one: Picture, made: datetime) -> None:
    more = {"width": one.width, "height": one.height, "size": len(one.jpeg), "recorded_at": made}
    Photo.objects.get_or_create(sha256=one.sha256, defaults=more)


def _stored(one: Picture) -> Path | None:
    """Write a picture's file under its hash, whole or not at all; None where it lay there whole before."""
    path = file_of(one.sha256)
    if path.exists() and path.stat().st_size == len(one.jpeg):
        return None
    _write(path, one.jpeg)
    return path


def small_picture(sha256: str) -> Path:
    """Return the file of a small picture, made when it is asked for first.

    Raises:
        FileNotFoundError: the picture's own file is not there.
    """
    path = small_file_of(sha256)
    if not path.exists():
        _write(path, small(file_of(sha256).read_bytes()))
    return path


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, mode=0o700, exist_ok=True)
    fresh = path.with_name(f".{path.name}.{os.getpid()}-{uuid4().hex[:8]}.part")
    try:
        with new_file(fresh, 0o600) as out:
            out.write(data)
        fresh.replace(path)
    finally:
        with suppress(FileNotFoundError):
            fresh.unlink()
    names_on_disk(path.parent)
