"""Data of the books, and their constraints; nothing else."""

from upsides.books.models.answer import Answer
from upsides.books.models.calendar_address import CalendarAddress
from upsides.books.models.call import Call
from upsides.books.models.decision import Decision
from upsides.books.models.device import Device, PinTry
from upsides.books.models.engagement import Engagement
from upsides.books.models.entry import Entry
from upsides.books.models.feed import Feed, FeedBatch, Ration
from upsides.books.models.ground import Gallop, Thing
from upsides.books.models.horse import Horse, Share
from upsides.books.models.horse_facts import Caution, Declarable, OfficialMark
from upsides.books.models.incoming import Intake, Taken
from upsides.books.models.inside import Inside, Release, Sight
from upsides.books.models.job import Job, Schedule
from upsides.books.models.let_go import LetGo
from upsides.books.models.lot_note import LotNote, Mark
from upsides.books.models.outing import Outing, Recorded, SetAside, Tracker
from upsides.books.models.person import Person, Post, Role, Skill
from upsides.books.models.photo import Photo
from upsides.books.models.sale import Lot, Sale
from upsides.books.models.saved_view import SavedView
from upsides.books.models.stable import Box, Move, Stand
from upsides.books.models.staff import Bond, DayOff, Shift
from upsides.books.models.yard import Yard

__all__ = [
    "Answer",
    "Bond",
    "Box",
    "CalendarAddress",
    "Call",
    "Caution",
    "DayOff",
    "Decision",
    "Declarable",
    "Device",
    "Engagement",
    "Entry",
    "Feed",
    "FeedBatch",
    "Gallop",
    "Horse",
    "Inside",
    "Intake",
    "Job",
    "LetGo",
    "Lot",
    "LotNote",
    "Mark",
    "Move",
    "OfficialMark",
    "Outing",
    "Person",
    "Photo",
    "PinTry",
    "Post",
    "Ration",
    "Recorded",
    "Release",
    "Role",
    "Sale",
    "SavedView",
    "Schedule",
    "SetAside",
    "Share",
    "Shift",
    "Sight",
    "Skill",
    "Stand",
    "Taken",
    "Thing",
    "Tracker",
    "Yard",
]
