"""Rations by mass and work, body mass, stocks of feed, the feed board; a vet or nutritionist has the last word."""

from upsides.feeding.board import Board, Line, Place, Row, board
from upsides.feeding.defaults import Defaults, defaults
from upsides.feeding.energy import MCAL_MJ, WORKS, Energy, Work, energy_needed
from upsides.feeding.feed import KINDS, Feed, Serving
from upsides.feeding.mass import Condition, Weighing, change_a_week, condition, taped_kilograms, taped_pounds
from upsides.feeding.proposing import Change, Proposal, propose
from upsides.feeding.ration import Forage, Meal, Ration, Starch, ration
from upsides.feeding.stock import Batch, Fed, Plan, Stock, fed_between, stock, used_a_day
from upsides.feeding.tracing import SURENESS, Eater, who_ate
from upsides.feeding.work import Week, Worked, work_of

__all__ = [
    "KINDS",
    "MCAL_MJ",
    "SURENESS",
    "WORKS",
    "Batch",
    "Board",
    "Change",
    "Condition",
    "Defaults",
    "Eater",
    "Energy",
    "Fed",
    "Feed",
    "Forage",
    "Line",
    "Meal",
    "Place",
    "Plan",
    "Proposal",
    "Ration",
    "Row",
    "Serving",
    "Starch",
    "Stock",
    "Week",
    "Weighing",
    "Work",
    "Worked",
    "board",
    "change_a_week",
    "condition",
    "defaults",
    "energy_needed",
    "fed_between",
    "propose",
    "ration",
    "stock",
    "taped_kilograms",
    "taped_pounds",
    "used_a_day",
    "who_ate",
    "work_of",
]
