"""A gene test: a kind of entry with a page of its own, because a genotype is chosen and not typed."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Self

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import NAMELESS, Names
from upsides.books.diary.kind import Kind
from upsides.errors import EntryRefusedError
from upsides.errors.wording import gettext

WHOM: Final[Mapping[str, str | Promise]] = {
    "horse": gettext_lazy("the horse itself"),
    "sire": gettext_lazy("its sire"),
    "dam": gettext_lazy("its dam"),
}
"""Whose blood or hair it was."""

SITES: Final[Mapping[str, str | Promise]] = {
    "snp": gettext_lazy("the single letter g.66493737"),
    "insertion": gettext_lazy("the insertion in the promoter"),
}
"""What was looked for in the myostatin gene. The two are nearly always inherited together (r2 0.93; BMC Veterinary
Research 2015, doi 10.1186/s12917-015-0428-3), so either is read as the same genotype; which it was is kept."""

GENOTYPES: Final = ("C/C", "C/T", "T/T")
COPIES: Final[Mapping[str, str]] = {"2": "C/C", "1": "C/T", "0": "T/T"}
"""Copies of the insertion, and the genotype that they go with."""

PARTS: Final = frozenset({"whom", "site", "genotype", "laboratory"})
LONGEST: Final = 80
"""Characters of a laboratory's name."""


@dataclass(frozen=True, slots=True)
class GeneTest(Kind):
    """What a laboratory found in the gene of which trip is read.

    Args:
        whom: of `WHOM`.
        site: of `SITES`.
        genotype: of `GENOTYPES`, also where copies of the insertion were counted.
        laboratory: its name, empty where it was not given.
    """

    whom: str
    site: str
    genotype: str
    laboratory: str = ""

    name = "gene_test"
    title = gettext_lazy("Gene test")
    offered = False

    @classmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read a test; of the insertion the number of copies does as well as the genotype that goes with it."""
        for name in values.keys() - PARTS:
            reason = gettext("a gene test holds no such value")
            raise EntryRefusedError(str(name)[:40], str(values[name])[:40], reason, gettext("leave it out"))
        site = _one_of(gettext("what was looked for"), values.get("site", ""), SITES)
        found = str(values.get("genotype", "")).strip().upper()
        if site == "insertion":
            found = COPIES.get(found, found)
        return cls(
            _one_of(gettext("who was tested"), values.get("whom", ""), WHOM),
            site,
            _one_of(gettext("what was found"), _sorted(found), GENOTYPES),
            _laboratory(values.get("laboratory", "")),
        )

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return the test as a sentence."""
        told = {"whom": WHOM[self.whom], "genotype": self.genotype, "site": SITES[self.site]}
        told |= {"laboratory": self.laboratory, "copies": copies_of(self.genotype)}
        if self.site == "insertion":
            text = _("Gene test of %(whom)s: %(copies)s of %(site)s, which goes with %(genotype)s.")
        else:
            text = _("Gene test of %(whom)s: %(genotype)s at %(site)s.")
        sentence = text % told
        return (
            _("%(sentence)s Laboratory: %(laboratory)s.") % (told | {"sentence": sentence})
            if self.laboratory
            else sentence
        )

    def typed(self) -> dict[str, str]:
        """Return each value as somebody would choose it."""
        return {"whom": self.whom, "site": self.site, "genotype": self.genotype, "laboratory": self.laboratory}

    def kept(self) -> dict[str, str]:
        """Return the values as the diary keeps them."""
        return self.typed()


def copies_of(genotype: str) -> str:
    """Return how many copies of the insertion go with a genotype, in words."""
    return {"C/C": _("two copies"), "C/T": _("one copy"), "T/T": _("no copy")}[genotype]


def _sorted(found: str) -> str:
    """Return a genotype with C first: T/C and CT are C/T."""
    letters = sorted(found.replace("/", ""))
    return "/".join(letters) if len(letters) == 2 else found


def _one_of(field: str, typed: object, known: Mapping[str, object] | tuple[str, ...]) -> str:
    if typed not in known:
        shown = typed if isinstance(typed, str) else repr(typed)
        raise EntryRefusedError(
            field, shown[:40], gettext("it is none of {known}", known=", ".join(known)), gettext("choose one of them")
        )
    return str(typed)


def _laboratory(typed: object) -> str:
    if not isinstance(typed, str) or not all(letter.isprintable() for letter in typed):
        raise EntryRefusedError(
            gettext("laboratory"),
            str(typed)[:40],
            gettext("it holds signs that are no text"),
            gettext("type its name again"),
        )
    if len(typed.strip()) > LONGEST:
        reason = gettext("its name has more than {longest} characters", longest=LONGEST)
        raise EntryRefusedError(gettext("laboratory"), f"{typed[:40]}…", reason, gettext("write it shorter"))
    return typed.strip()
