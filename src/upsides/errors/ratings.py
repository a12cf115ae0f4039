"""Figures and fits that cannot be had."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined


class CannotFitError(UpsidesError):
    """Numbers from which a model cannot be fitted.

    Args:
        what: the model or the input at fault.
        reason: why it cannot be fitted.
        remedy: what to do about it.
    """

    def __init__(self, what: str, reason: str, remedy: str) -> None:
        super().__init__(_("{what}: {reason}; {remedy}", what=what, reason=reason, remedy=remedy))
        self.what, self.reason, self.remedy = what, reason, remedy


class FitMissingError(UpsidesError):
    """There is no fit of this library, or none as of that day."""

    def __init__(self, folder: object, as_of: object, *, empty: bool = False) -> None:
        if empty:
            text = _(
                "the library {folder} holds no races yet; add results first: upsides results add FILE --shape NAME",
                folder=folder,
            )
        else:
            when = _(" as of {as_of}", as_of=as_of) if as_of else ""
            text = _(
                "the library {folder} has no fit{when}; make one: upsides fit --library {folder}",
                folder=folder,
                when=when,
            )
        super().__init__(text)


class NotRatedError(UpsidesError):
    """A horse that no run with a margin speaks for."""

    def __init__(self, horse: str, as_of: object) -> None:
        super().__init__(
            _(
                "{horse} has no flat run with a margin and a weight before {as_of}, so no figure can be given; "
                "choose a later day, or add the results of its runs",
                horse=horse,
                as_of=as_of,
            )
        )


class FitNewerError(UpsidesError):
    """A fit was written by a newer version of this program."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            _(
                "the fit {where} has format {found} and this program knows up to {known}; update upsides, or make "
                "the fit again",
                where=where,
                found=found,
                known=known,
            )
        )


class DrawMissingError(UpsidesError):
    """No draw is kept with a fit."""

    def __init__(self, folder: object, day: object) -> None:
        super().__init__(
            _(
                "the library {folder} has nothing on the draw as of {day}: it was fitted before draws were told, or "
                "it holds no races with a full draw; fit again: upsides fit --library {folder}",
                folder=folder,
                day=day,
            )
        )


class DrawNewerError(UpsidesError):
    """A draw was written by a newer version of this program."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            _(
                "the draw {where} has format {found} and this program knows up to {known}; update upsides, or fit "
                "again",
                where=where,
                found=found,
                known=known,
            )
        )


class DrawSurfaceError(UpsidesError):
    """A course has races over a trip on two surfaces, and which one is asked of is not said."""

    def __init__(self, course: str, distance_m: float, surfaces: list[str]) -> None:
        super().__init__(
            _(
                "over {metres:.0f} m at {course} races are run on {surfaces}; say which (--surface {first})",
                metres=distance_m,
                course=course,
                surfaces=joined(surfaces, by=" / "),
                first=surfaces[0],
            )
        )
        self.surfaces = tuple(surfaces)
