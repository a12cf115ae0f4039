"""What chance a horse has in a race, and what that is worth."""

from upsides.placing.chance.answer import Chance, Chances, chances, chances_of_all
from upsides.placing.chance.asked import Runner, Setting, setting_of
from upsides.placing.chance.earning import Earnings, earnings, expected_standing
from upsides.placing.chance.expected import ExpectedField, expected_field
from upsides.placing.chance.kept import Kept, read_kept

__all__ = [
    "Chance",
    "Chances",
    "Earnings",
    "ExpectedField",
    "Kept",
    "Runner",
    "Setting",
    "chances",
    "chances_of_all",
    "earnings",
    "expected_field",
    "expected_standing",
    "read_kept",
    "setting_of",
]
