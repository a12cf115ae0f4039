"""Which trip a horse wants: evidence that cannot be taken."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class ShapeScoreError(UpsidesError):
    """A score of a horse's shape that is no whole number on the scale.

    Args:
        trait: what was scored, in words.
        typed: the score as it was given.
        lowest: the lowest score there is.
        highest: the highest.
    """

    def __init__(self, trait: str, typed: object, lowest: int, highest: int) -> None:
        self.trait, self.typed = trait, str(typed)[:40]
        self.reason = f"a score is a whole number from {lowest} to {highest}"
        self.remedy = "score it again, or leave it unscored"
        super().__init__(
            _(
                "{trait} {typed!r}: {reason}; {remedy}",
                trait=trait,
                typed=self.typed,
                reason=self.reason,
                remedy=self.remedy,
            )
        )


class TripMissingError(UpsidesError):
    """There is no model of trips of this library as of that day."""

    def __init__(self, folder: object, day: object) -> None:
        super().__init__(
            _(
                "the library {folder} has no model of trips as of {day}; make one: upsides fit --library {folder}",
                folder=folder,
                day=day,
            )
        )


class TripNewerError(UpsidesError):
    """A model of trips was written by a newer version of this program."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            _(
                "the model of trips {where} has format {found} and this program knows up to {known}; update "
                "upsides, or fit again",
                where=where,
                found=found,
                known=known,
            )
        )


class PieceUnknownError(UpsidesError):
    """A piece of evidence that there is not, or that this horse has nothing of.

    Args:
        piece: what was asked for.
        pieces: those there are.
    """

    def __init__(self, piece: str, pieces: tuple[str, ...]) -> None:
        there = (
            _("there are: {pieces}", pieces=", ".join(pieces))
            if pieces
            else _("this horse has none besides its population")
        )
        super().__init__(_("no piece of evidence {piece!r}; {there}", piece=piece, there=there))


class ParentsUnknownError(UpsidesError):
    """A horse of which neither runs nor relatives say anything."""

    def __init__(self, horse: str) -> None:
        super().__init__(
            _(
                "{horse} has not run and no relative of it has, so only the population could answer; add results of "
                "its family, or a table of parents",
                horse=horse,
            )
        )
