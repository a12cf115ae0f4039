"""Data of the books, and their constraints; nothing else."""

from upsides.books.models.device import Device, PinTry
from upsides.books.models.entry import Entry
from upsides.books.models.horse import Horse, Share
from upsides.books.models.inside import Inside, Release, Sight
from upsides.books.models.job import Job, Schedule
from upsides.books.models.lot_note import LotNote, Mark
from upsides.books.models.person import Person, Post, Role
from upsides.books.models.sale import Lot, Sale
from upsides.books.models.saved_view import SavedView
from upsides.books.models.yard import Yard

__all__ = [
    "Device",
    "Entry",
    "Horse",
    "Inside",
    "Job",
    "Lot",
    "LotNote",
    "Mark",
    "Person",
    "PinTry",
    "Post",
    "Release",
    "Role",
    "Sale",
    "SavedView",
    "Schedule",
    "Share",
    "Sight",
    "Yard",
]
