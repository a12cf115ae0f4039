"""Printed sheets: values in, a PDF out. Every word on them is the caller's, so that it can be in his language."""

from upsides.paper.calendar import Calendar, Event, calendar_file
from upsides.paper.checks import BarnChecks, CheckRow, CheckSheet, CheckTitles, checks_pdf
from upsides.paper.evening import EveningList, evening_pdf
from upsides.paper.feed_board import FedBarn, FedHorse, FeedBoard, Meal, feed_board_pdf
from upsides.paper.look_at import BarnLooks, LookAtSheet, LookAtTitles, look_at_pdf
from upsides.paper.lots import Line, Listing, Lot, Ride, RideTitles
from upsides.paper.masthead import Masthead
from upsides.paper.morning import Look, MorningSheet, morning_pdf
from upsides.paper.race_day import RaceDayRunner, RaceDaySheet, RaceDayTitles, race_day_pdf
from upsides.paper.register import MedicineRegister, RegisterEntry, RegisterTitles, register_pdf
from upsides.paper.week import DayOfWork, PersonsWeek, StaffWeek, week_pdf

__all__ = [
    "BarnChecks",
    "BarnLooks",
    "Calendar",
    "CheckRow",
    "CheckSheet",
    "CheckTitles",
    "DayOfWork",
    "EveningList",
    "Event",
    "FedBarn",
    "FedHorse",
    "FeedBoard",
    "Line",
    "Listing",
    "Look",
    "LookAtSheet",
    "LookAtTitles",
    "Lot",
    "Masthead",
    "Meal",
    "MedicineRegister",
    "MorningSheet",
    "PersonsWeek",
    "RaceDayRunner",
    "RaceDaySheet",
    "RaceDayTitles",
    "RegisterEntry",
    "RegisterTitles",
    "Ride",
    "RideTitles",
    "StaffWeek",
    "calendar_file",
    "checks_pdf",
    "evening_pdf",
    "feed_board_pdf",
    "look_at_pdf",
    "morning_pdf",
    "race_day_pdf",
    "register_pdf",
    "week_pdf",
]
