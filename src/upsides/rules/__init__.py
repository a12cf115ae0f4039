"""Authorities' rules as dated data, and look-ups on a date."""

from upsides.rules.age_curve import lengths_below_peak
from upsides.rules.allowances import apprentice_claim, may_claim, sex_allowance, weight_figure
from upsides.rules.birthdays import foaling_season, official_age
from upsides.rules.black_type import black_type_worth
from upsides.rules.book_words import Limit, MedicineEvent, RegisterField, Step
from upsides.rules.counting import Counting, add_months
from upsides.rules.declared_facts import By, ToDeclare, to_declare
from upsides.rules.dose_windows import DoseWindow, dose_windows
from upsides.rules.doses import Dose, DoseFault, DoseFaultKind, ReadDose
from upsides.rules.driving import AtTheWheel, Driving, driving, held_driving
from upsides.rules.entering import (
    BandEntry,
    Elimination,
    RunsForMark,
    StageRule,
    band_entry,
    elimination,
    runs_for_mark,
    stage_rules,
)
from upsides.rules.handicaps import (
    HandicapWeight,
    RatingBand,
    claim_added_back,
    handicap_weight,
    pattern_average,
    rating_bands,
    rise_limit,
)
from upsides.rules.heat import HEAT_CAUTION, HeatStep, heat_steps
from upsides.rules.jurisdictions import chain, jurisdictions, place_meant, place_named
from upsides.rules.length_pounds import pounds_per_length, pounds_per_length_array
from upsides.rules.lengths import (
    GoingReport,
    lengths_from_seconds,
    lengths_per_second,
    lengths_per_second_array,
    seconds_from_lengths,
)
from upsides.rules.looking_first import LookingFirst, looking_first
from upsides.rules.lookup import NONE, OWN_RULES, Overrides, override, own_rules, read_overrides
from upsides.rules.margins import margin_lengths, margin_seconds
from upsides.rules.medicines import RegisterRequirement, kept_until, register_lacks, register_requires
from upsides.rules.prize_shares import Split, owners_part, prize_split
from upsides.rules.published_times import CAUTION, PublishedKind, PublishedTime, published_times
from upsides.rules.rule import Allowance, Rule, Ruled
from upsides.rules.shifts import OverLimit, Shift
from upsides.rules.show import RuleRow, rules_in_force
from upsides.rules.stalls import stall_one_side
from upsides.rules.stand_downs import StandDown, first_day_for, stand_downs, treatments
from upsides.rules.vaccination import check_vaccinations, diseases_asked, vaccination_record, vaccine_days_off
from upsides.rules.vaccination_answers import (
    DayAnswer,
    Occasion,
    VaccinationFinding,
    VaccinationReason,
    VaccinationRecord,
)
from upsides.rules.vaccine_rules import HERPESVIRUS, INFLUENZA, VaccineRules
from upsides.rules.vital_signs import RestingRange, resting_range
from upsides.rules.weight_for_age import southern_bred_reduction, weight_for_age
from upsides.rules.weight_for_age_array import ScaleReport, weight_for_age_lb
from upsides.rules.working_time import check_shifts

__all__ = [
    "CAUTION",
    "HEAT_CAUTION",
    "HERPESVIRUS",
    "INFLUENZA",
    "NONE",
    "OWN_RULES",
    "Allowance",
    "AtTheWheel",
    "BandEntry",
    "By",
    "Counting",
    "DayAnswer",
    "Dose",
    "DoseFault",
    "DoseFaultKind",
    "DoseWindow",
    "Driving",
    "Elimination",
    "GoingReport",
    "HandicapWeight",
    "HeatStep",
    "Limit",
    "LookingFirst",
    "MedicineEvent",
    "Occasion",
    "OverLimit",
    "Overrides",
    "PublishedKind",
    "PublishedTime",
    "RatingBand",
    "ReadDose",
    "RegisterField",
    "RegisterRequirement",
    "RestingRange",
    "Rule",
    "RuleRow",
    "Ruled",
    "RunsForMark",
    "ScaleReport",
    "Shift",
    "Split",
    "StageRule",
    "StandDown",
    "Step",
    "ToDeclare",
    "VaccinationFinding",
    "VaccinationReason",
    "VaccinationRecord",
    "VaccineRules",
    "add_months",
    "apprentice_claim",
    "band_entry",
    "black_type_worth",
    "chain",
    "check_shifts",
    "check_vaccinations",
    "claim_added_back",
    "diseases_asked",
    "dose_windows",
    "driving",
    "elimination",
    "first_day_for",
    "foaling_season",
    "handicap_weight",
    "heat_steps",
    "held_driving",
    "jurisdictions",
    "kept_until",
    "lengths_below_peak",
    "lengths_from_seconds",
    "lengths_per_second",
    "lengths_per_second_array",
    "looking_first",
    "margin_lengths",
    "margin_seconds",
    "may_claim",
    "official_age",
    "override",
    "own_rules",
    "owners_part",
    "pattern_average",
    "place_meant",
    "place_named",
    "pounds_per_length",
    "pounds_per_length_array",
    "prize_split",
    "published_times",
    "rating_bands",
    "read_overrides",
    "register_lacks",
    "register_requires",
    "resting_range",
    "rise_limit",
    "rules_in_force",
    "runs_for_mark",
    "seconds_from_lengths",
    "sex_allowance",
    "southern_bred_reduction",
    "stage_rules",
    "stall_one_side",
    "stand_downs",
    "to_declare",
    "treatments",
    "vaccination_record",
    "vaccine_days_off",
    "weight_figure",
    "weight_for_age",
    "weight_for_age_lb",
]
