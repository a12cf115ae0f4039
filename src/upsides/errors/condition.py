"""What a horse has done and how it is: figures that cannot be right."""

from upsides.errors.base import FigureRefusedError, UpsidesError
from upsides.errors.wording import gettext as _


class ConditionRefusedError(FigureRefusedError):
    """A figure or word about a horse's work or condition that cannot be right."""


class ExerciseTableError(UpsidesError):
    """A table of what exercises usually come to that cannot be used.

    Args:
        file: where it stands.
        exercise: the exercise at fault.
        reason: what is wrong.
    """

    def __init__(self, file: object, exercise: str, reason: str) -> None:
        self.exercise, self.reason = exercise, reason
        super().__init__(
            _(
                "{file}, {exercise!r}: {reason}; lay it out like the shipped table, or leave it out",
                file=file,
                exercise=exercise,
                reason=reason,
            )
        )


class CallRefusedError(FigureRefusedError):
    """A verdict that cannot be kept as it was said."""


class CallGoneError(UpsidesError):
    """A call that cannot be taken back: it is another's, was taken back before, or is of an earlier day."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "this call cannot be taken back: it is not yours, is of an earlier day, or was taken back before; "
                "call anew instead"
            )
        )
