"""Pedigrees that cannot be used, and animals that are not in them."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class PedigreeOrderError(UpsidesError):
    """Arrays that are no ordered pedigree."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            _("not an ordered pedigree: {reason}; put the animals in order with graph_of first", reason=reason)
        )


class PedigreeLoopError(UpsidesError):
    """Somebody is its own ancestor, so that nothing can be worked out.

    Args:
        animals: how many animals stand in loops or descend from them.
        loops: the shortest loops, each as printed.
    """

    def __init__(self, animals: int, loops: list[str]) -> None:
        named = _(": {loops}", loops="; ".join(loops[:3])) if loops else ""
        more = _(" and {count} more", count=len(loops) - 3) if len(loops) > 3 else ""
        super().__init__(
            _(
                "animals of this pedigree are their own ancestors{named}{more} ({animals} animals stand in such "
                "loops or descend from them); correct the rows, or ask for a repair, which leaves the links of each "
                "loop out and says which",
                named=named,
                more=more,
                animals=animals,
            )
        )
        self.animals, self.loops = animals, loops


class PedigreeTableError(UpsidesError):
    """A table that cannot be read as a pedigree."""

    def __init__(self, file: object, reason: str, remedy: str) -> None:
        super().__init__(_("{file}: {reason}; {remedy}", file=file, reason=reason, remedy=remedy))
        self.file, self.reason, self.remedy = str(file), reason, remedy


class AnimalUnknownError(UpsidesError):
    """No animal of the pedigree answers to what was typed."""

    def __init__(self, text: str, near: list[str]) -> None:
        hint = (
            _("near to it: {near}", near=", ".join(near))
            if near
            else _("write it as the pedigree does, with its country suffix")
        )
        super().__init__(_("no animal {text!r} in this pedigree; {hint}", text=text, hint=hint))
        self.text, self.near = text, near


class AnimalAmbiguousError(UpsidesError):
    """Several animals of the pedigree answer to what was typed."""

    def __init__(self, text: str, candidates: list[str]) -> None:
        super().__init__(
            _(
                "{count} animals answer to {text!r}: {candidates}. Give the number, or the name with its country "
                "suffix",
                count=len(candidates),
                text=text,
                candidates=", ".join(candidates[:12]),
            )
        )
        self.text, self.candidates = text, candidates


class CannotPredictError(UpsidesError):
    """Records, variances or a pedigree from which nothing can be predicted."""

    def __init__(self, what: str, reason: str, remedy: str) -> None:
        super().__init__(_("{what}: {reason}; {remedy}", what=what, reason=reason, remedy=remedy))
        self.what, self.reason, self.remedy = what, reason, remedy
