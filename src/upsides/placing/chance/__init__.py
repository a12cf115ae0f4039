"""What chance a horse has in a race, and what that is worth."""

from upsides.placing.chance.answer import Chance, Chances, chances, chances_of_all, chances_of_each
from upsides.placing.chance.asked import Runner, Setting, setting_of
from upsides.placing.chance.carded import Carded, rivals_of
from upsides.placing.chance.earning import Earnings, earnings, expected_standing
from upsides.placing.chance.expected import ExpectedField, expected_field
from upsides.placing.chance.kept import Kept, read_kept
from upsides.placing.chance.own import Own, own_of

__all__ = [
    "Carded",
    "Chance",
    "Chances",
    "Earnings",
    "ExpectedField",
    "Kept",
    "Own",
    "Runner",
    "Setting",
    "chances",
    "chances_of_all",
    "chances_of_each",
    "earnings",
    "expected_field",
    "expected_standing",
    "own_of",
    "read_kept",
    "rivals_of",
    "setting_of",
]
