"""Authorities' rules as dated data, and look-ups on a date."""

from upsides.rules.age_curve import lengths_below_peak
from upsides.rules.allowances import apprentice_claim, sex_allowance, weight_figure
from upsides.rules.birthdays import foaling_season, official_age
from upsides.rules.handicaps import (
    HandicapWeight,
    RatingBand,
    claim_added_back,
    handicap_weight,
    pattern_average,
    rating_bands,
    rise_limit,
)
from upsides.rules.jurisdictions import jurisdictions, place_named
from upsides.rules.length_pounds import pounds_per_length, pounds_per_length_array
from upsides.rules.lengths import (
    GoingReport,
    lengths_from_seconds,
    lengths_per_second,
    lengths_per_second_array,
    seconds_from_lengths,
)
from upsides.rules.lookup import NONE, OWN_RULES, Overrides, override, own_rules, read_overrides
from upsides.rules.margins import margin_lengths, margin_seconds
from upsides.rules.rule import Allowance, Rule, Ruled
from upsides.rules.show import RuleRow, rules_in_force
from upsides.rules.stalls import stall_one_side
from upsides.rules.weight_for_age import southern_bred_reduction, weight_for_age
from upsides.rules.weight_for_age_array import ScaleReport, weight_for_age_lb

__all__ = [
    "NONE",
    "OWN_RULES",
    "Allowance",
    "GoingReport",
    "HandicapWeight",
    "Overrides",
    "RatingBand",
    "Rule",
    "RuleRow",
    "Ruled",
    "ScaleReport",
    "apprentice_claim",
    "claim_added_back",
    "foaling_season",
    "handicap_weight",
    "jurisdictions",
    "lengths_below_peak",
    "lengths_from_seconds",
    "lengths_per_second",
    "lengths_per_second_array",
    "margin_lengths",
    "margin_seconds",
    "official_age",
    "override",
    "own_rules",
    "pattern_average",
    "place_named",
    "pounds_per_length",
    "pounds_per_length_array",
    "rating_bands",
    "read_overrides",
    "rise_limit",
    "rules_in_force",
    "seconds_from_lengths",
    "sex_allowance",
    "southern_bred_reduction",
    "stall_one_side",
    "weight_figure",
    "weight_for_age",
    "weight_for_age_lb",
]
