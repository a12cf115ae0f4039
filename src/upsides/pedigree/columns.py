"""Which column of a table holds what, told from its header."""

from dataclasses import dataclass, fields
from pathlib import Path

from upsides.errors import PedigreeTableError
from upsides.errors.wording import gettext as _
from upsides.results.identity import plain_name

USUAL = {
    "animal": (
        "animal", "id", "ind", "indiv", "individual", "animalid", "horseid", "horse", "horsename", "offspring", "foal",
        "progeny", "calf", "label", "key", "number", "no", "regno", "name",
    ),
    "sire": ("sire", "sireid", "sirename", "father", "fatherid", "pa", "pere", "vater", "stallion", "dad", "male"),
    "dam": ("dam", "damid", "damname", "mother", "motherid", "ma", "mere", "mutter", "mare", "mum", "mom", "female"),
    "sex": ("sex", "gender", "geschlecht", "sexe"),
    "born": (
        "born", "birthyear", "yob", "yearofbirth", "birth", "birthdate", "dateofbirth", "dob", "foaled", "foalingyear",
        "foalingdate", "yearborn", "yearfoaled", "geburtsjahr",
    ),
    "name": ("name", "horsename", "animalname", "horse"),
    "dam_sire": ("damsire", "sireofdam", "maternalgrandsire", "broodmaresire", "mgs"),
}  # fmt: skip
"""Usual headers, plain, the first that a table has being taken."""


@dataclass(frozen=True, slots=True)
class Columns:
    """The headers of a table; "" for what it does not have.

    Args:
        animal: who a row is about.
        sire: its sire, and
        dam: its dam.
        sex: male or female in the words of the trade, M and F, or 1 and 2.
        born: year or date of birth.
        name: the animal's name where `animal` is a number.
        dam_sire: the sire of its dam, for dams that have no row of their own.
    """

    animal: str = ""
    sire: str = ""
    dam: str = ""
    sex: str = ""
    born: str = ""
    name: str = ""
    dam_sire: str = ""


def columns_of(path: Path, header: tuple[str, ...], given: Columns) -> Columns:
    """Return the columns of a table: those given, the others by their usual names.

    Raises:
        PedigreeTableError: a column given is not there, or animal, sire or dam cannot be told.
    """
    taken = {getattr(given, field.name) for field in fields(given)} - {""}
    if absent := taken - set(header):
        seen = ", ".join(header[:12])
        raise PedigreeTableError(
            path.name,
            _("it has no column {absent!r}; it has {seen}", absent=min(absent), seen=seen),
            _("name one of these"),
        )
    plain = {plain_name(column): column for column in reversed(header) if column not in taken}
    found: dict[str, str] = {}
    for field, usual in USUAL.items():
        first = next((plain[word] for word in usual if word in plain and plain[word] not in found.values()), "")
        found[field] = getattr(given, field) or first
    columns = Columns(**found)
    for field in ("animal", "sire", "dam"):
        if not getattr(columns, field):
            seen = ", ".join(header[:12])
            reason = _("none of its columns ({seen}) is known to hold the {field}", seen=seen, field=field)
            raise PedigreeTableError(path.name, reason, _("say which one does: --{field} COLUMN", field=field))
    return columns
