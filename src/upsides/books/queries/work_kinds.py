"""Which kind of the routine a horse is where nobody said it: by age, trip and lay-up."""

from typing import Final

from upsides.condition.done.fast import LAYUP_DAYS
from upsides.condition.done.summary import Done

BY_TRIP: Final = ((1450.0, "sprinter"), (1850.0, "miler"), (2500.0, "middle_distance"), (1e9, "stayer"))
"""The kind of a horse by the metres of its race where nobody said it; common practice, no source."""
RETURNING: Final = "returning"
"""The kind of a horse that comes back from a lay-up, whatever else it is."""
STILL_RETURNING: Final = 42
"""So many days after the first fast work that ends a lay-up a horse is still returning; common practice, no source.
Published associations with injury reach 21 days (Carrier and others 1998)."""


def back_in_work(done: Done) -> int | None:
    """Return the days since a horse came back into work as the routine counts them, None where it did not lately.

    In a lay-up it is taken to come back now: the books cannot tell rest from slow work. For some weeks after the first
    fast work it is still in the last stage of those that return.
    """
    if done.laid_up is not None:
        return 0
    if done.since_lay_up is not None and done.since_lay_up <= STILL_RETURNING:
        return LAYUP_DAYS + done.since_lay_up
    return None


def kind_of(age: int, trip: float | None, back: int | None, *, raced: bool) -> str:
    """Return the kind of the routine that a horse is.

    Args:
        age: in the calendar of racing.
        trip: metres of its next race, or of what it has run over; None for neither.
        back: days since it came back into work, None where it did not.
        raced: whether it has run.
    """
    if back is not None:
        return RETURNING
    if age <= 2 and not raced:
        return "unraced_two_year_old"
    return next(kind for most, kind in BY_TRIP if (trip or 1600.0) <= most)
