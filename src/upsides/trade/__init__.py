"""The trade's words as values: distance, weight, margin, going, surface, pace, age, sex. Pure, no I/O."""

from upsides.trade.age import Age, AgeRange, official_age, parse_ages
from upsides.trade.convention import (
    CONVENTIONS,
    Convention,
    agreed_kilograms,
    agreed_metres,
    agreed_pounds,
)
from upsides.trade.distance import Distance, parse_distances
from upsides.trade.going import Going, french_going, parse_goings
from upsides.trade.life_number import LifeNumber, Microchip
from upsides.trade.margin import Margin, parse_margins
from upsides.trade.pace import (
    Pace,
    seconds_a_200_m,
    seconds_a_furlong,
    speed_at_seconds_a_200_m,
    speed_at_seconds_a_furlong,
)
from upsides.trade.racetime import RaceTime, parse_times
from upsides.trade.reading import Parsed, ParsedWords, read_column, read_words
from upsides.trade.sex import Born, Sex, parse_born, parse_sexes
from upsides.trade.surface import Surface, parse_surfaces
from upsides.trade.units import FURLONG_M, HAND_M, INCH_M, MILE_M, POUND_KG, STONE_KG, YARD_M
from upsides.trade.weight import Weight, parse_weights

__all__ = [
    "CONVENTIONS",
    "FURLONG_M",
    "HAND_M",
    "INCH_M",
    "MILE_M",
    "POUND_KG",
    "STONE_KG",
    "YARD_M",
    "Age",
    "AgeRange",
    "Born",
    "Convention",
    "Distance",
    "Going",
    "LifeNumber",
    "Margin",
    "Microchip",
    "Pace",
    "Parsed",
    "ParsedWords",
    "RaceTime",
    "Sex",
    "Surface",
    "Weight",
    "agreed_kilograms",
    "agreed_metres",
    "agreed_pounds",
    "french_going",
    "official_age",
    "parse_ages",
    "parse_born",
    "parse_distances",
    "parse_goings",
    "parse_margins",
    "parse_sexes",
    "parse_surfaces",
    "parse_times",
    "parse_weights",
    "read_column",
    "read_words",
    "seconds_a_200_m",
    "seconds_a_furlong",
    "speed_at_seconds_a_200_m",
    "speed_at_seconds_a_furlong",
]
