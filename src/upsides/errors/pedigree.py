"""Pedigrees that cannot be used, and animals that are not in them."""

from upsides.errors.base import UpsidesError


class PedigreeOrderError(UpsidesError):
    """Arrays that are no ordered pedigree."""

    def __init__(self, reason: str) -> None:
        super().__init__(f"not an ordered pedigree: {reason}; put the animals in order with graph_of first")


class PedigreeLoopError(UpsidesError):
    """Somebody is its own ancestor, so that nothing can be worked out.

    Args:
        animals: how many animals stand in loops or descend from them.
        loops: the shortest loops, each as printed.
    """

    def __init__(self, animals: int, loops: list[str]) -> None:
        named = f": {'; '.join(loops[:3])}" if loops else ""
        more = f" and {len(loops) - 3} more" if len(loops) > 3 else ""
        super().__init__(
            f"animals of this pedigree are their own ancestors{named}{more} "
            f"({animals} animals stand in such loops or descend from them); correct the rows, or ask for a repair, "
            "which leaves the links of each loop out and says which"
        )
        self.animals, self.loops = animals, loops


class PedigreeTableError(UpsidesError):
    """A table that cannot be read as a pedigree."""

    def __init__(self, file: object, reason: str, remedy: str) -> None:
        super().__init__(f"{file}: {reason}; {remedy}")
        self.file, self.reason, self.remedy = str(file), reason, remedy


class AnimalUnknownError(UpsidesError):
    """No animal of the pedigree answers to what was typed."""

    def __init__(self, text: str, near: list[str]) -> None:
        hint = f"near to it: {', '.join(near)}" if near else "write it as the pedigree does, with its country suffix"
        super().__init__(f"no animal {text!r} in this pedigree; {hint}")
        self.text, self.near = text, near


class AnimalAmbiguousError(UpsidesError):
    """Several animals of the pedigree answer to what was typed."""

    def __init__(self, text: str, candidates: list[str]) -> None:
        super().__init__(
            f"{len(candidates)} animals answer to {text!r}: {', '.join(candidates[:12])}. "
            "Give the number, or the name with its country suffix"
        )
        self.text, self.candidates = text, candidates


class CannotPredictError(UpsidesError):
    """Records, variances or a pedigree from which nothing can be predicted."""

    def __init__(self, what: str, reason: str, remedy: str) -> None:
        super().__init__(f"{what}: {reason}; {remedy}")
        self.what, self.reason, self.remedy = what, reason, remedy
