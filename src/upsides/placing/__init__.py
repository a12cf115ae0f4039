"""Which race: races to come with their conditions, who may run, off what weight, by when, and what a win would cost."""

from upsides.placing.amounts import Amount, Money, Rates
from upsides.placing.answers import Finding, Says
from upsides.placing.carried import Carried, Line
from upsides.placing.conditions.reading import Conditions, Piece, read_conditions
from upsides.placing.conditions.who import Terms
from upsides.placing.deadlines import (
    Deadline,
    Next,
    after_withdrawal,
    cost_to,
    deadlines,
    due_between,
    extension,
    missed,
    next_decision,
)
from upsides.placing.eligible import Eligibility, eligible
from upsides.placing.getting_a_mark import ForMark, needed_for_mark
from upsides.placing.getting_a_run import Entered, Standing, entered, getting_a_run
from upsides.placing.horse import HIGHEST_MARK, Given, Horse, Kept, Mark, Parents, Sold, Treated
from upsides.placing.kinds import PastRun, RunKind
from upsides.placing.past_runs import past_runs
from upsides.placing.programme import Change, Heard, races_of, settled
from upsides.placing.race import Build, Due, Prize, Race, Stage
from upsides.placing.race_rules import check, clashes, conditions_of
from upsides.placing.weighing import Rider, weigh
from upsides.placing.win_costs import After, Changed, Later, Outcome, Scenario, WinCosts, standing, supposed, win_costs

__all__ = [
    "HIGHEST_MARK",
    "After",
    "Amount",
    "Build",
    "Carried",
    "Change",
    "Changed",
    "Conditions",
    "Deadline",
    "Due",
    "Eligibility",
    "Entered",
    "Finding",
    "ForMark",
    "Given",
    "Heard",
    "Horse",
    "Kept",
    "Later",
    "Line",
    "Mark",
    "Money",
    "Next",
    "Outcome",
    "Parents",
    "PastRun",
    "Piece",
    "Prize",
    "Race",
    "Rates",
    "Rider",
    "RunKind",
    "Says",
    "Scenario",
    "Sold",
    "Stage",
    "Standing",
    "Terms",
    "Treated",
    "WinCosts",
    "after_withdrawal",
    "check",
    "clashes",
    "conditions_of",
    "cost_to",
    "deadlines",
    "due_between",
    "eligible",
    "entered",
    "extension",
    "getting_a_run",
    "missed",
    "needed_for_mark",
    "next_decision",
    "past_runs",
    "races_of",
    "read_conditions",
    "settled",
    "standing",
    "supposed",
    "weigh",
    "win_costs",
]
