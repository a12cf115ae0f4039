"""What the rows of a table can be, which columns each wants, and by which headings they are known."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from upsides.books.diary import KINDS, Field, Kind
from upsides.books.diary.fields import Choice
from upsides.books.models.incoming import Intake

What = Intake.What
RESULT: Final = "result"
"""What a column of a table of bloods is that holds one result of the laboratory."""


@dataclass(frozen=True, slots=True)
class Column:
    """Something that a column can say.

    Args:
        name: how it is called in choices.
        label: how a page calls it.
        headings: words by which it is known.
        needed: whether a row without it cannot be taken.
        constant: whether the same can be said of every row instead.
        field: of the diary's kind, None for what every kind has.
        part: how much the values alone tell: a test of `proposing`.
    """

    name: str
    label: str | Promise
    headings: tuple[str, ...]
    needed: bool = False
    constant: bool = False
    field: Field | None = None
    part: str = ""


@dataclass(frozen=True, slots=True)
class Spec:
    """What the rows of a table are.

    Args:
        what: of `Intake.What`.
        kind: the diary's kind; None for horses.
        columns: what its columns can say.
    """

    what: str
    kind: type[Kind] | None
    columns: tuple[Column, ...]

    @property
    def by_name(self) -> Mapping[str, Column]:
        """Return the columns by name."""
        return {column.name: column for column in self.columns}


HORSE: Final = (
    Column("horse", _("horse"), ("horse", "name", "horse name", "name of horse", "animal"), part="name"),
    Column("foaled", _("year of foaling"), ("foaled", "year", "yob", "born", "year of birth", "foaling year")),
    Column("dam", _("dam"), ("dam", "mother", "out of")),
    Column("microchip", _("microchip"), ("microchip", "chip", "transponder", "chip number"), part="chip"),
    Column("passport", _("passport"), ("passport", "passport number", "ueln", "life number")),
)
WHEN: Final = (
    Column(
        "day", _("day"), ("date", "day", "when", "on", "date given", "given on", "date of treatment", "sampled",
                          "weighed", "weighed on", "weigh date", "work date", "date of vaccination", "vaccinated on"),
        needed=True, constant=True, part="day",
    ),
    Column("time", _("time of day"), ("time", "at", "time of day", "hour", "clock"), part="time"),
)  # fmt: skip

_HEADINGS: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    What.MASSES: {
        "kg": ("mass", "weight", "kg", "kgs", "lb", "lbs", "bodyweight", "body weight", "body mass", "weight kg"),
        "scale": ("scale", "scales", "weighbridge"),
        "water": ("water", "before or after water"),
        "tack": ("tack", "with tack"),
    },
    What.TREATMENTS: {
        "product": ("product", "medicine", "drug", "treatment", "medication", "name of medicine", "given"),
        "quantity": ("quantity", "dose", "amount", "how much", "qty", "dosage"),
        "route": ("route", "how", "by", "method", "administration", "how given"),
        "what": ("kind", "type", "what kind", "class"),
        "reason": ("reason", "why", "for", "condition", "indication", "diagnosis"),
        "substance": ("substance", "active substance", "ingredient", "active ingredient"),
        "batch": ("batch", "batch number", "lot", "batch no", "lot number"),
        "joint": ("joint", "which joint"),
        "prescriber": ("prescribed by", "vet", "prescriber", "prescribing vet", "veterinarian"),
        "giver": ("given by", "giver", "administered by", "who"),
        "course_end": ("last day", "course end", "end of course", "end date", "until", "last day of the course"),
        "food": ("food chain", "food"),
        "withdrawal_days": ("withdrawal", "withdrawal days", "withdrawal time", "withdrawal period"),
    },
    What.VACCINATIONS: {
        "disease": ("disease", "against", "vaccine for", "type", "vaccination", "kind"),
        "product": ("product", "vaccine", "name of vaccine"),
        "batch": ("batch", "batch number", "lot", "batch no", "lot number"),
        "giver": ("given by", "vet", "giver", "by", "veterinarian", "administered by"),
        "first": ("first", "primary", "new course", "begins a new course", "v1"),
    },
    What.BLOODS: {
        "laboratory": ("laboratory", "lab", "analysed by"),
        "results": ("results", "report", "all results"),
        "text": ("comment", "vet says", "remarks", "comments", "note", "notes", "interpretation"),
    },
    What.EXERCISE: {
        "exercise": ("exercise", "work", "activity", "what", "type", "pace", "done"),
        "lot": ("lot", "string"),
        "gallop": ("gallop", "track", "ground", "place"),
        "rider": ("rider", "ridden by", "jockey", "lad"),
        "furlongs": ("distance", "furlongs", "how far", "f", "trip"),
        "upsides": ("upsides", "with", "worked with", "company"),
        "tack": ("tack", "gear", "equipment"),
        "text": ("comment", "remarks", "note", "notes", "comments", "more"),
    },
}  # fmt: skip
_KIND_OF: Final = {
    What.MASSES: "mass",
    What.TREATMENTS: "treatment",
    What.VACCINATIONS: "vaccination",
    What.BLOODS: "bloods",
    What.EXERCISE: "exercise",
}
_PARTS: Final = {"kg": "mass"}

_HORSES: Final = (
    Column("horse", _("name"), ("name", "horse", "horse name", "name of horse"), part="name"),
    Column("foaled", _("year of foaling"), ("foaled", "year", "yob", "born", "year of birth"), needed=True),
    Column("foaled_on", _("day of foaling"), ("date of birth", "dob", "foaling date", "foaled on", "born on")),
    Column("sex", _("sex"), ("sex", "gender"), needed=True, part="sex"),
    Column("sire", _("sire"), ("sire", "by", "father")),
    Column("dam", _("dam"), ("dam", "out of", "mother")),
    Column("colour", _("colour"), ("colour", "color")),
    Column("microchip", _("microchip"), ("microchip", "chip", "transponder", "chip number"), part="chip"),
    Column("passport", _("passport"), ("passport", "passport number")),
    Column("life_number", _("life number"), ("ueln", "life number", "universal number")),
    Column(
        "joined",
        _("came to the yard on"),
        ("joined", "arrived", "in training since", "came", "date in", "arrival", "in training from"),
        needed=True,
        constant=True,
    ),
)

ALIASES: Final[Mapping[str, Mapping[str, str]]] = {
    "route": {
        "po": "oral", "p.o.": "oral", "mouth": "oral", "orally": "oral", "paste": "oral", "in feed": "feed",
        "i.v.": "iv", "i/v": "iv", "intravenous": "iv", "vein": "iv", "i.m.": "im", "i/m": "im",
        "intramuscular": "im", "muscle": "im", "s.c.": "sc", "s/c": "sc", "subcutaneous": "sc", "i.a.": "ia",
        "i/a": "ia", "intra-articular": "ia", "intraarticular": "ia", "joint": "ia", "nebulised": "inhaled",
        "nebulized": "inhaled", "nebuliser": "inhaled", "inhalation": "inhaled", "skin": "topical",
        "on skin": "topical", "eye drops": "eye", "ocular": "eye",
    },
    "disease": {
        "flu": "influenza", "ei": "influenza", "eiv": "influenza", "ehv": "herpes", "ehv-1": "herpes",
        "ehv1": "herpes", "ehv-1/4": "herpes", "ehv1/4": "herpes", "herpesvirus": "herpes", "tet": "tetanus",
    },
    "exercise": {
        "rest": "off", "day off": "off", "box rest": "box", "led": "led", "led out": "led", "horse walker": "walker",
        "field": "turned_out", "paddock": "turned_out", "turnout": "turned_out", "swimming": "swim", "pool": "swim",
        "walking": "walk", "trotting": "trot", "hack": "hack_canter", "hacking canter": "hack_canter",
        "canter": "hack_canter", "steady": "steady_canter", "steady canter": "steady_canter",
        "half speed": "half_speed", "gallop": "fast", "work": "fast", "fast": "fast", "worked": "fast", "raced": "race",
    },
    "water": {"before": "before", "after": "after"},
    "tack": {"yes": "on", "no": "off", "with": "on", "without": "off"},
}  # fmt: skip
"""Other words for what can be chosen, in small letters."""


def _of(what: str) -> Spec:
    if what == What.HORSES:
        return Spec(what, None, _HORSES)
    kind = KINDS[_KIND_OF[What(what)]]
    known = _HEADINGS[What(what)]
    fields = tuple(_column(field, known.get(field.name, ())) for field in kind.fields)
    result = (Column(RESULT, _("one result of the laboratory"), ()),) if what == What.BLOODS else ()
    return Spec(what, kind, (*HORSE, *WHEN, *fields, *result))


def _column(field: Field, headings: tuple[str, ...]) -> Column:
    constant = isinstance(field, Choice) or field.needed
    needed = field.needed and field.name != "results"
    return Column(field.name, field.label, headings, needed, constant, field, _PARTS.get(field.name, ""))


SPECS: Final[Mapping[str, Spec]] = {str(what): _of(what) for what in What}
"""By what their rows are."""
