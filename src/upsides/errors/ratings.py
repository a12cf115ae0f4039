"""Figures and fits that cannot be had."""

from upsides.errors.base import UpsidesError


class CannotFitError(UpsidesError):
    """Numbers from which a model cannot be fitted.

    Args:
        what: the model or the input at fault.
        reason: why it cannot be fitted.
        remedy: what to do about it.
    """

    def __init__(self, what: str, reason: str, remedy: str) -> None:
        super().__init__(f"{what}: {reason}; {remedy}")
        self.what, self.reason, self.remedy = what, reason, remedy


class FitMissingError(UpsidesError):
    """There is no fit of this library, or none as of that day."""

    def __init__(self, folder: object, as_of: object, *, empty: bool = False) -> None:
        if empty:
            text = f"the library {folder} holds no races yet; add results first: upsides results add FILE --shape NAME"
        else:
            when = f" as of {as_of}" if as_of else ""
            text = f"the library {folder} has no fit{when}; make one: upsides fit --library {folder}"
        super().__init__(text)


class NotRatedError(UpsidesError):
    """A horse that no run with a margin speaks for."""

    def __init__(self, horse: str, as_of: object) -> None:
        super().__init__(
            f"{horse} has no flat run with a margin and a weight before {as_of}, so no figure can be given; "
            "choose a later day, or add the results of its runs"
        )


class FitNewerError(UpsidesError):
    """A fit was written by a newer version of this program."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            f"the fit {where} has format {found} and this program knows up to {known}; "
            "update upsides, or make the fit again"
        )


class DrawMissingError(UpsidesError):
    """No draw is kept with a fit."""

    def __init__(self, folder: object, day: object) -> None:
        super().__init__(
            f"the library {folder} has nothing on the draw as of {day}: it was fitted before draws were told, or "
            f"it holds no races with a full draw; fit again: upsides fit --library {folder}"
        )


class DrawNewerError(UpsidesError):
    """A draw was written by a newer version of this program."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            f"the draw {where} has format {found} and this program knows up to {known}; update upsides, or fit again"
        )
