"""Which horses of which sources are one horse.

Every horse of every source is its own identity at first. `merge` writes a row that says which two are one,
`unmerge` a row that takes it back; nothing is ever rewritten, and a horse's key is worked out from the rows
when results are read. So a merge is undone without a trace in the results, and everything that was decided,
by which reason, stays to be seen.
"""

import re
import unicodedata
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import polars as pl

from upsides.errors import HorseAmbiguousError, HorseUnknownError, IdentityError
from upsides.errors.wording import gettext as _
from upsides.results import tables
from upsides.results.lock import writing

if TYPE_CHECKING:
    from upsides.results.library import Library

KEYS_SCHEMA = pl.Schema({"source_horse": pl.String(), "horse_key": pl.String()})
MALE, FEMALE = ("colt", "horse", "gelding", "ridgling", "male"), ("filly", "mare", "female")
SUFFIXES = {
    "AUS": "AU",
    "NZ": "NZ",
    "IRE": "IE",
    "GB": "GB",
    "UK": "GB",
    "USA": "US",
    "FR": "FR",
    "SAF": "ZA",
    "GER": "DE",
    "ARG": "AR",
    "CAN": "CA",
    "JPN": "JP",
    "BRZ": "BR",
    "ITY": "IT",
    "CHI": "CL",
    "ZIM": "ZW",
}
"""Country suffixes printed after names, and ISO 3166; suffixes not listed are compared as they stand."""


@dataclass(frozen=True, slots=True)
class Horse:
    """A horse as the library knows it.

    Args:
        key: its key in `Library.runs`.
        name: as printed by the source that ran it last; "" where sources give numbers only.
        suffix: country of foaling, "" when not known.
        foaled: year of foaling, None when not known.
        runs: number of runs.
        last_run: date of the last, as text; "" when it never ran.
    """

    key: str
    name: str
    suffix: str
    foaled: int | None
    runs: int
    last_run: str

    def __str__(self) -> str:
        suffix = f" ({self.suffix})" if self.suffix else ""
        foaled = f", foaled {self.foaled}" if self.foaled else ""
        last = f", last ran {self.last_run}" if self.last_run else ""
        return f"{self.name or 'no name'}{suffix} [{self.key}]{foaled}{last}"


@dataclass(frozen=True, slots=True)
class Link:
    """Two horses of different sources that look like one.

    Args:
        kept: key of the one that would be kept.
        merged: key of the one that would be merged into it.
        reason: what they share.
        confidence: "high" when suffix or dam, and year agree, "medium" when one of them does, "low" with the
            name alone.
    """

    kept: str
    merged: str
    reason: str
    confidence: str


def plain_name(name: str) -> str:
    """Return a name as it is compared: no case, accents, punctuation or blanks; "" stays empty."""
    bare = unicodedata.normalize("NFKD", name.casefold())
    return "".join(letter for letter in bare if letter.isalnum())


def plain_suffix(suffix: str) -> str:
    """Return a country suffix as it is compared: ISO 3166 where known."""
    return SUFFIXES.get(suffix.upper(), suffix.upper())


def horse_keys(links: pl.DataFrame) -> pl.DataFrame:
    """Resolve the links in force to one key for every horse that was merged into another.

    Returns:
        `source_horse` and its `horse_key`; horses that were never merged are not in it.
    """
    parent: dict[str, str] = {}

    def root(horse: str) -> str:
        while horse in parent:
            horse = parent[horse]
        return horse

    for kept, merged in in_force(links).select("kept", "merged").iter_rows():
        top, low = root(kept), root(merged)
        if top != low:
            parent[low] = top
    return pl.DataFrame([(horse, root(horse)) for horse in parent], schema=KEYS_SCHEMA, orient="row")


def in_force(links: pl.DataFrame) -> pl.DataFrame:
    """Return the merges that were not taken back, in the order they were made."""
    undone = links.filter(pl.col("action") == "unmerge")["undoes"].implode()
    return links.filter((pl.col("action") == "merge") & ~pl.col("number").is_in(undone)).sort("number")


def merge(library: "Library", kept: str, merged: str, reason: str, when: datetime) -> int:
    """Say that two horses are one, and return the number of the row that says so.

    Args:
        library: the library; it is refreshed.
        kept: `source_horse` or key of the one whose key stays.
        merged: the other.
        reason: why.
        when: the moment, with its time zone.

    Raises:
        IdentityError: one of them is not in the library, they are one already, or both were in one race.
    """
    with writing(library.folder):
        library.refresh()
        known = library.horses().filter(pl.col("source_horse").is_in([kept, merged])).collect()
        for horse in (kept, merged):
            if horse not in known["source_horse"]:
                raise IdentityError(
                    _("there is no horse {horse!r} in the library", horse=horse), _("give a source and its number")
                )
        keys = known["horse_key"].unique()
        if len(keys) == 1:
            raise IdentityError(
                _("{kept!r} and {merged!r} are one horse already", kept=kept, merged=merged),
                _("nothing needs to be done"),
            )
        met = library.runs().filter(pl.col("horse_key").is_in(keys.implode())).group_by("race_key")
        together = met.agg(pl.col("horse_key").n_unique().alias("n")).filter(pl.col("n") > 1).collect()
        if together.height:
            race = together["race_key"][0]
            reason = _(
                "{kept!r} and {merged!r} cannot be one horse: both are in race {race}",
                kept=kept,
                merged=merged,
                race=race,
            )
            raise IdentityError(reason, _("look at their names and years again"))
        return _write(library, when, "merge", kept, merged, reason, None)


def unmerge(library: "Library", number: int, reason: str, when: datetime) -> int:
    """Take back a merge by its number, and return the number of the row that does so.

    Raises:
        IdentityError: there is no such merge in force.
    """
    with writing(library.folder):
        library.refresh()
        row = in_force(library.table("links").collect()).filter(pl.col("number") == number)
        if row.is_empty():
            raise IdentityError(
                _("there is no merge {number} in force", number=number), _("see `links` for those that are")
            )
        return _write(library, when, "unmerge", row["kept"][0], row["merged"][0], reason, number)


def _write(
    library: "Library", when: datetime, action: str, kept: str, merged: str, reason: str, undoes: int | None
) -> int:
    number = (library.table("links").select(pl.col("number").max()).collect().item() or 0) + 1
    row = pl.DataFrame([(number, when, action, kept, merged, reason, undoes)], schema=tables.LINKS_SCHEMA, orient="row")
    tables.undo_unpinned(library.folder, library.pins)
    tables.append_frames(library.folder, "links", iter([row]))
    tables.write_pins(library.folder, tables.versions(library.folder))
    library.refresh()
    return number


def links(library: "Library") -> pl.DataFrame:
    """Return every merge and every reversal, in order."""
    return library.table("links").collect().sort("number")


def _named(library: "Library") -> pl.DataFrame:
    """Return the named horses with the forms in which they are compared."""
    horses = library.horses().filter(pl.col("name").is_not_null()).collect()
    return horses.with_columns(
        plain=pl.col("name").map_elements(plain_name, return_dtype=pl.String),
        country=pl.col("suffix").map_elements(plain_suffix, return_dtype=pl.String),
        mother=pl.col("dam").map_elements(plain_name, return_dtype=pl.String),
        side=pl.when(pl.col("sex").is_in(MALE)).then(1).when(pl.col("sex").is_in(FEMALE)).then(2),
    )


def suggest_links(library: "Library") -> list[Link]:
    """Propose horses of different sources that look like one.

    Two horses are proposed when their names agree and nothing contradicts: suffix, year of foaling, dam and
    side (male or female) must agree where both are known. Where a name could go to more than one horse of the
    other source, none is
    proposed: two horses bear that name.
    """
    named = _named(library).sort("source", "source_horse")
    pairs = named.join(named, "plain", suffix="_2").filter(
        (pl.col("source") < pl.col("source_2")) & (pl.col("horse_key") != pl.col("horse_key_2"))
    )
    for column in ("country", "foaled", "mother", "side"):
        pairs = pairs.filter((pl.col(column) == pl.col(f"{column}_2")).fill_null(True))
    alone = (pl.len().over("source_horse", "source_2") == 1) & (pl.len().over("source_horse_2", "source") == 1)
    return [_link(row) for row in pairs.filter(alone).iter_rows(named=True)]


def _link(row: dict[str, object]) -> Link:
    known = {
        "suffix": row["country"] is not None and row["country_2"] is not None,
        "year": row["foaled"] is not None and row["foaled_2"] is not None,
        "dam": row["mother"] is not None and row["mother_2"] is not None,
    }
    shared = [name for name, both in known.items() if both]
    strong = known["year"] and (known["suffix"] or known["dam"])
    confidence = "high" if strong else "medium" if shared else "low"
    return Link(
        str(row["source_horse"]),
        str(row["source_horse_2"]),
        f"same {', '.join(['name', *shared])}",
        confidence,
    )


def find(library: "Library", text: str) -> Horse:
    """Resolve what a person types (key, number in a source, name, or name and suffix) to one horse.

    A name means the horses of that name that have run here; those that only stand in a table of horses where none has.

    Raises:
        HorseUnknownError: none answers; horses with a name like it are listed.
        HorseAmbiguousError: several do; they are listed with year and last run.
    """
    wanted = text.strip()
    horses = library.horses().collect()
    number = horses.filter((pl.col("source_horse") == wanted) | pl.col("source_horse").str.ends_with(f":{wanted}"))
    found = number if number.height and wanted else _those_that_ran(_by_name(library, wanted))
    candidates = [describe(library, key) for key in found["horse_key"].unique().sort()]
    if not candidates:
        raise HorseUnknownError(text, _near(horses, wanted))
    if len(candidates) > 1:
        raise HorseAmbiguousError(text, [str(horse) for horse in candidates[:12]])
    return candidates[0]


def _those_that_ran(named: pl.DataFrame) -> pl.DataFrame:
    """Return those of some horses that have run here, all of them where none has."""
    ran = named.filter(pl.col("runs") > 0)
    return ran if ran.height else named


def _by_name(library: "Library", wanted: str) -> pl.DataFrame:
    parts = re.fullmatch(r"(.*?)\s*\(([A-Za-z]{2,4})\)", wanted)
    name, suffix = (parts[1], plain_suffix(parts[2])) if parts else (wanted, "")
    named = _named(library).filter(pl.col("plain") == plain_name(name)) if plain_name(name) else None
    if named is None:
        return pl.DataFrame(schema={"horse_key": pl.String, "runs": pl.Int64})
    return named.filter(pl.col("country").is_null() | (pl.col("country") == suffix)) if suffix else named


def describe(library: "Library", key: str) -> Horse:
    """Return one horse by its key, from all of its sources."""
    horses = library.horses().filter(pl.col("horse_key") == key).collect().sort("last_run", nulls_last=False)

    def last(column: str) -> object:
        known = horses[column].drop_nulls()
        return known[-1] if len(known) else None

    foaled, last_run = last("foaled"), last("last_run")
    return Horse(
        key=key,
        name=str(last("name") or ""),
        suffix=str(last("suffix") or ""),
        foaled=int(str(foaled)) if foaled is not None else None,
        runs=int(horses["runs"].sum()),
        last_run=str(last_run or ""),
    )


def _near(horses: pl.DataFrame, wanted: str) -> list[str]:
    """Return up to six printed names that resemble what was typed."""
    import difflib

    names = horses["name"].drop_nulls().unique().sort()
    plain = {plain_name(name): name for name in names}
    part = plain_name(wanted)
    holding = [name for form, name in plain.items() if part and part in form]
    close = difflib.get_close_matches(part, list(plain), n=6, cutoff=0.8)
    return list(dict.fromkeys([*(plain[form] for form in close), *holding]))[:6]
