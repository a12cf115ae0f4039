"""Photographs: where their files lie, which a horse has, and who may look at one."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.conf import settings

from upsides.books.models import Entry, Photo
from upsides.books.queries import moments
from upsides.books.queries.diary import Written, written
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor, own_horses

FOLDER: Final = "photos"
SMALL_FOLDER: Final = "photos-small"
"""Folders of a library: pictures, and small ones, which are made again where they are missing."""
KIND: Final = "picture"


@dataclass(frozen=True, slots=True)
class Shown:
    """One picture of a horse.

    Args:
        photo: its row of the books.
        entry: what the diary says of it.
        text: what it shows, empty where nobody said.
        for_owner: whether it may be shown to the owner.
    """

    photo: Photo
    entry: Written
    text: str
    for_owner: bool


def file_of(sha256: str, folder: Path | None = None) -> Path:
    """Return where the file of a picture lies, in a library's folder or in that of these books."""
    return (folder or Path(settings.UPSIDES_LIBRARY)) / FOLDER / sha256[:2] / f"{sha256}.jpg"


def small_file_of(sha256: str) -> Path:
    """Return where the file of a small picture lies, or will."""
    return Path(settings.UPSIDES_LIBRARY) / SMALL_FOLDER / sha256[:2] / f"{sha256}.jpg"


def pictures_of(number: int, moment: Moment, who: Visitor) -> list[Shown]:
    """Return the pictures of a horse that somebody may see, the latest first."""
    found = moments.entries(moment).filter(kind=KIND, horse=number).order_by("-happened_at", "-pk")
    rows = _open_to(who, list(found.select_related("author")))
    photos = {photo.sha256: photo for photo in Photo.objects.filter(sha256__in=[_sha256(row) for row in rows])}
    there = [row for row in rows if _sha256(row) in photos]
    return [
        Shown(photos[_sha256(one.entry)], one, one.entry.values.get("text", ""), _for_owner(one.entry))
        for one in written(there, moment, who)
    ]


def may_see_photo(who: Visitor, sha256: str) -> bool:
    """Return whether somebody may look at a picture.

    Who works in the yard may look at any that an entry shows; an owner at those of his own horses that may be shown to
    the owner, as long as that stands.
    """
    rows = Entry.objects.filter(kind=KIND, values__picture=sha256)
    return bool(_open_to(who, list(rows))) and Photo.objects.filter(sha256=sha256).exists()


def _open_to(who: Visitor, rows: Sequence[Entry]) -> list[Entry]:
    """Return the rows that somebody may see; of those for owners what stands now counts, whatever moment is asked."""
    own = own_horses(who)
    if own is None:
        return list(rows)
    standing = moments.entries(moments.now()).filter(pk__in=[row.pk for row in rows])
    now = set(standing.values_list("pk", flat=True))
    return [row for row in rows if row.pk in now and row.horse_id in own and _for_owner(row)]


def _sha256(row: Entry) -> str:
    return str(row.values.get("picture", ""))


def _for_owner(row: Entry) -> bool:
    return row.values.get("for_owner") is True
