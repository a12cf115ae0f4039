"""What a horse has done and how it is: figures that cannot be right."""

from upsides.errors.base import UpsidesError


class ConditionRefusedError(UpsidesError):
    """A figure or word about a horse's work or condition that cannot be right.

    Args:
        field: what the value is called.
        typed: the value as it was given.
        reason: why it cannot be.
        remedy: what to do instead.
    """

    def __init__(self, field: str, typed: object, reason: str, remedy: str) -> None:
        self.field, self.typed, self.reason, self.remedy = field, str(typed)[:60], reason, remedy
        super().__init__(f"{field} {self.typed!r}: {reason}; {remedy}")


class ExerciseTableError(UpsidesError):
    """A table of what exercises usually come to that cannot be used.

    Args:
        file: where it stands.
        exercise: the exercise at fault.
        reason: what is wrong.
    """

    def __init__(self, file: object, exercise: str, reason: str) -> None:
        self.exercise, self.reason = exercise, reason
        super().__init__(f"{file}, {exercise!r}: {reason}; lay it out like the shipped table, or leave it out")
